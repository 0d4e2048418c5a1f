// Tracing over a photographed plan: two points and the length between them set its scale.

import { append, button, field, fileButton, h, replace } from "./dom";
import { distance, type Place } from "./geometry";
import { readLength } from "./lengths";
import { t } from "./strings";
import type { Context } from "./task";
import Feature from "ol/Feature";
import { Point, type Geometry } from "ol/geom";
import { sketchStyle } from "./plan_style";

export class Trace {
  readonly element = h("div", { class: "trace" });
  private url: string | null = null;
  private size: [number, number] = [1, 1];
  private origin: Place = [0, 0];
  /** Metres in one pixel of the photograph. */
  private scale = 0.01;
  private marks: Place[] = [];
  private marking = false;
  private opacity = 0.6;

  constructor(
    private readonly context: Context,
    private readonly redraw: () => void,
  ) {}

  button(): HTMLElement {
    return fileButton(
      t("trace-photo"),
      "image/png,image/jpeg,image/webp",
      (file) => void this.load(file),
    );
  }

  private async load(file: File): Promise<void> {
    const url = URL.createObjectURL(file);
    const image = new Image();
    image.src = url;
    try {
      await image.decode();
    } catch {
      URL.revokeObjectURL(url);
      replace(
        this.element,
        h("p", { class: "bad", role: "alert" }, t("not-a-picture", { file: file.name })),
      );
      return;
    }
    if (this.url) URL.revokeObjectURL(this.url);
    this.url = url;
    this.size = [image.naturalWidth, image.naturalHeight];
    this.scale = 20 / image.naturalWidth;
    this.origin = [0, 0];
    this.marking = true;
    this.marks = [];
    this.show();
    this.context.view.fit();
  }

  private show(): void {
    const { view } = this.context;
    const [x, y] = this.origin;
    view.under(
      this.url,
      [x, y, x + this.size[0] * this.scale, y + this.size[1] * this.scale],
      this.opacity,
    );
    const marks = this.marks.map((place) => new Feature<Geometry>(new Point(place)));
    view.layer("scale-marks", marks, sketchStyle, 95);
    this.fill();
  }

  private fill(): void {
    if (!this.url) return replace(this.element);
    const length = field(t("true-length"), { hint: t("true-length-hint") });
    const apply = (): void => {
      const metres = readLength(length.input.value, this.context.unit);
      const [a, b] = this.marks;
      if (!a || !b) length.say(t("mark-two"), true);
      else if (!(metres > 0)) length.say(t("bad-length", { value: length.input.value }), true);
      else this.setScale(a, b, metres);
    };
    const opacity = h("input", {
      type: "range",
      min: 10,
      max: 100,
      value: this.opacity * 100,
      "aria-label": t("photo-strength"),
      oninput: () => {
        this.opacity = Number(opacity.value) / 100;
        this.show();
      },
    });
    replace(
      this.element,
      h("h3", {}, t("photo-scale")),
      h(
        "p",
        { role: "status" },
        t(
          this.marks.length === 0
            ? "mark-first"
            : this.marks.length === 1
              ? "mark-second"
              : "type-true-length",
        ),
      ),
    );
    append(this.element, [
      this.marks.length === 2
        ? h("div", { class: "row end" }, length.row, button(t("set-scale"), apply, "main"))
        : null,
      h(
        "div",
        { class: "row" },
        button(t("mark-again"), () => this.again()),
        button(t("remove-photo"), () => this.leave()),
      ),
      h("label", { class: "field" }, t("photo-strength"), opacity),
    ]);
  }

  private again(): void {
    this.marks = [];
    this.marking = true;
    this.show();
  }

  private setScale(a: Place, b: Place, metres: number): void {
    const factor = metres / distance(a, b);
    this.scale *= factor;
    this.origin = [this.origin[0] * factor, this.origin[1] * factor];
    this.marks = [];
    this.marking = false;
    this.show();
    replace(this.element.querySelector("p") ?? this.element, t("scale-set"));
    this.context.view.fit();
  }

  /** Take a tap as a mark; false when the tap is not for the photograph. */
  tapped(place: Place): boolean {
    if (!this.url || !this.marking) return false;
    this.marks = [...this.marks, place].slice(-2);
    if (this.marks.length === 2) this.marking = false;
    this.show();
    return true;
  }

  leave(): void {
    if (!this.url) return;
    URL.revokeObjectURL(this.url);
    this.url = null;
    this.marks = [];
    this.marking = false;
    this.context.view.under(null, [0, 0, 1, 1]);
    this.context.view.drop("scale-marks");
    this.fill();
    this.redraw();
  }
}
