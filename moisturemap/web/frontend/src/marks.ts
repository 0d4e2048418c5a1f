// Marking places on the plan one after the other: by tap, dragged afterwards, or at a cross in the
// middle of the screen, which the arrow keys and two fingers move about.

import Feature from "ol/Feature";
import { Point, type Geometry } from "ol/geom";
import { Circle, Fill, Stroke, Style } from "ol/style";

import { append, button, h, replace, type Child } from "./dom";
import { dragPoints } from "./drag_points";
import type { Place } from "./geometry";
import { colour, label } from "./plan_style";
import type { PlanView } from "./plan_view";
import { t } from "./strings";

export interface MarkOptions {
  view: PlanView;
  title: string;
  /** What to mark next, one sentence for each place. */
  asks: string[];
  /** What is asked once all places are marked: what stands below, and what a dragged mark changes. */
  then: (
    marks: () => Place[],
    say: (words: string, bad?: boolean) => void,
  ) => { below: Child[]; dragged?: () => void };
  leave: () => void;
}

function markStyle(feature: { get: (name: string) => unknown }): Style[] {
  const ring = new Stroke({ color: colour("accent"), width: 3 });
  return [
    new Style({
      image: new Circle({
        radius: 9,
        stroke: ring,
        fill: new Fill({ color: colour("veil") }),
      }),
    }),
    new Style({
      image: new Circle({ radius: 1.5, fill: new Fill({ color: colour("ink") }) }),
      text: label(String(feature.get("number")), false, { offsetX: 17, offsetY: -14 }),
    }),
  ];
}

export class MarkTool {
  readonly element = h("section", { class: "marks" });
  private marks: Place[] = [];
  private readonly words = h("p", { class: "words", role: "status", "aria-live": "polite" });
  private readonly below = h("div");
  private readonly cross = h("div", { class: "cross", "aria-hidden": "true" });
  private readonly markHere: HTMLButtonElement;
  private dragged: () => void = () => undefined;

  constructor(private readonly options: MarkOptions) {
    this.markHere = button(t("mark-here"), () => this.atCross());
    append(this.element, [
      h("h1", {}, options.title),
      this.words,
      this.below,
      h(
        "div",
        { class: "row" },
        this.markHere,
        button(t("mark-again"), () => this.set([])),
        button(t("cancel"), () => options.leave(), "plain"),
      ),
      h("p", { class: "words" }, t("marks-how")),
    ]);
    options.view.element.querySelector(".canvas-box")?.append(this.cross);
    options.view.onTap((place) => this.add(place));
    this.set([]);
  }

  /** Take one back; false when there is none. */
  back(): boolean {
    if (!this.marks.length) return false;
    this.set(this.marks.slice(0, -1));
    return true;
  }

  end(): void {
    this.cross.remove();
    this.options.view.drop("marks");
  }

  private atCross(): void {
    const [x, y] = this.options.view.map.getView().getCenter()!;
    this.add([x!, y!]);
  }

  private add(place: Place): void {
    if (this.marks.length < this.options.asks.length) this.set([...this.marks, place]);
  }

  private set(marks: Place[]): void {
    const { view, asks } = this.options;
    this.marks = marks;
    const features = marks.map((place, i) => {
      const feature = new Feature<Geometry>(new Point(place));
      feature.setProperties({ number: i + 1 });
      return feature;
    });
    view.stop();
    view.layer("marks", features, markStyle, 95);
    dragPoints(view, "marks", (sign, to) => {
      const which = Number(sign.get("number")) - 1;
      this.marks = this.marks.map((place, i) => (i === which ? to : place));
      this.dragged();
    });
    const all = marks.length === asks.length;
    this.markHere.disabled = all;
    this.cross.hidden = all;
    this.say(all ? t("marks-done") : asks[marks.length]!);
    replace(this.below);
    this.dragged = () => undefined;
    if (!all) return;
    const { below, dragged } = this.options.then(
      () => this.marks,
      (words, bad) => this.say(words, bad),
    );
    append(this.below, below);
    if (dragged) this.dragged = dragged;
    this.below.querySelector("input")?.focus({ preventScroll: true });
  }

  private say(words: string, bad = false): void {
    replace(this.words, words);
    this.words.classList.toggle("bad", bad);
  }
}
