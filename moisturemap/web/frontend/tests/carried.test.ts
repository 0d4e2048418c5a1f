import { describe, expect, it } from "vitest";

import { carriedBetween, carriedBy, unsettled, type Beyond, type Carried } from "../src/carried";
import type { Place } from "../src/geometry";
import { NEW_SLAB, type Plan } from "../src/plan_types";
import { typedWall } from "../src/shared_walls";

const NONE = { readings: [], tests: [], equipment: [], holes: [], loggers: [], decisions: [] };
const ONE: Carried = { ...NONE, by: [0.3, 0], readings: [1, 2] };
const TWO: Carried = { ...NONE, by: [0, -0.2], holes: ["H1"] };

function room(name: string, [x, y]: Place, [w, h]: Place): Plan["rooms"][number] {
  const corners: Place[] = [
    [x, y],
    [x + w, y],
    [x + w, y + h],
    [x, y + h],
  ];
  return { name, rings: [corners], slab: NEW_SLAB };
}

describe("what moves along with a part of the plan", () => {
  it("goes forward what is new and back what was undone, last first", () => {
    expect(carriedBetween([], [ONE, TWO])).toEqual([ONE, TWO]);
    expect(carriedBetween([ONE], [ONE, TWO])).toEqual([TWO]);
    expect(carriedBetween([ONE, TWO], [ONE, TWO])).toEqual([]);
    const back = carriedBetween([ONE, TWO], []);
    expect(back.map((one) => one.by.map(Math.abs))).toEqual([
      [0, 0.2],
      [0.3, 0],
    ]);
    expect(back[0]!.by[1]).toBe(0.2);
    expect(back[1]!.by[0]).toBe(-0.3);
  });

  it("is nothing where nothing lies beyond", () => {
    const beyond: Beyond = { ...NONE, marks: 0, standing: [] };
    expect(carriedBy(beyond, [1, 0])).toBeUndefined();
    expect(carriedBy({ ...beyond, tests: [4] }, [1, 0])).toEqual({
      ...NONE,
      tests: [4],
      by: [1, 0],
    });
  });
});

describe("issued holes when a wall gets another length", () => {
  const floor: Plan = {
    rooms: [
      room("hall", [0, 0], [4, 3]),
      room("bath", [4, 0], [2, 3]),
      room("corridor", [0, 3], [6, 1.5]),
    ],
    lines: [],
  };
  const standing = floor.rooms.map(({ name }, i) => ({ hole: `H${i + 1}`, room: name }));

  it("keep their distances in a room that moves as a whole, and are named in one that is bent", () => {
    const typed = typedWall(floor, 0, 0, 4.35)!;
    expect(unsettled(floor, typed.restPushed, standing)).toEqual(["H1", "H3"]);
    expect(unsettled(floor, typed.wallMoved, standing)).toEqual(["H1", "H2"]);
  });
});
