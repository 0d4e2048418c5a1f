// How the places of a walk and the way between them look.

import type { FeatureLike } from "ol/Feature";
import { Circle, Fill, Stroke, Style } from "ol/style";

import { keptStyle } from "./kept_style";
import { colour, label } from "./plan_style";

export function stopStyle(feature: FeatureLike): Style {
  const state = String(feature.get("state"));
  if (state === "now") {
    const image = new Circle({
      radius: 13,
      fill: new Fill({ color: colour("accent") }),
      stroke: new Stroke({ color: colour("surface"), width: 3 }),
    });
    return new Style({
      image,
      text: label(String(feature.get("label")), false, { offsetY: -26 }),
      zIndex: 9,
    });
  }
  return keptStyle(`stop:${state}`, () => {
    const dot = (radius: number, inner: string, rim: string): Circle =>
      new Circle({
        radius,
        fill: new Fill({ color: colour(inner) }),
        stroke: new Stroke({ color: colour(rim), width: 2 }),
      });
    if (state === "read") return new Style({ image: dot(5, "ink", "surface") });
    // read once, and a second time later: the dot of one that is read in the ring of one to come
    if (state === "again") return new Style({ image: dot(3.5, "ink", "surface") });
    return new Style({ image: dot(5, "surface", "ink") });
  });
}

export function wayStyle(): Style {
  return keptStyle(
    "way",
    () =>
      new Style({ stroke: new Stroke({ color: colour("quiet"), width: 1.5, lineDash: [2, 5] }) }),
  );
}
