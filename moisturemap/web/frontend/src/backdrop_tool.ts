// The panel for the picture a plan is traced over: bring, scale, turn, straighten, take away.

import { ask, Refused, Unreachable } from "./api";
import {
  FIRST_WIDTH_M,
  laidSquare,
  middle,
  moved,
  newBackdrop,
  pixelSize,
  scaleError,
  shifted,
  toPicture,
  towardsSquare,
  turnOf,
  type Backdrop,
  type FromAbove,
  type KeptPicture,
} from "./backdrop";
import { addressOf, BackdropLayer, loadPicture } from "./backdrop_layer";
import { announce } from "./announce";
import { button, dialog, field, fileButton, fold, h, section } from "./dom";
import { distance, type Place } from "./geometry";
import { newKey } from "./keep";
import { readLength, readNumber, writeLength } from "./lengths";
import { MarkTool } from "./marks";
import { choosePage } from "./page_choice";
import type { PlanDraft } from "./plan_draft";
import { scaledPlan } from "./plan_types";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

const TAKES =
  "image/jpeg,image/png,image/webp,image/tiff,image/bmp,application/pdf,.pdf,.tif,.tiff";
/** How far from its place a careful tap lies [px of the screen]; our choice. */
const TAP_PX = 3;
/** A scale that may be further off than this deserves a word; our choice. */
const DOUBTFUL = 0.01;
const WIDEST_M = 2000;

export class BackdropTool {
  private readonly layer: BackdropLayer;
  private marks: MarkTool | null = null;

  constructor(
    private readonly context: Context,
    private readonly draft: PlanDraft,
    /** Show the tool in the panel, or the panel as it was for null. */
    private readonly occupy: (element: HTMLElement | null) => void,
  ) {
    this.layer = new BackdropLayer(context.view, context.path("backdrop"), (one) =>
      announce(t("backdrop-not-loaded", { name: one.name }), "bad"),
    );
  }

  get busy(): boolean {
    return this.marks !== null;
  }

  show(): void {
    this.layer.show(this.draft.backdrop);
  }

  undo(): boolean {
    return this.marks?.back() ?? false;
  }

  end(): void {
    this.marks?.end();
    this.marks = null;
  }

  leave(): void {
    this.end();
    this.layer.hide();
  }

  bringButton(): HTMLElement {
    return fileButton(t("trace-photo"), TAKES, (file) => void this.bring(file));
  }

  /** What can be done with the picture there is; null without one. */
  panel(): HTMLElement | null {
    const now = this.draft.backdrop;
    if (!now) return null;
    const state = now.scaled
      ? t("backdrop-scaled", { width: writeLength(pixelSize(now) * now.width, this.context.unit) })
      : t("backdrop-unscaled");
    return section(
      t("backdrop"),
      h("p", {}, now.name),
      h("p", { class: now.scaled ? "words" : "caution" }, state),
      h(
        "div",
        { class: "row" },
        button(t("set-scale"), () => this.markScale(), now.scaled ? "" : "main"),
        button(t("check-length"), () => this.markCheck(), "", { disabled: !now.scaled }),
        button(t("remove-photo"), () => this.put(null), "danger"),
      ),
      this.sheetScale(now),
      fold(t("backdrop-straighten"), false, this.turning(now), this.straightening(now)),
      this.strength(now),
    );
  }

  private put(next: Backdrop | null): void {
    this.draft.changeBackdrop(next);
  }

  private async bring(file: File): Promise<void> {
    const who = await askWho();
    if (!who) return;
    try {
      const pdf = file.type === "application/pdf" || /\.pdf$/i.test(file.name);
      const page = pdf ? await choosePage(file) : 1;
      if (page === null) return;
      const form = new FormData();
      form.append("file", file);
      form.append("who", who);
      form.append("page", String(page));
      announce(t("backdrop-sending"));
      const path = this.context.path("backdrop/pictures");
      const kept = await ask<KeptPicture>(path, { form, key: newKey() });
      this.put(newBackdrop(kept));
      this.context.view.fit();
      announce(t("backdrop-kept"));
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      announce(t("backdrop-refused", { file: file.name, why: error.message }), "bad");
    }
  }

  private mark(
    title: string,
    asks: string[],
    then: ConstructorParameters<typeof MarkTool>[0]["then"],
  ): void {
    const { view } = this.context;
    this.end();
    this.marks = new MarkTool({ view, title, asks, then, leave: () => this.finish() });
    this.occupy(this.marks.element);
  }

  private finish(next?: Backdrop): void {
    this.end();
    if (next) this.put(next);
    this.occupy(null);
  }

