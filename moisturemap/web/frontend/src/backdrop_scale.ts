// The scale of the picture a plan is traced over: by two marks, by a sheet's own, and checked.

import { announce } from "./announce";
import { middle, moved, pixelSize, scaleError, WIDEST_M, type Backdrop } from "./backdrop";
import { dialog } from "./dialog";
import { button, field, h } from "./dom";
import { aboutWall, meant } from "./doubts";
import { distance, type Place } from "./geometry";
import { readLength, readNumber, writeLength } from "./lengths";
import type { Marking } from "./backdrop_marking";
import { scaledPlan } from "./plan_types";
import { t } from "./strings";

/** How far from its place a careful tap lies [px of the screen]; our choice. */
const TAP_PX = 3;
/** A scale that may be further off than this deserves a word; our choice. */
const DOUBTFUL = 0.01;

export class BackdropScale {
  constructor(private readonly marking: Marking) {}

  mark(): void {
    const { unit, view } = this.marking.context;
    this.marking.mark(t("photo-scale"), [t("mark-first"), t("mark-second")], (marks, say) => {
      const length = field(t("true-length"), { hint: t("true-length-hint") });
      const doubt = (): void => {
        const [one, other] = marks() as [Place, Place];
        const off = scaleError(one, other, TAP_PX * (view.map.getView().getResolution() ?? 0));
        const percent = (100 * off).toFixed(off < 0.001 ? 2 : 1);
        say(t(off > DOUBTFUL ? "scale-doubtful" : "scale-good", { percent }), off > DOUBTFUL);
      };
      const apply = async (): Promise<void> => {
        const text = length.input.value;
        const asked = aboutWall(text, readLength(text, unit), unit);
        const typed = await meant(t("true-length"), text, asked);
        if (typed === null) return;
        const metres = readLength(typed, unit);
        const [one, other] = marks() as [Place, Place];
        if (!(metres > 0)) length.say(t("bad-length", { value: length.input.value }), true);
        else await this.setScale(one, metres / distance(one, other), length.say);
      };
      length.input.addEventListener("keydown", (event) => {
        if (event.key === "Enter") void apply();
      });
      doubt();
      const row = h(
        "div",
        { class: "row end" },
        length.row,
        button(t("set-scale"), () => void apply(), "main"),
      );
      return { below: [row], dragged: doubt };
    });
  }

  private async setScale(
    about: Place,
    factor: number,
    say: (words: string, bad?: boolean) => void,
  ): Promise<void> {
    const now = this.marking.draft.backdrop;
    if (!now) return;
    const width = pixelSize(now) * now.width * factor;
    if (!(width > 0.1 && width < WIDEST_M))
      return say(
        t("scale-impossible", { width: writeLength(width, this.marking.context.unit) }),
        true,
      );
    const { plan } = this.marking.draft;
    const drawn = plan.rooms.length + plan.lines.length > 0;
    const empty = this.marking.context.project.readings + this.marking.context.project.tests === 0;
    const along = drawn && empty && Math.abs(factor - 1) > 1e-3;
    const wanted = along ? await this.askRooms() : "keep";
    if (!wanted) return;
    const next = { ...moved(now, 0, factor, about), scaled: true };
    this.marking.finish(next, wanted === "scale" ? scaledPlan(plan, factor, about) : plan);
    this.marking.context.view.fit();
    announce(t(drawn && wanted === "keep" ? "scale-set-rooms-kept" : "scale-set"));
  }

  private askRooms(): Promise<string | null> {
    return dialog(
      t("scale-rooms"),
      [h("p", {}, t("scale-rooms-how"))],
      [
        ["scale", t("scale-rooms-too"), "main"],
        ["keep", t("scale-rooms-keep")],
      ],
    );
  }

  check(): void {
    this.marking.mark(t("check-length"), [t("mark-first"), t("mark-second")], (marks, say) => {
      const tell = (): void => {
        const [one, other] = marks() as [Place, Place];
        say(
          t("length-is", { length: writeLength(distance(one, other), this.marking.context.unit) }),
        );
      };
      tell();
      return { below: [], dragged: tell };
    });
  }

  /** A drawing on a sheet states its scale; then no length needs to be known. */
  sheet(now: Backdrop): HTMLElement | null {
    const pixel = now.sheet_mm_per_pixel;
    if (!pixel || now.rectangle) return null;
    const scale = field(t("sheet-scale"), {
      inputmode: "numeric",
      hint: t("sheet-scale-hint"),
      value: now.scaled ? String(Math.round((pixelSize(now) * 1000) / pixel)) : "",
    });
    const apply = (): void => {
      const value = readNumber(scale.input.value.replace(/^\s*1\s*:/, ""));
      if (!(value >= 1 && value <= 5000))
        return scale.say(t("bad-sheet-scale", { value: scale.input.value }), true);
      const factor = (value * pixel) / 1000 / pixelSize(now);
      void this.setScale(middle(now), factor, scale.say);
    };
    return h("div", { class: "row end" }, scale.row, button(t("use-sheet-scale"), apply));
  }
}
