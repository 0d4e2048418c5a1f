import { describe, expect, it } from "vitest";

import { area, type Place } from "../src/geometry";
import { NEW_SLAB, type Plan } from "../src/plan_types";
import { typedWall } from "../src/shared_walls";

function room(name: string, [x, y]: Place, [w, h]: Place): Plan["rooms"][number] {
  const ring: Place[] = [
    [x, y],
    [x + w, y],
    [x + w, y + h],
    [x, y + h],
  ];
  return { name, rings: [ring], slab: NEW_SLAB };
}

/** Two rooms side by side, and a corridor above both. */
const FLOOR: Plan = {
  rooms: [
    room("hall", [0, 0], [4, 3]),
    room("bath", [4, 0], [2, 3]),
    room("corridor", [0, 3], [6, 1.5]),
  ],
  lines: [],
};

function areas(plan: Plan): number[] {
  return plan.rooms.map(({ rings }) => Number(area(rings[0]!).toFixed(9)));
}

describe("a typed length of a shared wall", () => {
  it("names the rooms on the other side", () => {
    expect(typedWall(FLOOR, 0, 0, 4.35)!.rooms).toEqual(["bath"]);
    expect(typedWall(FLOOR, 1, 0, 2.2)!.rooms).toEqual([]);
  });

  it("moves the shared wall alone: the neighbour gives way", () => {
    expect(areas(typedWall(FLOOR, 0, 0, 4.35)!.wallMoved)).toEqual([13.05, 4.95, 9]);
  });

  it("moves a wall that a third room shares as one wall", () => {
    const { rooms, wallMoved } = typedWall(FLOOR, 0, 1, 3.4)!;
    expect(rooms.sort()).toEqual(["bath", "corridor"]);
    expect(areas(wallMoved)).toEqual([13.6, 6.8, 6.6]);
  });

  it("pushes what lies beyond, which keeps its size", () => {
    expect(areas(typedWall(FLOOR, 0, 0, 4.35)!.restPushed)).toEqual([13.05, 6, 9.525]);
  });
});
