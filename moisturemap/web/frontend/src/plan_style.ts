// How the plan looks. Colours come from the style sheet, so that day and night are set in one place.

import type { FeatureLike } from "ol/Feature";
import { LineString, MultiPoint, Point, Polygon } from "ol/geom";
import { labelOffset, type Offset } from "./labels";
import { fontOf } from "./letters";
import { Circle, Fill, RegularShape, Stroke, Style, Text } from "ol/style";

/** A colour of the style sheet, by the name of its custom property. */
export function colour(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim() || "#000";
}

export function label(text: string, small = false, more: Record<string, unknown> = {}): Text {
  return new Text({
    text,
    font: fontOf(small),
    fill: new Fill({ color: colour("ink") }),
    stroke: new Stroke({ color: colour("surface"), width: 4 }),
    overflow: true,
    ...more,
  });
}

let tracing = false;

/** While a photograph is traced, rooms let it shine through. */
export function setTracing(now: boolean): void {
  tracing = now;
}

export function roomStyle(): Style {
  return new Style({
    fill: new Fill({ color: tracing ? colour("veil") : colour("floor") }),
  });
}

/** Walls stand above the colours of the map, also where two rooms share one. */
export function outlineStyle(): Style[] {
  return [
    new Style({ stroke: new Stroke({ color: colour("surface"), width: 4.5 }) }),
    new Style({ stroke: new Stroke({ color: colour("ink"), width: 2.5, lineJoin: "miter" }) }),
  ];
}

let wallsNamed = false;

/** Names of walls are of use where the plan is drawn; elsewhere they stand in the way. */
export function nameWalls(now: boolean): void {
  wallsNamed = now;
}

export function wallsAreNamed(): boolean {
  return wallsNamed;
}

/** The line from a sign to words that stand off it; from a dot where there is no sign. */
export function leaderStyles(place: number[], { leader }: Offset, resolution: number): Style[] {
  if (!leader) return [];
  const [from, to] = leader.map(([dx, dy]) => [
    place[0]! + dx * resolution,
    place[1]! - dy * resolution,
  ]);
  const geometry = new LineString([from!, to!]);
  const [ink, rim] = [colour("ink"), colour("surface")];
  const dot = new Circle({
    radius: 3,
    fill: new Fill({ color: ink }),
    stroke: new Stroke({ color: rim, width: 1.5 }),
  });
  const unsigned = leader[0][0] === 0 && leader[0][1] === 0;
  return [
    new Style({ geometry, stroke: new Stroke({ color: rim, width: 4 }), zIndex: 5 }),
    new Style({ geometry, stroke: new Stroke({ color: ink, width: 1.5 }), zIndex: 5 }),
    ...(unsigned ? [new Style({ geometry: new Point(place), image: dot, zIndex: 5 })] : []),
  ];
}

/** The name of a room, above all that is drawn in it. */
export function nameStyle(feature: FeatureLike, resolution: number): Style[] {
  const geometry = feature.getGeometry();
  const offset = labelOffset(feature, resolution, { dx: 0, dy: 0 });
  if (!(geometry instanceof Polygon) || !offset) return [];
  const place = geometry.getInteriorPoint();
  const told = offset.told ?? { text: String(feature.get("name") ?? ""), small: false };
  const text = label(told.text, told.small, {
    offsetX: offset.dx,
    offsetY: offset.dy,
  });
  return [
    ...leaderStyles(place.getCoordinates(), offset, resolution),
    new Style({ geometry: place, text }),
  ];
}

const LOOK: Record<string, { colour: string; width: number; dash?: number[] }> = {
  "exterior-wall": { colour: "ink", width: 6 },
  "interior-wall": { colour: "ink", width: 3.5 },
  "movement-joint": { colour: "joint", width: 2.5, dash: [10, 5] },
  "day-joint": { colour: "joint", width: 2.5, dash: [3, 5] },
  "known-service": { colour: "service", width: 3, dash: [14, 4, 3, 4] },
  door: { colour: "ink", width: 12 },
  "keep-clear": { colour: "quiet", width: 2, dash: [4, 4] },
  "power-point": { colour: "quiet", width: 2 },
};

