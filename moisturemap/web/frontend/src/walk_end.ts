// The end of a walk: how much was read, and what was left out.

import { button, h, replace } from "./dom";
import { t } from "./strings";

export interface WalkEnd {
  /** To the first place that was not read; null when all were. */
  skipped: (() => void) | null;
  finish: () => void;
  back: () => void;
  live: HTMLElement;
}

export function showEnd(panel: HTMLElement, [n, places]: [number, number], on: WalkEnd): void {
  replace(
    panel,
    h("h1", {}, t("walk-done")),
    h("p", {}, t("walk-done-long", { n, places })),
    h(
      "div",
      { class: "actions" },
      on.skipped ? button(t("to-skipped"), on.skipped, "wide") : null,
      button(t("finish"), on.finish, "main wide"),
      button(t("back"), on.back),
    ),
    on.live,
  );
}
