// A walk on the plan: its way and a sign for each of its places.

import Feature from "ol/Feature";
import { MultiLineString, Point, type Geometry } from "ol/geom";

import { distance, type Place } from "./geometry";
import type { PlanView } from "./plan_view";
import type { Stop } from "./walk_state";
import { stopStyle, wayStyle } from "./walk_style";

export function showWalk(
  view: PlanView,
  way: Place[][],
  stops: Stop[],
  signs: { index: number; state: string }[],
): void {
  const line = new Feature<Geometry>(new MultiLineString(way));
  view.layer("way", way.length ? [line] : [], wayStyle, 55);
  const features = signs.map(({ index, state }) => {
    const { x, y, label } = stops[index]!;
    const feature = new Feature<Geometry>(new Point([x, y]));
    feature.setProperties({ stop: index, label, state });
    return feature;
  });
  view.layer("stops", features, stopStyle, 65, stops.length > 400);
}

/** Signs this far apart are told apart, and the right one is tapped in gloves; our choice [px]. */
const APART_PX = 44;
/** A place this near the edge of the plan lies under its buttons or is hardly seen [px]. */
const EDGE_PX = 24;

/** How far out a plan may be for a place to stand apart from the next one of the walk [m a pixel]. */
export function farthest(stops: Pick<Stop, "x" | "y">[], at: number): number {
  const here = stops[at];
  if (!here) return Infinity;
  const far = stops.map((one) => distance([one.x, one.y], [here.x, here.y]));
  return Math.min(...far.filter((one) => one > 0.001)) / APART_PX;
}

/** Come closer to the place to read where a plan shown as a whole runs its places together. */
export function comeClose(view: PlanView, stops: Stop[], at: number): void {
  const stop = stops[at];
  const [seen, needed] = [view.map.getView(), farthest(stops, at)];
  if (!stop || (seen.getResolution() ?? 0) <= needed) return;
  seen.setResolution(needed);
  view.centreOn([[stop.x, stop.y]]);
}

/** Follow the walk: a place to read that lies out of sight comes into the middle. */
export function keepInSight(view: PlanView, place: Place): void {
  const at = view.map.getPixelFromCoordinate(place) as Place | null;
  const size = view.map.getSize();
  if (!at || !size) return;
  const seen = at.every((one, i) => one >= EDGE_PX && one <= size[i]! - EDGE_PX);
  if (!seen) view.centreOn([place]);
}
