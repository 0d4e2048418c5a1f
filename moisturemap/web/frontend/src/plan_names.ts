// The names of rooms and lines on the plan, and where they may stand.

import Feature, { type FeatureLike } from "ol/Feature";
import { LineString, Point, Polygon, type Geometry } from "ol/geom";
import type Style from "ol/style/Style";

import type { Place } from "./geometry";
import type { Labelled } from "./labels";
import { nameAt, namePlace } from "./names";
import { wallsAreNamed } from "./plan_style";

/** Names of rooms; where there is little room that of "Room 3.11" is "3.11". */
export function roomLabels(rooms: Feature<Geometry>[]): Labelled[] {
  const names = rooms.map((one) => String(one.get("name") ?? ""));
  const shorter = shortened(names);
  return rooms.map((feature, k) => {
    const room = feature.getGeometry() as Polygon;
    const [x, y] = room.getInteriorPoint().getCoordinates() as Place;
    const text = names[k]!;
    return {
      feature,
      place: [x, y],
      text,
      shorter: shorter[k],
      radius: 0,
      small: false,
      rank: 3,
      room,
    };
  });
}

/** Names without a first word they share with others, where that leaves each a name of its own. */
export function shortened(names: string[]): (string | undefined)[] {
  const split = names.map((name) => /^(\S+)\s+(.+)$/.exec(name)?.slice(1) ?? [name, ""]);
  const firsts = split.map(([first]) => first);
  const rest = split.map(([first, more], k) =>
    more && firsts.filter((one) => one === first).length > 1 ? more : names[k]!,
  );
  const alone = (k: number): boolean => rest.filter((one) => one === rest[k]).length === 1;
  return rest.map((one, k) => (one !== names[k] && alone(k) ? one : undefined));
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
