// The page of one place of a walk. Above the pad nothing comes or goes: a thumb that stays finds each key where it was.

import { button, fold, h, replace } from "./dom";
import { t } from "./strings";
import type { WalkField } from "./walk_field";

/** How far the walk is. */
export class WalkProgress {
  readonly words = h("p", { class: "words" });
  readonly bar = h("progress", { "aria-label": t("progress") });

  tell(at: number, of: number, n: number, place: string): void {
    replace(this.words, `${t("walk-progress", { at: at + 1, of, n })} · ${place}`);
    this.bar.max = of;
    this.bar.value = n;
  }
}

export interface WalkPlace {
  field: WalkField;
  say: HTMLElement;
  progress: WalkProgress;
  /** Drop a place that was added by a tap; null for one of the grid. */
  drop: (() => void) | null;
  stop: () => void;
  live: HTMLElement;
}

export function showPlace(panel: HTMLElement, title: string, room: string, on: WalkPlace): void {
  const content = h(
    "div",
    { class: "walk" },
    h("h1", { class: "place", title: room }, title),
    on.field.input,
    on.say,
    on.field.pad,
    on.progress.words,
    on.progress.bar,
    on.drop ? button(t("drop-place"), on.drop, "plain wide") : null,
    fold(t("keys"), false, h("p", {}, t("walk-keys"))),
    button(t("stop-walk"), on.stop, "plain wide"),
    on.live,
  );
  replace(panel, content);
}
