// The names of rooms and lines on the plan, and where they may stand.

import Feature, { type FeatureLike } from "ol/Feature";
import { Point, Polygon, type Geometry } from "ol/geom";
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
  };
}

/** Names of services, joints and the like; walls are named only where the plan is drawn. */
export function lineLabels(lines: Feature<Geometry>[]): Labelled[] {
  return lines.flatMap((feature) => {
    const [place, name] = [namePlace(feature.getGeometry()), String(feature.get("name") ?? "")];
    const named = name && !(feature.getGeometry() instanceof Point);
    if (!place || !named || String(feature.get("kind")).endsWith("wall")) return [];
    feature.set("name_place", place, true);
    return [{ feature, place, text: name, radius: 0, small: true, rank: 1 }];
  });
}

export function lineNameStyle(feature: FeatureLike, resolution: number): Style[] {
  return wallsAreNamed() ? [] : nameAt(feature, resolution, String(feature.get("name")), true);
}