  private markScale(): void {
    const { unit, view } = this.context;
    this.mark(t("photo-scale"), [t("mark-first"), t("mark-second")], (marks, say) => {
      const length = field(t("true-length"), { hint: t("true-length-hint") });
      const doubt = (): void => {
        const [one, other] = marks() as [Place, Place];
        const off = scaleError(one, other, TAP_PX * (view.map.getView().getResolution() ?? 0));
        const percent = (100 * off).toFixed(off < 0.001 ? 2 : 1);
        say(t(off > DOUBTFUL ? "scale-doubtful" : "scale-good", { percent }), off > DOUBTFUL);
      };
      const apply = (): void => {
        const metres = readLength(length.input.value, unit);
        const [one, other] = marks() as [Place, Place];
        if (!(metres > 0)) length.say(t("bad-length", { value: length.input.value }), true);
        else void this.setScale(one, metres / distance(one, other), length.say);
      };
      length.input.addEventListener("keydown", (event) => {
        if (event.key === "Enter") apply();
      });
      doubt();
      const row = h("div", { class: "row end" }, length.row, button(t("set-scale"), apply, "main"));
      return { below: [row], dragged: doubt };
    });
  }

  private async setScale(
    about: Place,
    factor: number,
    say: (words: string, bad?: boolean) => void,
  ): Promise<void> {
    const now = this.draft.backdrop;
    if (!now) return;
    const width = pixelSize(now) * now.width * factor;
    if (!(width > 0.1 && width < WIDEST_M))
      return say(t("scale-impossible", { width: width.toPrecision(3) }), true);
    const { plan } = this.draft;
    const drawn = plan.rooms.length + plan.lines.length > 0;
    const empty = this.context.project.readings + this.context.project.tests === 0;
    const along = drawn && empty && Math.abs(factor - 1) > 1e-3;
    const wanted = along ? await this.askRooms() : "keep";
    if (!wanted) return;
    const next = { ...moved(now, 0, factor, about), scaled: true };
    this.end();
    this.draft.changeBackdrop(next, wanted === "scale" ? scaledPlan(plan, factor, about) : plan);
    this.occupy(null);
    this.context.view.fit();
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

  private markCheck(): void {
    this.mark(t("check-length"), [t("mark-first"), t("mark-second")], (marks, say) => {
      const tell = (): void => {
        const [one, other] = marks() as [Place, Place];
        say(t("length-is", { length: writeLength(distance(one, other), this.context.unit) }));
      };
      tell();
      return { below: [], dragged: tell };
    });
  }

  /** A drawing on a sheet states its scale; then no length needs to be known. */
  private sheetScale(now: Backdrop): HTMLElement | null {
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

  private turning(now: Backdrop): HTMLElement {
    const by = (degrees: number): void => {
      this.put(moved(now, degrees, 1, middle(now)));
      if (Math.abs(degrees) === 90) this.context.view.fit();
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
    this.mark(t("level-by-wall"), [t("level-first"), t("level-second")], (marks) => {
      const apply = (): void => {
        const now = this.draft.backdrop;
        const [one, other] = marks() as [Place, Place];
        if (now) this.finish(moved(now, towardsSquare(one, other), 1, one));
      };
      return { below: [button(t("make-level"), apply, "main")] };
    });
  }

  private markShift(): void {
    this.mark(t("shift-picture"), [t("shift-from"), t("shift-to")], (marks) => {
      const apply = (): void => {
        const now = this.draft.backdrop;
        const [from, to] = marks() as [Place, Place];
        if (now) this.finish(shifted(now, from, to));
      };
      return { below: [button(t("shift-now"), apply, "main")] };
    });
  }

  private markRectangle(): void {
    const asks = [1, 2, 3, 4].map((number) => t("rectangle-corner", { number }));
    this.mark(t("from-above"), asks, (marks) => {
      const sides = [t("side-first"), t("side-second")].map((words) =>
        field(words, { hint: t("true-length-hint") }),
      );
      const apply = (): void => {
        const lengths = sides.map(({ input }) => readLength(input.value, this.context.unit));
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
    const now = this.draft.backdrop;
    if (!now) return;
    const corners = marks.map((place) => toPicture(now, place));
    const rounded = corners.map(([u, v]): Place => [
      Math.round(u * 10) / 10,
      Math.round(v * 10) / 10,
    ]);
    const rectangle = { corners: rounded, sides };
    try {
      const path = this.context.path(`backdrop/pictures/${now.photo}/straightened`);
      const above = await ask<FromAbove>(path, { body: rectangle });
      this.finish(laidSquare(now, rectangle, above, marks));
      this.context.view.fit();
      const off = writeLength(above.error_m, this.context.unit);
      announce(t("from-above-done", { off }));
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      say(error.message, true);
    }
  }

  private async asTaken(now: Backdrop): Promise<void> {
    const taken: Backdrop = { ...now, rectangle: null };
    const image = await loadPicture(addressOf(this.context.path("backdrop"), taken));
    const [width, height] = [image.naturalWidth, image.naturalHeight];
    const pixel = FIRST_WIDTH_M / width;
    const placed: Backdrop["placed"] = [0, pixel * height, pixel, 0];
    this.put({ ...taken, width, height, placed, scaled: false });
    this.context.view.fit();
  }

  private strength(now: Backdrop): HTMLElement {
    const input = h("input", {
      type: "range",
      min: 10,
      max: 100,
      value: Math.round(now.opacity * 100),
      oninput: () => this.layer.show(now, Number(input.value) / 100),
      onchange: () => this.put({ ...now, opacity: Number(input.value) / 100 }),
    });
    return h("label", { class: "field" }, t("photo-strength"), input);
  }
}
