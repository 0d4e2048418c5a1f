// Where a test is: typed, tapped on the plan, or taken from the hole it is in.

import Feature, { type FeatureLike } from "ol/Feature";
import { Point, type Geometry } from "ol/geom";

import { announce } from "./announce";
import { button, field, h } from "./dom";
import type { Place } from "./geometry";
import { readLength, readNumber, writeLength, type LengthUnit } from "./lengths";
import { spotStyle } from "./sign_style";
import { t } from "./strings";
import type { Context } from "./task";
import type { Values } from "./test_types";

export interface TestPlaceOptions {
  /** Whether a tap on the plan moves the test; the place of a stored one stays unless wanted. */
  moving: boolean;
  move: () => void;
  /** Whether what was tapped gave the place already. */
  took: (features: FeatureLike[]) => boolean;
  changed: () => void;
}

/** A place as the job shows lengths; metres stay as they were given. */
function shownPlace(metres: string, unit: LengthUnit): string {
  const value = readNumber(metres);
  return unit === "m" || Number.isNaN(value) ? metres : writeLength(value, unit);
}

export function testPlace(
  context: Context,
  values: Values,
  { moving, move, took, changed }: TestPlaceOptions,
): HTMLElement {
  const { unit } = context;
  const axis = (name: "x" | "y"): ReturnType<typeof field> => {
    const stored = String(values[name] ?? "");
    const box = field(name, {
      unit: unit === "m" ? "m" : undefined,
      inputmode: unit === "m" ? "decimal" : undefined,
      value: shownPlace(stored, unit),
      onchange: (text) => {
        const metres = readLength(text, unit);
        const bad = text.trim() !== "" && Number.isNaN(metres);
        box.say(bad ? t("bad-length", { value: text }) : "", bad);
        values[name] = Number.isNaN(metres) ? text : String(Math.round(metres * 1e4) / 1e4);
        show();
        changed();
      },
    });
    return box;
  };
  const [x, y] = [axis("x"), axis("y")];
  const show = (): void => {
    const place: Place = [readNumber(String(values.x ?? "")), readNumber(String(values.y ?? ""))];
    if (place.some(Number.isNaN)) return;
    context.view.layer("asked", [new Feature<Geometry>(new Point(place))], spotStyle, 95);
  };
  context.view.onTap((place, features) => {
    if (took(features)) return;
    if (!moving) return announce(t("test-stays"));
    [values.x, values.y] = [place[0].toFixed(3), place[1].toFixed(3)];
    x.input.value = shownPlace(values.x, unit);
    y.input.value = shownPlace(values.y, unit);
    show();
    changed();
  });
  show();
  return h(
    "div",
    {},
    moving ? h("p", { class: "words" }, t("tap-test-place")) : button(t("move-test"), move),
    h("div", { class: "row" }, x.row, y.row),
  );
}
