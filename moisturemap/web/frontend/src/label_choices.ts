// Where words may stand about what they name.

import type { Polygon } from "ol/geom";

import type { Place } from "./geometry";
import type { Labelled } from "./labels";

/** Half the width a line takes [px]. */
export const LINE_HALF = 5;

/** How far the name of a room may reach over its walls [px]. */
const OVER_WALL_PX = 3;
/** In how many columns and rows of a room its name is tried. */
const TRIED = 12;

/** Beside a symbol: below, above, right, left, then askew; a name without one may move about. */
export function choices(
  { radius, line, room, place }: Labelled,
  half: number,
  tall: number,
  resolution: number,
): [number, number][] {
  if (room) return inRoom(room, place, [half, tall], resolution);
  if (line) {
    const [up, aside] = [tall + LINE_HALF + 2, half + LINE_HALF + 2];
    return [
      [0, -up],
      [0, up],
      [aside, 0],
      [-aside, 0],
      [aside, -up],
      [-aside, up],
      [0, -2 * up],
      [0, 2 * up],
      [2 * aside, 0],
      [-2 * aside, 0],
    ];
  }
  if (!radius) {
    const [up, far] = [2.6 * tall, 5.2 * tall];
    return [
      [0, 0],
      [0, -up],
      [0, up],
      [0, -far],
      [0, far],
      [-half, -up],
      [half, up],
      [-half - up, 0],
      [half + up, 0],
      [-half - up, -far],
      [half + up, -far],
      [-half - up, far],
      [half + up, far],
    ];
  }
  const [down, aside] = [radius + tall + 2, radius + half + 2];
  const far = down + 2 * tall;
  return [
    [0, down],
    [0, -down],
    [aside, 0],
    [-aside, 0],
    [aside * 0.7, -down],
    [-aside * 0.7, -down],
    [aside * 0.7, down],
    [-aside * 0.7, down],
    [aside, -far],
    [-aside, -far],
    [aside, far],
    [-aside, far],
  ];
}

/** Where words stand whole in a room: in its middle, then elsewhere, the nearest first. */
function inRoom(
  room: Polygon,
  [x, y]: Place,
  [half, tall]: Place,
  resolution: number,
): [number, number][] {
  const [west, south, east, north] = room.getExtent() as [number, number, number, number];
  const found: Place[] = [[0, 0]];
  for (let column = 1; column < TRIED; column += 1)
    for (let row = 1; row < TRIED; row += 1) {
      const across = west + (column / TRIED) * (east - west) - x;
      const up = south + (row / TRIED) * (north - south) - y;
      found.push([across / resolution, -up / resolution]);
    }
  const sides = [-1, 0, 1];
  const holds = ([dx, dy]: Place): boolean =>
    sides.every((across) =>
      sides.every((down) =>
        room.intersectsCoordinate([
          x + (dx + across * (half - OVER_WALL_PX)) * resolution,
          y - (dy + down * (tall - OVER_WALL_PX)) * resolution,
        ]),
      ),
    );
  return found.filter(holds).sort((a, b) => Math.hypot(...a) - Math.hypot(...b));
}