export function lineStyle(feature: FeatureLike): Style[] {
  const look = LOOK[String(feature.get("kind"))] ?? { colour: "quiet", width: 2 };
  const stroke = new Stroke({
    color: colour(look.colour),
    width: look.width,
    lineDash: look.dash,
    lineCap: "butt",
  });
  const geometry = feature.getGeometry();
  if (geometry instanceof Point) {
    const shape = new RegularShape({
      points: 4,
      radius: 9,
      angle: Math.PI / 4,
      fill: new Fill({ color: colour("surface") }),
      stroke,
    });
    return [new Style({ image: shape })];
  }
  if (feature.get("kind") === "door") return [new Style({ stroke }), doorway()];
  const style = new Style({ stroke });
  return feature.get("kind") === "keep-clear"
    ? [new Style({ fill: new Fill({ color: colour("veil") }) }), style]
    : [style];
}

/** A doorway is light between its jambs, so that the wall is seen to be open there. */
function doorway(): Style {
  const stroke = new Stroke({ color: colour("surface"), width: 8, lineCap: "butt" });
  return new Style({ stroke, zIndex: 1 });
}

/** The number of each wall of a room beside its middle, as the list of walls names them. */
function wallNumbers(ring: number[][], resolution: number): Style[] {
  return ring.slice(1).map((to, i) => {
    const [from, end] = [ring[i]!, to];
    const [dx, dy] = [end[0]! - from[0]!, end[1]! - from[1]!];
    const length = Math.hypot(dx, dy) || 1;
    const inward = signedArea(ring) > 0 ? 1 : -1;
    const offset = { offsetX: (-dy / length) * 14 * inward, offsetY: (-dx / length) * 14 * inward };
    return new Style({
      geometry: new Point([(from[0]! + end[0]!) / 2, (from[1]! + end[1]!) / 2]),
      text: length / resolution < 24 ? undefined : label(String(i + 1), true, offset),
      zIndex: 8,
    });
  });
}

function signedArea(ring: number[][]): number {
  return ring
    .slice(1)
    .reduce((sum, to, i) => sum + ring[i]![0]! * to[1]! - to[0]! * ring[i]![1]!, 0);
}

/** The chosen room or line, with its corners to take hold of. */
export function chosenStyle(feature: FeatureLike, resolution: number): Style[] {
  const geometry = feature.getGeometry();
  const corners =
    geometry instanceof Polygon
      ? geometry.getCoordinates().flat()
      : geometry instanceof LineString
        ? geometry.getCoordinates()
        : [];
  const edge = new Stroke({ color: colour("accent"), width: 4 });
  const tapped = feature.get("corner") as [number, number] | null | undefined;
  const place =
    tapped && geometry instanceof Polygon
      ? geometry.getCoordinates()[tapped[0]]?.[tapped[1]]
      : undefined;
  return [
    new Style({
      stroke: edge,
      fill: new Fill({ color: colour("veil") }),
      image: new Circle({ radius: 11, stroke: edge }),
    }),
    new Style({
      geometry: new MultiPoint(corners),
      image: new Circle({
        radius: 7,
        fill: new Fill({ color: colour("surface") }),
        stroke: new Stroke({ color: colour("accent"), width: 3 }),
      }),
    }),
    ...(place ? [tappedCorner(place)] : []),
    ...(feature.get("what") === "room" && geometry instanceof Polygon
      ? wallNumbers(geometry.getCoordinates()[0]!, resolution)
      : []),
  ];
}

function tappedCorner(place: number[]): Style {
  return new Style({
    geometry: new Point(place),
    image: new Circle({
      radius: 10,
      fill: new Fill({ color: colour("accent") }),
      stroke: new Stroke({ color: colour("surface"), width: 2 }),
    }),
  });
}

export function sketchStyle(feature: FeatureLike, resolution: number): Style[] {
  const styles = chosenStyle(feature, resolution);
  if (feature.getGeometry() instanceof Point) {
    styles.push(
      new Style({ image: new Circle({ radius: 6, fill: new Fill({ color: colour("accent") }) }) }),
    );
  }
  return styles;
}
