// A walk on the plan: its way and a sign for each of its places.

import Feature from "ol/Feature";
import { MultiLineString, Point, type Geometry } from "ol/geom";

import type { Place } from "./geometry";
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
