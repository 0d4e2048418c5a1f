import { describe, expect, it } from "vitest";

import type { Place } from "../src/geometry";
import {
  cornerNear,
  freeName,
  withCornerAfter,
  withLine,
  without,
  withoutCorner,
  withRoom,
  wrongRings,
} from "../src/plan_changes";
import { NEW_SLAB, type Plan, type Room } from "../src/plan_types";

const RING: Place[] = [
  [0, 0],
  [4, 0],
  [4, 3],
  [0, 3],
];

function room(name: string): Room {
  return { name, rings: [RING], slab: NEW_SLAB };
}

const DOOR = { kind: "door", name: "", shape: "line" as const, places: RING.slice(0, 2) };
const PLAN: Plan = { rooms: [room("Hall"), room("Store")], lines: [DOOR] };

describe("changes of a plan", () => {
  it("leave the plan before them as it was", () => {
    const before = JSON.stringify(PLAN);
    const changed = [
      withRoom(PLAN, 1, room("Shop")),
      withLine(PLAN, 0, { ...DOOR, name: "back door" }),
      without(PLAN, "room", 0),
      without(PLAN, "line", 0),
    ];
    expect(changed.map((plan) => plan.rooms.map((one) => one.name).join())).toEqual([
      "Hall,Shop",
      "Hall,Store",
      "Store",
      "Hall,Store",
    ]);
    expect(changed.map((plan) => plan.lines.map((one) => one.name).join())).toEqual([
      "",
      "back door",
      "",
      "",
    ]);
    expect(changed[3]!.lines).toHaveLength(0);
    expect(JSON.stringify(PLAN)).toBe(before);
  });

  it("take away the corner of the ring that was meant, in no other ring", () => {
    const hole: Place[] = RING.map(([x, y]) => [1 + x / 4, 1 + y / 4]);
    const [outline, inner] = withoutCorner([RING, hole], [1, 2]);
    expect(outline).toEqual(RING);
    expect(inner).toEqual([hole[0], hole[1], hole[3]]);
  });

  it("find the corner that was tapped, within reach only", () => {
    const hole: Place[] = RING.map(([x, y]) => [1 + x / 4, 1 + y / 4]);
    expect(cornerNear([RING, hole], [1.95, 1.05], 0.1)).toEqual([1, 1]);
    expect(cornerNear([RING, hole], [3.95, 3], 0.1)).toEqual([0, 2]);
    expect(cornerNear([RING, hole], [3, 1.5], 0.1)).toBeNull();
  });

  it("put a corner into the middle of a wall, the last one too", () => {
    expect(withCornerAfter(RING, 0)[1]).toEqual([2, 0]);
    expect(withCornerAfter(RING, 3)[4]).toEqual([0, 1.5]);
  });
});

describe("rings of a room", () => {
  it("are refused when walls cross, when there are two corners, or nothing lies inside", () => {
    const bow: Place[] = [RING[0]!, RING[2]!, RING[1]!, RING[3]!];
    expect(wrongRings([RING])).toBeNull();
    expect(wrongRings([RING, bow])).toEqual([1, 3]);
    expect(wrongRings([RING.slice(0, 2)])).toBe("small");
    expect(wrongRings([RING.map(([x, y]): Place => [x / 100, y / 100])])).toBe("small");
  });
});

describe("a new room", () => {
  it("takes no name that is there", () => {
    const named = (number: number): string => `Room ${number}`;
    expect(freeName([], named)).toBe("Room 1");
    expect(freeName([room("Room 2"), room("Room 3")], named)).toBe("Room 4");
    expect(freeName([room("Room 3"), room("Shop")], named)).toBe("Room 4");
  });
});
