// Where a test is: typed, tapped on the plan, or taken from the hole it is in.

import Feature, { type FeatureLike } from "ol/Feature";
import { Point, type Geometry } from "ol/geom";

import { announce } from "./announce";
import { button, field, h } from "./dom";
import type { Place } from "./geometry";
import { readNumber } from "./lengths";
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

export function testPlace(
  context: Context,
  values: Values,
  { moving, move, took, changed }: TestPlaceOptions,
): HTMLElement {
  const axis = (name: "x" | "y"): ReturnType<typeof field> =>
    field(name, {
      unit: "m",
      inputmode: "decimal",
      value: String(values[name] ?? ""),
      onchange: (text) => {
        values[name] = text;
        show();
        changed();
      },
    });
  const [x, y] = [axis("x"), axis("y")];
  const show = (): void => {
    const place: Place = [readNumber(String(values.x ?? "")), readNumber(String(values.y ?? ""))];
    if (place.some(Number.isNaN)) return;
    context.view.layer("asked", [new Feature<Geometry>(new Point(place))], spotStyle, 95);
  };
  context.view.onTap((place, features) => {
    if (took(features)) return;
    if (!moving) return announce(t("test-stays"));
    values.x = x.input.value = place[0].toFixed(3);
    values.y = y.input.value = place[1].toFixed(3);
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
