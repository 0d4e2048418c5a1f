import { describe, expect, it } from "vitest";

import {
  aimed,
  area,
  crossingWalls,
  distance,
  freePlace,
  inside,
  setWallLength,
  squareLines,
  squareUp,
  type Place,
  type Wall,
} from "../src/geometry";

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

  it("lets only the end of a wall drawn short move where that makes the room square", () => {
    const short: Place[] = [
      [0, 0],
      [3.85, 0],
      [3.85, 3.96],
      [0, 4],
    ];
    expect(setWallLength(short, 1, 4)).toEqual([
      [0, 0],
      [3.85, 0],
      [3.85, 4],
      [0, 4],
    ]);
  });

  it("keeps every right angle of an outline with steps and a corner within a wall", () => {
    const stepped: Place[] = [
      [0, 0],
      [2, 0],
      [4, 0],
      [4, 2],
      [2.5, 2],
      [2.5, 4],
      [0, 4],
    ];
    stepped.forEach((_, wall) => {
      const next = setWallLength(stepped, wall, 2.1)!;
      const to = next[(wall + 1) % next.length]!;
      expect(distance(next[wall]!, to)).toBeCloseTo(2.1, 9);
      next.forEach((a, i) => {
        const b = next[(i + 1) % next.length]!;
        expect(Math.abs((b[0] - a[0]) * (b[1] - a[1]))).toBeLessThan(1e-9);
      });
    });
    expect(setWallLength(stepped, 6, 1.3)).toBeNull();
  });

  it("aims at corners, then where lines meet, then walls", () => {
    const wall: Wall = [
      [5, 0],
      [5, 9],
    ];
    const line: Wall = [
      [0, 3],
      [1, 3],
    ];
    expect(aimed([5.1, 3.1], [[5, 3.2]], [wall], [line], 0.3)).toEqual([5, 3.2]);
    expect(aimed([5.1, 3.1], [], [wall], [line], 0.3)).toEqual([5, 3]);
    expect(aimed([5.1, 7], [], [wall], [line], 0.3)).toEqual([5, 7]);
    expect(aimed([2, 3.1], [], [wall], [line], 0.3)).toEqual([2, 3]);
    expect(aimed([2, 7], [], [wall], [line], 0.3)).toEqual([2, 7]);
  });

  it("draws a dragged corner to the right angles of its neighbours", () => {
    const lines = squareLines(SQUARE, 1, 3);
    expect(aimed([4.1, 3.1], [], [], lines, 0.3)).toEqual([4, 3]);
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

describe("a free place", () => {
  const everywhere = (): boolean => true;

  it("is the one wanted, or the nearest that is clear of all others", () => {
    expect(freePlace([2, 2], [], 0.8, everywhere)).toEqual([2, 2]);
    const taken: Place[] = [[2, 2]];
    for (let n = 0; n < 20; n += 1) taken.push(freePlace([2, 2], taken, 0.8, everywhere));
    const gaps = taken.flatMap((one, i) => taken.slice(i + 1).map((other) => distance(one, other)));
    expect(Math.min(...gaps)).toBeGreaterThan(0.8 - 1e-9);
    expect(Math.max(...taken.map((one) => distance(one, [2, 2])))).toBeLessThan(3);
  });

  it("lies on the floor where there is floor", () => {
    const corridor = ([x]: Place): boolean => x > 1.5 && x < 2.5;
    const place = freePlace([2, 2], [[2, 2]], 0.8, corridor);
    expect(corridor(place)).toBe(true);
    expect(freePlace([2, 2], [[2, 2]], 0.8, () => false)).not.toEqual([2, 2]);
  });
});
