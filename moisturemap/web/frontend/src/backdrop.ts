// The picture a plan is traced over, and where it lies on the floor: pure geometry.
//
// With u to the right and v down in the picture [pixels]:
// x = x0 + a u + b v, y = y0 + b u - a v [m].

import type { components } from "./api_types";
import { distance, type Place } from "./geometry";

/** Corners in the picture as it was taken [pixels], one after the other, and its first two sides [m]. */
export type Rectangle = components["schemas"]["RectangleIn"];

/**
 * The picture as shown [pixels], where it lies, and the rectangle by which it was drawn anew as
 * seen from straight above. `scaled`: somebody has said how large it is.
 */
export type Backdrop = Required<components["schemas"]["BackdropContent"]>;

/** What the program says of a picture it has kept. */
export interface KeptPicture {
  photo: number;
  name: string;
  width: number;
  height: number;
  pages: number;
  sheet_mm_per_pixel: number | null;
}

/** What the program says of a picture seen from straight above. */
export interface FromAbove {
  width: number;
  height: number;
  pixel_m: number;
  first: Place;
  error_m: number;
}

/** No picture, and no side of one, is wider [m]; our choice. */
export const WIDEST_M = 2000;
/** Width a picture is shown at before anybody has said how large it is [m]. */
export const FIRST_WIDTH_M = 20;

export function newBackdrop(kept: KeptPicture): Backdrop {
  const pixel = FIRST_WIDTH_M / kept.width;
  return {
    photo: kept.photo,
    name: kept.name,
    width: kept.width,
    height: kept.height,
    placed: [0, pixel * kept.height, pixel, 0],
    opacity: 0.6,
    scaled: false,
    sheet_mm_per_pixel: kept.sheet_mm_per_pixel,
    rectangle: null,
  };
}

export function toFloor({ placed: [x0, y0, a, b] }: Backdrop, [u, v]: Place): Place {
  return [x0 + a * u + b * v, y0 + b * u - a * v];
}

export function toPicture({ placed: [x0, y0, a, b] }: Backdrop, [x, y]: Place): Place {
  const size = a * a + b * b;
  const [dx, dy] = [x - x0, y - y0];
  return [(a * dx + b * dy) / size, (b * dx - a * dy) / size];
}

/** Size of a pixel on the floor [m]. */
export function pixelSize({ placed: [, , a, b] }: Backdrop): number {
  return Math.hypot(a, b);
}

/** Turn counter-clockwise [degrees], from -180 to 180. */
export function turnOf({ placed: [, , a, b] }: Backdrop): number {
  return (Math.atan2(b, a) * 180) / Math.PI;
}

export function middle(backdrop: Backdrop): Place {
  return toFloor(backdrop, [backdrop.width / 2, backdrop.height / 2]);
}

/** West, south, east and north of the picture on the floor [m]. */
export function extentOf(backdrop: Backdrop): [number, number, number, number] {
  const { width, height } = backdrop;
  const corners: Place[] = [
    [0, 0],
    [width, 0],
    [width, height],
    [0, height],
  ];
  const places = corners.map((corner) => toFloor(backdrop, corner));
  const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

/** Turn by degrees counter-clockwise and make `factor` times larger, about a place that stays. */
export function moved(backdrop: Backdrop, degrees: number, factor: number, about: Place): Backdrop {
  const radians = (degrees * Math.PI) / 180;
  const [cos, sin] = [factor * Math.cos(radians), factor * Math.sin(radians)];
  const [x0, y0, a, b] = backdrop.placed;
  const [dx, dy] = [x0 - about[0], y0 - about[1]];
  const placed: Backdrop["placed"] = [
    about[0] + cos * dx - sin * dy,
    about[1] + sin * dx + cos * dy,
    cos * a - sin * b,
    sin * a + cos * b,
  ];
  return { ...backdrop, placed };
}

export function shifted(backdrop: Backdrop, from: Place, to: Place): Backdrop {
  const [x0, y0, a, b] = backdrop.placed;
  return { ...backdrop, placed: [x0 + to[0] - from[0], y0 + to[1] - from[1], a, b] };
}

/** By how much to turn so that the line through two places is level or upright [degrees]. */
export function towardsSquare(one: Place, other: Place): number {
  const heading = (Math.atan2(other[1] - one[1], other[0] - one[0]) * 180) / Math.PI;
  return Math.round(heading / 90) * 90 - heading;
}

/**
 * Lay the picture seen from straight above where the one before lay: the first corner of the
 * rectangle stays, its first side becomes level or upright, whichever is nearer.
 */
export function laidSquare(
  before: Backdrop,
  rectangle: Rectangle,
  above: FromAbove,
  marks: Place[],
): Backdrop {
  const [first, second] = marks as [Place, Place];
  const heading = (Math.atan2(second[1] - first[1], second[0] - first[0]) * 180) / Math.PI;
  const quarter = Math.round(heading / 90) * 90;
  const flat: Backdrop = {
    ...before,
    width: above.width,
    height: above.height,
    placed: [0, 0, above.pixel_m, 0],
    scaled: true,
    sheet_mm_per_pixel: null,
    rectangle,
  };
  const turned = moved(flat, quarter, 1, [0, 0]);
  return shifted(turned, toFloor(turned, above.first), first);
}

/** How far off a scale may be when each end was marked `tap` metres beside its place, as a share. */
export function scaleError(one: Place, other: Place, tap: number): number {
  return (Math.SQRT2 * tap) / distance(one, other);
}
