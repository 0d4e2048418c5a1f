// Undo and redo under the readings: each names what it would do, and only readings are touched here.

import type { components } from "./api_types";
import { announce } from "./announce";
import { ask } from "./api";
import { alone, button, h, replace } from "./dom";
import { newKey } from "./keep";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

export type Step = components["schemas"]["StepAnswer"];
type Steps = components["schemas"]["StepsAnswer"];

/** Whether a change is of readings alone. */
export function ofReadings(step: Step | null): boolean {
  return step !== null && step.layers.every((layer) => layer === "readings");
}

/** A row of two buttons with the change each of them is about; `after` is called when one was made. */
export function readingsUndo(context: Context, after: () => Promise<void>): HTMLElement {
  const row = h("div", {}, h("p", { class: "words" }, t("one-moment")));
  const make = async (what: "undo" | "redo", step: Step): Promise<void> => {
    const name = await askWho();
    if (!name) return;
    const body = { who: name, change: step.change };
    const { sentence } = await ask<{ sentence: string }>(context.path(what), {
      body,
      key: newKey(),
    });
    announce(sentence);
    await after();
  };
  const one = (what: "undo" | "redo", step: Step | null): HTMLElement => {
    const words = step && `${step.why}: ${step.what} (${step.who})`;
    const open = ofReadings(step);
    return h(
      "div",
      {},
      button(
        t(what === "undo" ? "undo-readings" : "redo-readings"),
        alone(() => make(what, step!)),
        "",
        { disabled: !open },
      ),
      h(
        "p",
        { class: "words" },
        open
          ? t(what === "undo" ? "undo-what" : "redo-what", { what: words! })
          : words
            ? t("undo-elsewhere", { what: words })
            : t(what === "undo" ? "nothing-to-undo" : "nothing-to-redo"),
      ),
    );
  };
  void ask<Steps>(context.path("undo")).then(
    ({ undo, redo }) =>
      replace(row, one("undo", undo), redo && ofReadings(redo) ? one("redo", redo) : null),
    () => replace(row),
  );
  return row;
}
