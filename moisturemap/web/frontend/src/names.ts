// Names of what stands on the plan: where each belongs, and drawn where its layout put it.

import type { FeatureLike } from "ol/Feature";
import { LineString, MultiLineString, MultiPolygon, Point, Polygon, type Geometry } from "ol/geom";
import { Style } from "ol/style";

import type { Place } from "./geometry";
import { labelOffset } from "./labels";
import { label, leaderStyles } from "./plan_style";

/** Where the name of a line or an area belongs; null for what has no inside. */
export function namePlace(geometry: Geometry | undefined): Place | null {
  if (geometry instanceof Point) return geometry.getCoordinates() as Place;
  if (geometry instanceof LineString) return geometry.getCoordinateAt(0.5) as Place;
  if (geometry instanceof MultiLineString) {
    const longest = geometry.getLineStrings().sort((a, b) => b.getLength() - a.getLength())[0];
    return longest ? (longest.getCoordinateAt(0.5) as Place) : null;
  }
  const polygons =
    geometry instanceof MultiPolygon
      ? geometry.getPolygons()
      : geometry instanceof Polygon
        ? [geometry]
        : [];
  const largest = polygons.sort((a, b) => b.getArea() - a.getArea())[0];
  return largest ? (largest.getInteriorPoint().getCoordinates().slice(0, 2) as Place) : null;
}

/** A name where its layout puts it, free of all others; nothing where there is no room. */
export function nameAt(
  feature: FeatureLike,
  resolution: number,
  text: string,
  small: boolean,
): Style[] {
  const place = feature.get("name_place") as Place | undefined;
  const offset = labelOffset(feature, resolution, { dx: 0, dy: 0 });
  if (!place || !offset || !text) return [];
  const words = label(text, small, { offsetX: offset.dx, offsetY: offset.dy });
  return [
    ...leaderStyles(place, offset, resolution),
    new Style({ geometry: new Point(place), text: words, zIndex: 6 }),
  ];
}
