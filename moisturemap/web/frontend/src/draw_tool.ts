// Drawing an outline or a line: tap corners, or type lengths and press a direction.

import { LineString, Point, Polygon, type SimpleGeometry } from "ol/geom";
import Draw from "ol/interaction/Draw";

import { Aim, END_PX } from "./aim";
import { append, button, h, replace } from "./dom";
import { dropDraft, keepDraft, keptDraft } from "./drafts";
import { area, crossingWalls, distance, round, type Place } from "./geometry";
import { LengthPad } from "./length_pad";
import { writeArea, writeLength, type LengthUnit } from "./lengths";
import { placeForm } from "./place_form";
import { sketchStyle } from "./plan_style";
import type { LineShape } from "./plan_types";
import type { PlanView } from "./plan_view";
import { t } from "./strings";

export interface DrawOptions {
  view: PlanView;
  shape: LineShape;
  title: string;
  unit: LengthUnit;
  /** Words against the drawn places, or null when they are welcome. */
  refuse: (places: Place[]) => string | null;
  done: (places: Place[] | null) => void;
  /** Under which name and for what the drawing is kept on this device until it is done. */
  draft?: { name: string; more: object };
}

/** A drawing that was begun. */
export interface Sketch {
  corners: Place[];
  length: string;
}

export class DrawTool {
  readonly element = h("section", { class: "draw" });
  private corners: Place[] = [];
  private finishing: Place[] = [];
  private pointed: Place | null = null;
  private remembered = "";
  private readonly draw: Draw;
  private readonly words = h("p", { class: "words", role: "status", "aria-live": "polite" });
  private readonly pad: LengthPad;

  constructor(private readonly options: DrawOptions) {
    const type =
      options.shape === "point" ? "Point" : options.shape === "line" ? "LineString" : "Polygon";
    this.draw = new Draw({
      type,
      style: sketchStyle,
      snapTolerance: END_PX,
      clickTolerance: 12,
      stopClick: true,
      geometryFunction:
        options.shape === "point" ? undefined : (places, geometry) => this.follow(places, geometry),
      finishCondition: () => {
        // Finishing calls `follow` once more with the closing place already cut off.
        this.finishing = [...this.corners];
        return this.welcome(this.finishing);
      },
    });
    this.draw.on("drawend", (event) =>
      this.finished(event.feature.getGeometry() as SimpleGeometry),
    );
    options.view.use(
      this.draw,
      new Aim(
        options.view,
        () => this.corners,
        (corners) => {
          if (options.shape === "line") return corners.length > 1 ? corners.at(-1) : undefined;
          return corners.length > 2 ? corners[0] : undefined;
        },
      ),
    );
    this.pad = new LengthPad({
      unit: options.unit,
      step: (metres, dx, dy) => this.step(metres, dx, dy),
      enter: () => void this.setLast(),
      changed: () => this.remember(),
    });
    this.build();
    const begun = options.draft && keptDraft<Sketch>(options.draft.name);
    this.tell();
    if (begun) this.resume(begun);
  }

  /** Go on with what was drawn before a reload or another task. */
  private resume(begun: Sketch): void {
    for (const corner of begun.corners) this.add(corner);
    this.pad.text = begun.length;
    this.remember();
    if (begun.corners.length) this.element.prepend(h("p", { class: "words" }, t("draft-back")));
  }

  private remember(): void {
    const { draft, title } = this.options;
    if (!draft) return;
    const sketch: Sketch = { corners: this.corners, length: this.pad.text };
    const written = JSON.stringify(sketch);
    if (written === this.remembered) return;
    this.remembered = written;
    if (sketch.corners.length || sketch.length)
      keepDraft(draft.name, title, { ...draft.more, ...sketch });
    else dropDraft(draft.name);
  }

  private build(): void {
    const { title, shape } = this.options;
    append(this.element, [
      h("h1", {}, title),
      h(
        "p",
        {},
        t(
          shape === "point"
            ? "draw-point-how"
            : shape === "line"
              ? "draw-line-how"
              : "draw-area-how",
        ),
      ),
    ]);
    if (shape !== "point") {
      append(this.element, [
        this.pad.length.row,
        this.pad.compass,
        h(
          "div",
          { class: "row" },
          button(t("set-last-wall"), () => void this.setLast()),
          button(t("undo-corner"), () => this.back()),
        ),
      ]);
    }
    this.element.append(this.byNumbers());
    append(this.element, [
      this.words,
      h(
        "div",
        { class: "actions" },
        shape === "point"
          ? null
          : button(t(shape === "line" ? "finish-line" : "close-room"), () => this.close(), "main"),
        button(t("cancel"), () => this.cancel(), "plain"),
      ),
    ]);
  }

