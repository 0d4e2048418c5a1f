// Dragging one sign of a layer to another place, by mouse or by finger.

import type Feature from "ol/Feature";
import type { Point } from "ol/geom";
import Translate from "ol/interaction/Translate";

import type { Place } from "./geometry";
import type { PlanView } from "./plan_view";

/** How far a sign must be dragged to count as moved and not as tapped [px]. */
const MOVED_PX = 6;

/** Let the signs of a layer be dragged one at a time; `dropped` learns which went where. */
export function dragPoints(
  view: PlanView,
  layerName: string,
  dropped: (sign: Feature, to: Place) => void,
): void {
  const layer = view.layerNamed(layerName);
  if (!layer) return;
  const move = new Translate({ layers: [layer], hitTolerance: 14 });
  let from: Place = [0, 0];
  const placeOf = (sign: Feature): Place => (sign.getGeometry() as Point).getCoordinates() as Place;
  move.on("translatestart", (event) => (from = placeOf(event.features.item(0))));
  move.on("translateend", (event) => {
    const sign = event.features.item(0);
    const to = placeOf(sign);
    const [a, b] = [view.map.getPixelFromCoordinate(from), view.map.getPixelFromCoordinate(to)];
    if (Math.hypot(b[0]! - a[0]!, b[1]! - a[1]!) < MOVED_PX)
      (sign.getGeometry() as Point).setCoordinates(from);
    else dropped(sign, to);
  });
  view.use(move);
}
