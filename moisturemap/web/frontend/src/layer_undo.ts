// Undo and redo under readings or tests: each names what it would do, and only they are touched there.

import type { components } from "./api_types";
import { announce } from "./announce";
import { ask, Refused } from "./api";
import { alone, button, h, replace } from "./dom";
import { newKey } from "./keep";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

export type Step = components["schemas"]["StepAnswer"];
type Steps = components["schemas"]["StepsAnswer"];

export type UndoneLayer = "readings" | "tests";

/** Whether a change is of one layer alone. */
export function ofLayer(step: Step | null, layer: UndoneLayer): boolean {
  return step !== null && step.layers.every((one) => one === layer);
}

/**
 * A row of two buttons with the change each of them is about; `after` is called when one was made.
 * Where nothing of the layer is there, only what can be done is shown.
 */
export function layerUndo(
  context: Context,
  layer: UndoneLayer,
  after: () => Promise<void>,
  empty = false,
): HTMLElement {
  const row = h("div", {}, empty ? null : h("p", { class: "words" }, t("one-moment")));
  const make = async (what: "undo" | "redo", step: Step): Promise<void> => {
    const name = await askWho();
    if (!name) return;
    const body = { who: name, change: step.change };
    try {
      const send = { body, key: newKey() };
      announce((await ask<{ sentence: string }>(context.path(what), send)).sentence);
    } catch (error) {
      // Refused where something else was changed meanwhile: that is shown.
      if (error instanceof Refused) await after();
      throw error;
    }
    await after();
  };
  const one = (what: "undo" | "redo", step: Step | null): HTMLElement => {
    const words = step && `${step.why}: ${step.what} (${step.who})`;
    const open = ofLayer(step, layer);
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
            ? t(layer === "tests" ? "undo-not-tests" : "undo-elsewhere", { what: words })
            : t(what === "undo" ? "nothing-to-undo" : "nothing-to-redo"),
      ),
    );
  };
  void ask<Steps>(context.path("undo"), { patient: true }).then(
    ({ undo, redo }) =>
      replace(
        row,
        empty && !ofLayer(undo, layer) ? null : one("undo", undo),
        ofLayer(redo, layer) ? one("redo", redo) : null,
      ),
    () => replace(row),
  );
  return row;
}
