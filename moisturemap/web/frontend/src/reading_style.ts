// How a reading looks on the plan: what matters is told by its shape, too.

import type { FeatureLike } from "ol/Feature";
import { Circle, Fill, RegularShape, Stroke, Style } from "ol/style";

import { keptStyle } from "./kept_style";
import { colour } from "./plan_style";

const CONTESTED = "contested";
const SET_ASIDE = [
  "off-plan",
  "duplicate",
  "repeat-differs",
  "doubted",
  "out-of-scale",
  "not-numeric",
  "other-instrument",
];

let spacing = 1;

/** Tell how close readings stand [m], so that their dots leave the map to be seen. */
export function setSpacing(extent: number[], count: number): void {
  const [west, south, east, north] = extent as [number, number, number, number];
  spacing = Math.sqrt(Math.max((east - west) * (north - south), 0.01) / Math.max(count, 1));
}

/**
 * A reading: a dot; at or beyond the scale an arrowhead; set aside a cross; disturbed a square; over
 * what is contested a ring.
 */
export function readingStyle(feature: FeatureLike, resolution: number): Style {
  const flag = String(feature.get("flag") ?? "clear");
  const censored = String(feature.get("censored") ?? "");
  const shape = SET_ASIDE.includes(flag)
    ? "aside"
    : ["line", "spot", "mesh", "stray"].includes(flag)
      ? "disturbed"
      : censored || (flag === "full-scale" ? "above" : flag === CONTESTED ? CONTESTED : "");
  // Half a pixel is the finest step, so that few styles serve many readings.
  const size = Math.round(Math.min(3, Math.max(1, (0.13 * spacing) / resolution)) * 2) / 2;
  return keptStyle(`reading:${shape}:${size}`, () => {
    const fill = new Fill({ color: colour("surface") });
    const rim = size >= 2 ? 1.5 : 1;
    const stroke = new Stroke({ color: colour("ink"), width: rim });
    const large = 2 * size;
    if (shape === "aside")
      return new Style({
        image: new RegularShape({
          points: 4,
          radius: large,
          radius2: 0,
          angle: Math.PI / 4,
          stroke: new Stroke({ color: colour("quiet"), width: rim + 0.5 }),
        }),
      });
    if (shape === "disturbed")
      return new Style({
        image: new RegularShape({
          points: 4,
          radius: large,
          angle: Math.PI / 4,
          fill,
          stroke: new Stroke({ color: colour("warning"), width: rim + 0.5 }),
        }),
      });
    if (shape === CONTESTED)
      return new Style({
        image: new Circle({
          radius: large - 0.5,
          fill,
          stroke: new Stroke({ color: colour("ink"), width: rim + 0.5 }),
        }),
      });
    if (shape === "above")
      return new Style({
        image: new RegularShape({
          points: 3,
          radius: large,
          fill: new Fill({ color: colour("ink") }),
          stroke: new Stroke({ color: colour("surface"), width: rim }),
        }),
      });
    if (shape === "below")
      return new Style({
        image: new RegularShape({ points: 3, radius: large, angle: Math.PI, fill, stroke }),
      });
    const halo = size >= 2 ? new Stroke({ color: colour("surface"), width: 1.25 }) : undefined;
    return new Style({
      image: new Circle({ radius: size, fill: new Fill({ color: colour("ink") }), stroke: halo }),
    });
  });
}
