// The names of rooms and lines on the plan, and where they may stand.

import Feature, { type FeatureLike } from "ol/Feature";
import { LineString, Point, Polygon, type Geometry } from "ol/geom";
import type Style from "ol/style/Style";

import type { Place } from "./geometry";
import type { Labelled } from "./labels";
import { nameAt, namePlace } from "./names";
import { wallsAreNamed } from "./plan_style";

export function roomLabel(feature: Feature<Geometry>): Labelled {
  const [x, y] = (feature.getGeometry() as Polygon).getInteriorPoint().getCoordinates() as Place;
  return {
    feature,
    place: [x, y],
    text: String(feature.get("name") ?? ""),
    radius: 0,
    small: false,
    rank: 3,
    roams: true,
  };
}

/** Half the width of the sign of a point, its rim included [px]. */
const POINT_PX = 10;

/** Names of services, joints, points and the like; walls are named last, where the plan is drawn. */
export function lineLabels(lines: Feature<Geometry>[]): Labelled[] {
  return lines.flatMap((feature) => {
    const geometry = feature.getGeometry();
    const [place, text] = [namePlace(geometry), String(feature.get("name") ?? "")];
    const point = geometry instanceof Point;
    const wall = String(feature.get("kind")).endsWith("wall");
    if (!place || !(text || point) || (wall && !wallsAreNamed())) return [];
    feature.set("name_place", place, true);
    const line =
      geometry instanceof LineString ? (geometry.getCoordinates() as Place[]) : undefined;
    const radius = point ? POINT_PX : 0;
    return [{ feature, place, text, radius, small: true, rank: wall ? 0 : 1, line }];
  });
}

export function lineNameStyle(feature: FeatureLike, resolution: number): Style[] {
  const unnamed = !wallsAreNamed() && String(feature.get("kind")).endsWith("wall");
  return unnamed ? [] : nameAt(feature, resolution, String(feature.get("name") ?? ""), true);
}
