// How the picture a plan is traced over is turned, shifted and straightened.

import { announce } from "./announce";
import { ask, Refused, Unreachable } from "./api";
import {
  FIRST_WIDTH_M,
  laidSquare,
  middle,
  moved,
  shifted,
  toPicture,
  towardsSquare,
  turnOf,
  WIDEST_M,
  type Backdrop,
  type FromAbove,
} from "./backdrop";
import { addressOf, loadPicture } from "./backdrop_layer";
import { button, field, h } from "./dom";
import type { Place } from "./geometry";
import { readLength, readNumber, writeLength } from "./lengths";
import type { Marking } from "./backdrop_marking";
import { t } from "./strings";

export class BackdropSquare {
  constructor(private readonly marking: Marking) {}

  controls(now: Backdrop): HTMLElement[] {
    return [this.turning(now), this.straightening(now)];
  }

  private turning(now: Backdrop): HTMLElement {
    const by = (degrees: number): void => {
      this.marking.draft.changeBackdrop(moved(now, degrees, 1, middle(now)));
      if (Math.abs(degrees) === 90) this.marking.context.view.fit();
    };
    const turned = field(t("turned-by"), {
      value: String(Number(turnOf(now).toFixed(2))),
      unit: "°",
      inputmode: "decimal",
      hint: t("turned-by-hint"),
      onchange: (text) => {
        const value = readNumber(text);
        if (Math.abs(value) <= 360) by(value - turnOf(now));
        else turned.say(t("bad-turn", { value: text }), true);
      },
    });
    return h(
      "div",
      {},
      h(
        "div",
        { class: "row" },
        button(t("turn-left"), () => by(90)),
        button(t("turn-right"), () => by(-90)),
        button(t("turn-left-little"), () => by(0.5)),
        button(t("turn-right-little"), () => by(-0.5)),
      ),
      turned.row,
    );
  }

  private straightening(now: Backdrop): HTMLElement {
    return h(
      "div",
      { class: "row" },
      button(t("level-by-wall"), () => this.markLevel()),
      button(t("shift-picture"), () => this.markShift()),
      now.rectangle
        ? button(t("as-taken"), () => void this.asTaken(now))
        : button(t("from-above"), () => this.markRectangle()),
    );
  }

  private markLevel(): void {
    this.marking.mark(t("level-by-wall"), [t("level-first"), t("level-second")], (marks) => {
      const apply = (): void => {
        const now = this.marking.draft.backdrop;
        const [one, other] = marks() as [Place, Place];
        if (now) this.marking.finish(moved(now, towardsSquare(one, other), 1, one));
      };
      return { below: [button(t("make-level"), apply, "main")] };
    });
  }

  private markShift(): void {
    this.marking.mark(t("shift-picture"), [t("shift-from"), t("shift-to")], (marks) => {
      const apply = (): void => {
        const now = this.marking.draft.backdrop;
        const [from, to] = marks() as [Place, Place];
        if (now) this.marking.finish(shifted(now, from, to));
      };
      return { below: [button(t("shift-now"), apply, "main")] };
    });
  }

  private markRectangle(): void {
    const asks = [1, 2, 3, 4].map((number) => t("rectangle-corner", { number }));
    this.marking.mark(t("from-above"), asks, (marks) => {
      const sides = [t("side-first"), t("side-second")].map((words) =>
        field(words, { hint: t("true-length-hint") }),
      );
      const apply = (): void => {
        const lengths = sides.map(({ input }) =>
          readLength(input.value, this.marking.context.unit),
        );
        const bad = lengths.findIndex((metres) => !(metres >= 0.01 && metres <= WIDEST_M));
        if (bad >= 0) sides[bad]!.say(t("bad-length", { value: sides[bad]!.input.value }), true);
        else void this.drawFromAbove(marks(), lengths as [number, number], sides[0]!.say);
      };
      const fields = sides.map((side) => side.row);
      return {
        below: [
          h("p", { class: "words" }, t("from-above-how")),
          ...fields,
          button(t("draw-from-above"), apply, "main"),
        ],
      };
    });
  }

  private async drawFromAbove(
    marks: Place[],
    sides: [number, number],
    say: (words: string, bad?: boolean) => void,
  ): Promise<void> {
    const now = this.marking.draft.backdrop;
    if (!now) return;
    const corners = marks.map((place) => toPicture(now, place));
    const rounded = corners.map(([u, v]): Place => [
      Math.round(u * 10) / 10,
      Math.round(v * 10) / 10,
    ]);
    const rectangle = { corners: rounded, sides };
    try {
      const path = this.marking.context.path(`backdrop/pictures/${now.photo}/straightened`);
      const above = await ask<FromAbove>(path, { body: rectangle });
      this.marking.finish(laidSquare(now, rectangle, above, marks));
      this.marking.context.view.fit();
      const off = writeLength(above.error_m, this.marking.context.unit);
      announce(t("from-above-done", { off }));
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      say(error.message, true);
    }
  }

  private async asTaken(now: Backdrop): Promise<void> {
    const taken: Backdrop = { ...now, rectangle: null };
    const image = await loadPicture(addressOf(this.marking.context.path("backdrop"), taken));
    const [width, height] = [image.naturalWidth, image.naturalHeight];
    const pixel = FIRST_WIDTH_M / width;
    const placed: Backdrop["placed"] = [0, pixel * height, pixel, 0];
    this.marking.draft.changeBackdrop({ ...taken, width, height, placed, scaled: false });
    this.marking.context.view.fit();
  }
}
