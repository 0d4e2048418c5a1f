// Rooms and lines as the features a map draws, and back.

import Feature from "ol/Feature";
import type { Coordinate } from "ol/coordinate";
import GeoJSON from "ol/format/GeoJSON";
import { LineString, Point, Polygon, type Geometry } from "ol/geom";
import Projection from "ol/proj/Projection";

import type { Place } from "./geometry";
import type { Line, Room } from "./plan_types";

export const FRAME = new Projection({
  code: "plan",
  units: "m",
  extent: [-1e5, -1e5, 1e5, 1e5],
  getPointResolution: (resolution) => resolution,
});

const reader = new GeoJSON({ dataProjection: FRAME, featureProjection: FRAME });

export function readFeatures(collection: Collection): Feature<Geometry>[] {
  return reader.readFeatures(collection);
}

export interface Collection {
  type: "FeatureCollection";
  features: { type: "Feature"; geometry: unknown; properties: Record<string, unknown> }[];
}

function closed(ring: Place[]): Place[] {
  return ring.length ? [...ring, ring[0]!] : ring;
}

export function open(ring: Coordinate[]): Place[] {
  return ring.slice(0, -1).map(([x, y]) => [x!, y!]);
}

export function roomFeature(room: Room, index: number): Feature<Geometry> {
  const feature = new Feature<Geometry>(new Polygon(room.rings.map(closed)));
  feature.setProperties({ what: "room", index, name: room.name });
  return feature;
}

export function lineFeature(line: Line, index: number): Feature<Geometry> {
  const geometry =
    line.shape === "point"
      ? new Point(line.places[0]!)
      : line.shape === "area"
        ? new Polygon([closed(line.places)])
        : new LineString(line.places);
  const feature = new Feature<Geometry>(geometry);
  feature.setProperties({ what: "line", index, kind: line.kind, name: line.name });
  return feature;
}

export function pathsOf(geometry: Geometry | undefined): Place[][] {
  if (geometry instanceof Polygon) return geometry.getCoordinates() as Place[][];
  if (geometry instanceof LineString) return [geometry.getCoordinates() as Place[]];
  return geometry instanceof Point ? [[geometry.getCoordinates() as Place]] : [];
}
