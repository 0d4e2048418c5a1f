import { describe, expect, it, vi } from "vitest";

import { commaMeant } from "../src/walk_checks";

import {
  isRead,
  keyOf,
  manyNumbers,
  nextOpen,
  placesRead,
  signs,
  withoutStop,
  withStop,
  type Stop,
  type WalkState,
} from "../src/walk_state";

function stop(order: number, label: string, purpose = "grid"): Stop {
  return { order, label, purpose, x: order, y: 0, room: "hall" };
}

const STOPS = [stop(1, "A1"), stop(2, "A2"), stop(3, "A3"), stop(4, "A1", "repeat")];
const STATE: WalkState = { instrument: "m", stops: STOPS, at: 0, typed: {}, draft: "", way: [] };
const NOBODY = new Map<string, string>();

describe("a walk shared by several devices", () => {
  it("goes on to the next place that nobody has read", () => {
    const elsewhere = new Map([[keyOf({ room: "hall", label: "A2", repeat: 0 }), "31"]]);
    const state = { ...STATE, typed: { 1: "30" } };
    expect(nextOpen(state, elsewhere, 1)).toBe(2);
    expect(nextOpen(state, NOBODY, 1)).toBe(1);
  });

  it("takes the second reading of a place for another one than the first", () => {
    const elsewhere = new Map([[keyOf({ room: "hall", label: "A1", repeat: 0 }), "31"]]);
    expect(isRead(STATE, elsewhere, STOPS[0]!)).toBe(true);
    expect(isRead(STATE, elsewhere, STOPS[3]!)).toBe(false);
  });

  it("shows one sign for a place, read once it has a value", () => {
    const stops = STOPS.map((one) => (one.order === 4 ? { ...one, x: 1 } : one));
    const state = { ...STATE, stops, at: 2, typed: { 1: "30", 2: "31" } };
    expect(signs(state, NOBODY, stops)).toEqual([
      { index: 3, state: "again" },
      { index: 1, state: "read" },
      { index: 2, state: "now" },
    ]);
    const all = { ...state, typed: { ...state.typed, 4: "30" } };
    expect(signs(all, NOBODY, stops)[0]).toEqual({ index: 3, state: "read" });
    expect(signs(null, NOBODY, stops).map((one) => one.state)).toEqual(Array(3).fill("to-read"));
  });

  it("ends when every place is read", () => {
    expect(nextOpen({ ...STATE, typed: { 1: "1", 2: "1", 3: "1", 4: "1" } }, NOBODY, 0)).toBe(4);
  });
});

describe("a place added on the way", () => {
  it("comes next, has a name of its own and can be dropped again", () => {
    const more = withStop(STATE, 2.5, 0.4, "hall");
    expect(more.at).toBe(1);
    expect(more.stops[1]).toMatchObject({ x: 2.5, y: 0.4, room: "hall", purpose: "added" });
    expect(more.stops[1]!.order).toBe(5);
    expect(withoutStop(more, 1).stops).toEqual(STOPS);
    const twice = withStop(more, 3.5, 0.4, "hall");
    expect(twice.stops[2]!.label).not.toBe(more.stops[1]!.label);
  });
});

describe("numbers pasted together", () => {
  it.each([
    ["31\n32,5\nFS", ["31", "32,5", "FS"]],
    ["31\t40", ["31", "40"]],
  ])("reads %j", (text, numbers) => expect(manyNumbers(text)).toEqual(numbers));

  it.each(["31", "31 about", ""])("leaves %j to the field", (text) =>
    expect(manyNumbers(text)).toBeNull(),
  );
});

it("asks about a comma that may part two readings", () => {
  vi.stubGlobal("navigator", { languages: ["en"] });
  expect(commaMeant({ ...STATE, typed: { 1: "31" } }, "32,5")).toBeNull();
  expect(commaMeant({ ...STATE, typed: { 1: "31" } }, "30,31")).not.toBeNull();
  expect(commaMeant({ ...STATE, typed: { 1: "0,31" } }, "0,35")).toBeNull();
});

it("counts a place that is read twice once", () => {
  const again = { ...STOPS[0]!, order: 4, purpose: "repeat" };
  const state = { ...STATE, stops: [STOPS[0]!, STOPS[1]!, again], typed: { 1: "31", 4: "32" } };
  expect(placesRead(state, new Map())).toBe(1);
});
