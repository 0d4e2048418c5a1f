// Where words may stand about what they name.

import type { Labelled } from "./labels";

/** Half the width a line takes [px]. */
export const LINE_HALF = 5;

/** Beside a symbol: below, above, right, left, then askew; a name without one may move about. */
export function choices(
  { radius, line, roams }: Labelled,
  half: number,
  tall: number,
): [number, number][] {
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
    const near: [number, number][] = [
      [0, 0],
      [0, -up],
      [0, up],
      [0, -far],
      [0, far],
      [-half, -up],
      [half, up],
    ];
    if (roams) return near; // farther off it would be taken for the name of the next room
    return [
      ...near,
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
