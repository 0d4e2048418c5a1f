// Undo and redo of what was stored last in the job, whatever it was: it is named before.

import { announce } from "./announce";
import { ask } from "./api";
import { alone, button, dialog, h } from "./dom";
import { newKey } from "./keep";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

export class JobUndo {
  constructor(
    private readonly context: Context,
    /** The job is another one now. */
    private readonly changed: () => Promise<void>,
  ) {}

  row(): HTMLElement {
    return h(
      "div",
      { class: "row" },
      button(
        t("undo-job"),
        alone(() => this.undo()),
      ),
      button(
        t("redo-job"),
        alone(() => this.move("redo")),
      ),
    );
  }

  /** Take back the last change of the job, of whatever it was: it is named before. */
  private async undo(): Promise<void> {
    const { entries } = await ask<{ entries: { what: string; why: string }[] }>(
      this.context.path("changes?most=1"),
    );
    const last = entries[0];
    if (!last) return announce(t("nothing-to-undo"));
    const words = h("p", {}, t("undo-what", { what: `${last.why}: ${last.what}` }));
    const pressed = await dialog(t("undo-job"), [words], [["ok", t("take-back"), "main"]]);
    if (pressed) await this.move("undo");
  }

  private async move(what: "undo" | "redo"): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const body = { who: name };
    const path = this.context.path(what);
    const { sentence } = await ask<{ sentence: string }>(path, { body, key: newKey() });
    announce(sentence);
    await this.changed();
  }
}
