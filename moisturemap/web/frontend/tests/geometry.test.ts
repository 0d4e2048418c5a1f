import { describe, expect, it } from "vitest";

import { area, crossingWalls, inside, setWallLength, squareUp, type Place } from "../src/geometry";

const SQUARE: Place[] = [
  [0, 0],
  [4, 0],
  [4, 3],
  [0, 3],
];

describe("outlines", () => {
  it("has the area of its corners, in either direction", () => {
    expect(area(SQUARE)).toBe(12);
    expect(area([...SQUARE].reverse())).toBe(12);
  });

  it("names the walls that cross", () => {
    const bow: Place[] = [
      [0, 0],
      [4, 3],
      [4, 0],
      [0, 3],
    ];
    expect(crossingWalls(SQUARE)).toBeNull();
    expect(crossingWalls(bow)).toEqual([1, 3]);
  });

  it("gives one wall the typed length and keeps right angles right", () => {
    const longer = setWallLength(SQUARE, 0, 5);
    expect(longer).toEqual([
      [0, 0],
      [5, 0],
      [5, 3],
      [0, 3],
    ]);
  });

  it("knows what lies inside", () => {
    expect(inside(SQUARE, [1, 1])).toBe(true);
    expect(inside(SQUARE, [5, 1])).toBe(false);
  });

  it("turns a nearly square corner square and leaves a slanted one alone", () => {
    expect(squareUp([[0, 0]], [3, 0.2])).toEqual([3, 0]);
    expect(squareUp([[0, 0]], [3, 2])).toEqual([3, 2]);
  });
});
