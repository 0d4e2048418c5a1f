// What the map says at one place: asked by a tap or by numbers.

import Feature from "ol/Feature";
import { Point, type Geometry } from "ol/geom";

import { Latest } from "./api";
import { button, fold, h, replace, table } from "./dom";
import type { Place } from "./geometry";
import { writeLength } from "./lengths";
import { placeForm } from "./place_form";
import { spotStyle } from "./sign_style";
import type { PlaceAnswer } from "./map_types";
import { number } from "./numbers";
import { t, word } from "./strings";
import type { Context } from "./task";

export class PlaceCard {
  readonly element = h("div", { class: "detail", "aria-live": "polite" });
  private readonly why = new Latest();
  private asked: Place | null = null;

  constructor(private readonly context: Context) {}

  drop(): void {
    this.why.drop();
  }

  /** Say how to ask. */
  rest(): void {
    this.asked = null;
    replace(this.element, this.hint());
  }

  /** Ask again for the place that is shown: another map has come. */
  async again(): Promise<void> {
    if (this.asked) await this.explain(this.asked, true);
  }

  private hint(): HTMLElement {
    return h(
      "div",
      {},
      h("p", {}, t("tap-map")),
      placeForm(
        t("place-by-numbers"),
        this.context.unit,
        (place) => void this.explain(place),
        t("show"),
      ),
    );
  }

  async explain(place: Place, again = false): Promise<void> {
    this.asked = place;
    const mark = new Feature<Geometry>(new Point(place));
    this.context.view.layer("asked", [mark], spotStyle, 95);
    const query = new URLSearchParams({
      x: String(place[0]),
      y: String(place[1]),
      visit: this.context.visit ?? "",
    });
    const told = await this.why.ask<PlaceAnswer>(this.context.path(`place?${query}`), {
      patient: true,
    });
    if (!told) return;
    const unit = this.context.unit;
    const rows = told.readings.map((one) => [
      one.label || String(one.reading),
      writeLength(one.distance_m, unit),
      one.censored === "above" ? "≥ " + number(one.value) : number(one.value),
      word("flag", one.flag),
    ]);
    replace(
      this.element,
      h(
        "section",
        { class: "card" },
        h(
          "div",
          { class: "row spread" },
          h("h2", {}, told.room || t("off-plan")),
          button("×", () => this.close(), "plain", { "aria-label": t("close") }),
        ),
        told.value === null
          ? null
          : h(
              "p",
              {},
              h("span", { class: "value" }, number(told.value)),
              " ",
              t("relative-reading"),
            ),
        told.value === null
          ? null
          : h("p", {}, t("interval", { low: number(told.low), high: number(told.high) })),
        ...told.sentences.map((one) => h("p", {}, one)),
        fold(
          t("nearest"),
          false,
          table(t("nearest"), [t("number"), t("away"), t("value"), t("state")], rows),
        ),
      ),
    );
    if (!again) this.context.panel.scrollTo({ top: 0 });
  }

  private close(): void {
    this.context.view.drop("asked");
    this.rest();
  }
}
