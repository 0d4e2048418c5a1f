import { describe, expect, it } from "vitest";

import {
  laidSquare,
  middle,
  moved,
  newBackdrop,
  pixelSize,
  shifted,
  toFloor,
  toPicture,
  towardsSquare,
  turnOf,
  type Backdrop,
} from "../src/backdrop";
import { distance, type Place } from "../src/geometry";

const KEPT = { photo: 1, name: "p", width: 800, height: 600, pages: 1, sheet_mm_per_pixel: null };

function near([x, y]: Place, [u, v]: Place): void {
  expect(x).toBeCloseTo(u, 9);
  expect(y).toBeCloseTo(v, 9);
}

describe("the picture under the plan", () => {
  const first = newBackdrop(KEPT);

  it("lies upright, its lower left corner at the origin", () => {
    near(toFloor(first, [0, 600]), [0, 0]);
    near(toFloor(first, [800, 0]), [20, 15]);
  });

  it("goes from floor to picture and back, turned and scaled", () => {
    const turned = moved(moved(first, 33, 0.4, [3, 2]), -120, 1.7, [-1, 5]);
    near(toPicture(turned, toFloor(turned, [123, 456])), [123, 456]);
    expect(turnOf(turned)).toBeCloseTo(-87, 9);
    expect(pixelSize(turned)).toBeCloseTo(0.025 * 0.4 * 1.7, 12);
  });

  it("makes two marks as far apart as typed, about the first", () => {
    const [one, other]: [Place, Place] = [
      [2, 3],
      [5, 7],
    ];
    const pixels = [toPicture(first, one), toPicture(first, other)] as [Place, Place];
    const scaled = moved(first, 0, 6.4 / distance(one, other), one);
    near(toFloor(scaled, pixels[0]), one);
    expect(distance(toFloor(scaled, pixels[0]), toFloor(scaled, pixels[1]))).toBeCloseTo(6.4, 9);
  });

  it("turns a wall level or upright, whichever is nearer", () => {
    expect(towardsSquare([0, 0], [10, 1])).toBeCloseTo(-5.7106, 3);
    expect(towardsSquare([0, 0], [1, 10])).toBeCloseTo(5.7106, 3);
    const level = moved(first, towardsSquare([1, 1], [9, 2]), 1, [1, 1]);
    const [u, v] = [toPicture(first, [1, 1]), toPicture(first, [9, 2])];
    expect(toFloor(level, v)[1] - toFloor(level, u)[1]).toBeCloseTo(0, 9);
  });

  it("comes back after four quarter turns about its middle", () => {
    let turned: Backdrop = first;
    for (let i = 0; i < 4; i++) turned = moved(turned, 90, 1, middle(turned));
    near(toFloor(turned, [10, 20]), toFloor(first, [10, 20]));
  });

  it("is shifted as one place to another", () => {
    near(toFloor(shifted(first, [1, 1], [4, -2]), [0, 600]), [3, -3]);
  });

  it("lays a picture seen from above with the first side as it ran", () => {
    const above = {
      width: 500,
      height: 400,
      pixel_m: 0.01,
      first: [50, 350] as Place,
      error_m: 0.1,
    };
    const rectangle = { corners: [] as Place[], sides: [4, 3] as [number, number] };
    const marks: Place[] = [
      [7, 2],
      [7.3, 6],
    ];
    const laid = laidSquare(first, rectangle, above, marks);
    near(toFloor(laid, [50, 350]), [7, 2]);
    near(toFloor(laid, [450, 350]), [7, 6]);
    expect(laid.scaled).toBe(true);
  });
});
