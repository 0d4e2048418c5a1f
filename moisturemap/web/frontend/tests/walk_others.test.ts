import { describe, expect, it, vi } from "vitest";

import type { ReadingRow } from "../src/reading_row";
import type { Stop, WalkState } from "../src/walk_state";

vi.stubGlobal("document", { createElement: () => ({ getContext: () => null }) });
vi.stubGlobal("navigator", { language: "en", languages: ["en"] });
const { WalkOthers } = await import("../src/walk_others");

const STOP: Stop = { order: 1, label: "A1", purpose: "grid", x: 1, y: 1, room: "hall" };

function walk(typed: Record<number, string> = {}): WalkState {
  return { instrument: "m", stops: [STOP], at: 0, typed, draft: "", way: [] };
}

function row(reading: number, raw: string, more: Partial<ReadingRow> = {}): ReadingRow {
  const rest = { repeat: 0, x: 1, y: 1, value: Number(raw), censored: "", time: null, note: "" };
  return { reading, raw, room: "hall", label: "A1", instrument: "m", ...rest, ...more };
}

describe("what other devices of a walk read", () => {
  it("is theirs when it was not stored here and lies at the place of that name", () => {
    const others = new WalkOthers();
    others.sent([7]);
    expect(others.take([row(7, "30")], walk({ 1: "30" })).some).toBe(false);
    expect(others.take([row(8, "31", { x: 3 })], walk()).some).toBe(false);
    expect(others.take([row(9, "32")], walk()).some).toBe(true);
    expect([...others.values.values()]).toEqual(["32"]);
  });

  it("tells a second value for one place, but not what this device itself typed before", () => {
    const others = new WalkOthers();
    expect(others.take([row(1, "44")], walk({ 1: "30" })).twice).toEqual([]);
    expect(others.take([row(2, "45")], walk({ 1: "30" })).twice).toEqual([
      { label: "hall A1", mine: "30", theirs: "45" },
    ]);
    expect(others.take([row(3, "30")], walk({ 1: "30" })).twice).toEqual([]);
  });
});
