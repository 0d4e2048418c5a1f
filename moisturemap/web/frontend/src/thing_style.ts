// How zones, the wet line and what disturbs readings look on the plan. A thing, what is contested and
// wet floor are told apart by shape and sign, not by colour alone.

import type { FeatureLike } from "ol/Feature";
import { LineString, Point } from "ol/geom";
import { Circle, Fill, RegularShape, Stroke, Style } from "ol/style";

import { keptStyle } from "./kept_style";
import { nameAt } from "./names";
import { colour, label } from "./plan_style";

/** The line where the map meets the wet level: thick, with a light rim to show on dark. */
export function wetLineStyle(): Style[] {
  return [
    keptStyle("wet-rim", () => new Style({ stroke: new Stroke({ color: "#ffffff", width: 7 }) })),
    keptStyle("wet-line", () => new Style({ stroke: new Stroke({ color: "#1c2329", width: 4 }) })),
  ];
}

/** A wet zone can be tapped anywhere inside without being painted; its name says if it is contested. */
export function zoneStyle(feature: FeatureLike, resolution: number): Style[] {
  const area = keptStyle(
    "zone-area",
    () => new Style({ fill: new Fill({ color: "rgb(0 0 0 / 0.4%)" }) }),
  );
  return [area, ...nameAt(feature, resolution, zoneName(feature), false)];
}

export function zoneName(feature: FeatureLike): string {
  return `${feature.get("zone") ?? ""}${feature.get("standing") === "contested" ? "?" : ""}`;
}

export function thingName(feature: FeatureLike): string {
  return `${feature.get("anomaly") ?? ""}${feature.get("standing") === "contested" ? "?" : ""}`;
}

/**
 * A thing is a filled square with a cross, or an unbroken line; what is contested is an open dotted
 * ring with a question mark, or a dotted line.
 */
export function anomalyStyle(feature: FeatureLike, resolution: number): Style[] {
  const open = feature.get("standing") === "contested";
  const names = nameAt(feature, resolution, thingName(feature), true);
  if (feature.getGeometry() instanceof Point)
    return [...(open ? contestedSpot() : thingSpot()), ...names];
  const red = colour("warning");
  const rim = new Style({ stroke: new Stroke({ color: colour("surface"), width: 8 }) });
  const dash = open ? { lineDash: [1, 9], lineCap: "round" as const } : {};
  const line = new Style({ stroke: new Stroke({ color: red, width: open ? 5 : 4, ...dash }) });
  return [rim, line, ...names];
}

function thingSpot(): Style[] {
  const cross = new RegularShape({
    points: 4,
    radius: 8,
    radius2: 0,
    angle: Math.PI / 4,
    stroke: new Stroke({ color: colour("surface"), width: 2 }),
  });
  const square = new RegularShape({
    points: 4,
    radius: 12,
    angle: Math.PI / 4,
    fill: new Fill({ color: colour("warning") }),
    stroke: new Stroke({ color: colour("surface"), width: 2 }),
  });
  return [new Style({ image: square }), new Style({ image: cross })];
}

function contestedSpot(): Style[] {
  const image = new Circle({
    radius: 11,
    fill: new Fill({ color: colour("surface") }),
    stroke: new Stroke({ color: colour("warning"), width: 3, lineDash: [3, 4] }),
  });
  return [new Style({ image, text: label("?") })];
}

/** A confirming sweep: a line with a bar at each end, where the tape is laid. */
export function sweepStyle(feature: FeatureLike, resolution: number): Style[] {
  const geometry = feature.getGeometry();
  if (!(geometry instanceof LineString)) return [];
  const ink = colour("ink");
  const ends = [geometry.getFirstCoordinate(), geometry.getLastCoordinate()];
  const turn = Math.atan2(ends[1]![1]! - ends[0]![1]!, ends[1]![0]! - ends[0]![0]!);
  const bar = new RegularShape({
    points: 2,
    radius: 8,
    rotation: -turn,
    stroke: new Stroke({ color: ink, width: 3 }),
  });
  return [
    new Style({ stroke: new Stroke({ color: colour("surface"), width: 6 }) }),
    new Style({ stroke: new Stroke({ color: ink, width: 2.5 }) }),
    ...ends.map((end) => new Style({ geometry: new Point(end), image: bar })),
    ...nameAt(feature, resolution, String(feature.get("sweep") ?? ""), true),
  ];
}

/** An area whose readings rise, or that does not dry: a double outline, unbroken or dashed, and its name. */
export function stagnantStyle(feature: FeatureLike, resolution: number): Style[] {
  const [ink, rim] = [colour("warning"), colour("surface")];
  const dash =
    feature.get("kind") === "rising" ? {} : { lineDash: [14, 9], lineCap: "butt" as const };
  return [
    new Style({ stroke: new Stroke({ color: rim, width: 10 }) }),
    new Style({ stroke: new Stroke({ color: ink, width: 7, ...dash }) }),
    new Style({ stroke: new Stroke({ color: rim, width: 2 }) }),
    ...nameAt(feature, resolution, String(feature.get("area") ?? ""), false),
  ];
}
