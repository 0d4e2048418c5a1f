// What a tap means while drawing: a corner or wall that is there, the end of the drawing, a right angle.

import type MapBrowserEvent from "ol/MapBrowserEvent";
import Interaction from "ol/interaction/Interaction";

import { aimed, distance, onWall, squareUp, type Place, type Wall } from "./geometry";
import type { PlanView } from "./plan_view";

/** How near the ending corner a tap ends the drawing: half a 44 px target, less a little [px]. */
export const END_PX = 18;

/** Turns what is pointed at to what is meant before the drawing sees it. */
export class Aim extends Interaction {
  constructor(
    private readonly view: PlanView,
    private readonly corners: () => Place[],
    private readonly ends: (corners: Place[]) => Place | undefined,
  ) {
    super();
  }

  override handleEvent(event: MapBrowserEvent): boolean {
    if (!event.coordinate) return true;
    const corners = this.corners();
    if (this.atEnd(event, corners)) return true;
    const place = this.meant([event.coordinate[0]!, event.coordinate[1]!], corners);
    event.coordinate = place;
    event.pixel = event.map.getPixelFromCoordinate(place);
    return true;
  }

  /** A corner or wall that is there already, else the right angle on the wall before. */
  private meant(place: Place, corners: Place[]): Place {
    const reach = END_PX * (this.view.map.getView().getResolution() ?? 0);
    const square = squareUp(corners, place);
    const last = corners.at(-1);
    const lines: Wall[] = last && square !== place ? [[last, square]] : [];
    const there = aimed(place, ...this.view.around(place, reach), lines, reach);
    if (there === place) return square;
    // on the square line alone: the whole of what squaring up does counts, not only the line
    return lines.length && there !== place && this.free(there, reach) ? square : there;
  }

  private free(place: Place, reach: number): boolean {
    const [corners, walls] = this.view.around(place, reach);
    const on = (one: Place): boolean => distance(one, place) < 1e-6;
    return !corners.some(on) && !walls.some((wall) => on(onWall(wall, place)));
  }

  /** A tap on the corner that ends the drawing means that corner, square or not. */
  private atEnd(event: MapBrowserEvent, corners: Place[]): boolean {
    const end = this.ends(corners);
    if (!end) return false;
    const [x, y] = event.map.getPixelFromCoordinate(end) as Place;
    return Math.hypot(event.pixel[0]! - x, event.pixel[1]! - y) <= END_PX;
  }
}
