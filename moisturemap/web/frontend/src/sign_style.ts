// How holes, tests, machines, moves and a place asked for look on the plan.

import type { FeatureLike } from "ol/Feature";
import { LineString, Point } from "ol/geom";
import { Circle, Fill, RegularShape, Stroke, Style, type Text } from "ol/style";

import { labelOffset } from "./labels";
import { colour, label, leaderStyles } from "./plan_style";
import { word } from "./strings";

/** The text of a feature where its layout puts it. */
function placedLabel(
  feature: FeatureLike,
  resolution: number,
  text: string,
  small: boolean,
  below: number,
): Text | undefined {
  const offset = labelOffset(feature, resolution, { dx: 0, dy: below });
  if (!text || !offset) return undefined;
  const words = offset.told?.text ?? text;
  return label(words, small, { offsetX: offset.dx, offsetY: offset.dy });
}

/** The line from the sign of a feature to its text, where they stand apart. */
function placedLeader(feature: FeatureLike, resolution: number): Style[] {
  const geometry = feature.getGeometry();
  const offset = labelOffset(feature, resolution, { dx: 0, dy: 0 });
  return geometry instanceof Point && offset
    ? leaderStyles(geometry.getCoordinates(), offset, resolution)
    : [];
}

/** Lines across a hole that must not be drilled. */
function crossedOut(): Style {
  const stroke = new Stroke({ color: colour("bad"), width: 5 });
  return new Style({
    image: new RegularShape({ points: 4, radius: 20, radius2: 0, angle: Math.PI / 4, stroke }),
  });
}

/** A hole: a ring and its number; issued and drilled ones have a filled middle. */
export function holeStyle(feature: FeatureLike, resolution: number): Style[] {
  const ink = colour("drill");
  const status = String(feature.get("status"));
  const rim = new Stroke({ color: colour("surface"), width: 7 });
  const ring = new Stroke({ color: ink, width: 3.5 });
  const open = status === "proposed" || status === "pinned";
  const middle = open ? "rgb(255 255 255 / 70%)" : ink;
  return [
    ...placedLeader(feature, resolution),
    new Style({ image: new Circle({ radius: 11, stroke: rim }) }),
    new Style({
      image: new Circle({ radius: 11, stroke: ring, fill: new Fill({ color: middle }) }),
      text: placedLabel(feature, resolution, String(feature.get("hole") ?? ""), false, 24),
    }),
    ...(status === "blocked" ? [crossedOut()] : []),
  ];
}

/** A calibrated test: a triangle, with what `nameTests` wrote; small and unnamed where holes are chosen. */
export function testStyle(feature: FeatureLike, resolution: number): Style[] {
  const muted = Boolean(feature.get("muted"));
  const ink = colour(muted ? "quiet" : "ink");
  const image = new RegularShape({
    points: 3,
    radius: muted ? 7 : 11,
    fill: new Fill({ color: colour("surface") }),
    stroke: new Stroke({ color: ink, width: muted ? 2 : 3 }),
  });
  return [
    ...placedLeader(feature, resolution),
    new Style({
      image,
      text: placedLabel(feature, resolution, String(feature.get("text") ?? ""), true, 20),
    }),
  ];
}

export function machineStyle(feature: FeatureLike, resolution: number): Style[] {
  const mover = feature.get("kind") === "air-mover";
  const turn = (Number(feature.get("direction_deg") ?? 0) * Math.PI) / 180;
  const stroke = new Stroke({ color: colour("ink"), width: 3 });
  const fill = new Fill({ color: colour("surface") });
  const image = mover
    ? new RegularShape({ points: 3, radius: 15, fill, stroke, rotation: Math.PI / 2 - turn })
    : new RegularShape({ points: 6, radius: 15, fill, stroke });
  const name = `${feature.get("machine") ?? ""} ${word("machine", String(feature.get("kind")))}`;
  return [
    ...placedLeader(feature, resolution),
    new Style({ image, text: placedLabel(feature, resolution, name, true, 26) }),
  ];
}

/** A proposed move: an arrow from here to there. */
export function moveStyle(feature: FeatureLike): Style[] {
  const geometry = feature.getGeometry();
  if (!(geometry instanceof LineString)) return [];
  const places = geometry.getCoordinates();
  const [from, to] = [places.at(-2)!, places.at(-1)!];
  const turn = Math.atan2(to[1]! - from[1]!, to[0]! - from[0]!);
  const ink = colour("accent");
  const head = new RegularShape({
    points: 3,
    radius: 10,
    rotation: Math.PI / 2 - turn,
    fill: new Fill({ color: ink }),
  });
  return [
    new Style({ stroke: new Stroke({ color: colour("surface"), width: 6 }) }),
    new Style({ stroke: new Stroke({ color: ink, width: 3, lineDash: [10, 6] }) }),
    new Style({ geometry: new Point(to), image: head }),
  ];
}

export function spotStyle(): Style {
  return new Style({
    image: new RegularShape({
      points: 4,
      radius: 14,
      radius2: 2,
      stroke: new Stroke({ color: colour("accent"), width: 3 }),
      fill: new Fill({ color: colour("accent") }),
    }),
  });
}