  private byNumbers(): HTMLElement {
    const point = this.options.shape === "point";
    return placeForm(
      t(point ? "place-by-numbers" : "corner-by-numbers"),
      this.options.unit,
      (place) => (point ? this.accept([place]) : this.add(place)),
    );
  }

  private follow(places: unknown[], geometry?: SimpleGeometry): SimpleGeometry {
    const ring = (this.options.shape === "line" ? places : places[0]) as Place[];
    this.corners = ring.slice(0, -1).map((place) => round(place));
    this.pointed = ring.at(-1) ?? null;
    this.tell();
    if (this.options.shape === "line") {
      const line = (geometry as LineString | undefined) ?? new LineString(ring);
      line.setCoordinates(ring);
      return line;
    }
    const polygon = (geometry as Polygon | undefined) ?? new Polygon([ring]);
    polygon.setCoordinates([[...ring, ring[0]!]]);
    return polygon;
  }

  private step(metres: number, dx: number, dy: number): void {
    const last = this.corners.at(-1);
    if (!last) this.add([0, 0]);
    const [x, y] = last ?? [0, 0];
    this.add([x + dx * metres, y + dy * metres]);
  }

  private add(place: Place): void {
    // Twice, and one taken back: the library leaves its sketch a corner behind otherwise.
    this.draw.appendCoordinates([round(place), round(place)]);
    this.draw.removeLastPoint();
    const all = this.corners;
    if (all.length) this.options.view.centreOn(all);
    this.pad.length.say("");
    this.tell();
  }

  private async setLast(): Promise<void> {
    const metres = await this.pad.typed();
    if (metres === null) return;
    const [before, last] = [this.corners.at(-2), this.corners.at(-1)];
    if (!last) return this.say(t("start-first"), true);
    if (!before) return this.pointAndAdd(last, metres);
    const scale = metres / distance(before, last);
    const place = round([
      before[0] + (last[0] - before[0]) * scale,
      before[1] + (last[1] - before[1]) * scale,
    ]);
    this.draw.removeLastPoint();
    this.add(place);
  }

  private pointAndAdd(last: Place, metres: number): void {
    const towards =
      this.pointed && distance(last, this.pointed) > 0.05
        ? this.pointed
        : ([last[0] + 1, last[1]] as Place);
    const scale = metres / distance(last, towards);
    this.add([last[0] + (towards[0] - last[0]) * scale, last[1] + (towards[1] - last[1]) * scale]);
  }

  back(): void {
    if (this.corners.length > 1) this.draw.removeLastPoint();
    else {
      this.draw.abortDrawing();
      this.corners = [];
    }
    this.tell();
  }

  private welcome(places: Place[]): boolean {
    const words = this.against(places);
    if (words) this.say(words, true);
    return words === null;
  }

  private against(places: Place[]): string | null {
    if (this.options.shape === "area") {
      if (places.length < 3) return t("three-corners");
      const walls = crossingWalls(places);
      if (walls) return t("walls-cross", { one: walls[0], other: walls[1] });
    } else if (this.options.shape === "line" && places.length < 2) return t("two-ends");
    return this.options.refuse(places);
  }

  private close(): void {
    if (this.welcome(this.corners)) this.accept(this.corners);
  }

  private finished(geometry: SimpleGeometry): void {
    if (geometry instanceof Point) this.accept([round(geometry.getCoordinates() as Place)]);
    else this.accept(this.finishing);
  }

  private accept(places: Place[]): void {
    const words = this.against(places);
    if (words) return this.say(words, true);
    this.leave(places.map(round));
  }

  cancel(): void {
    this.leave(null);
  }

  private leave(places: Place[] | null): void {
    if (this.options.draft) dropDraft(this.options.draft.name);
    this.options.view.stop();
    this.options.done(places);
  }

  private say(words: string, bad = false): void {
    replace(this.words, words);
    this.words.classList.toggle("bad", bad);
  }

  private tell(): void {
    const n = this.corners.length;
    this.remember();
    if (this.options.shape === "point") return;
    const last =
      n > 1
        ? writeLength(distance(this.corners[n - 2]!, this.corners[n - 1]!), this.options.unit)
        : "";
    const size =
      this.options.shape === "area" && n > 2
        ? `, ${writeArea(area(this.corners), this.options.unit)}`
        : "";
    this.say(
      n === 0
        ? t("no-corner-yet")
        : n === 1
          ? t("one-corner")
          : t(this.options.shape === "line" ? "points-so-far" : "corners-so-far", { n, last }) +
            size,
    );
  }
}
