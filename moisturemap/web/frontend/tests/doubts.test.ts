import { beforeAll, expect, test, vi } from "vitest";

import {
  aboutAhead,
  aboutDegrees,
  aboutMillimetres,
  aboutResult,
  aboutShare,
  aboutWall,
} from "../src/doubts";
import { readLength } from "../src/lengths";
import { localTime } from "../src/test_fields";
import { DEPTH, THICKNESS } from "../src/usual";

beforeAll(() => {
  vi.stubGlobal("navigator", { languages: ["en"] });
});

const typed = (asked: { meanings: { typed: string | null }[] } | null): unknown =>
  asked && asked.meanings.map((one) => one.typed);

test("degrees of the other scale are offered", () => {
  expect(typed(aboutDegrees(64, "m"))).toEqual(["17.8", null]);
  expect(typed(aboutDegrees(18, "ft"))).toEqual(["64.4", null]);
  expect(aboutDegrees(18, "m")).toBeNull();
  expect(aboutDegrees(-3, "m")).toBeNull();
  expect(aboutDegrees(64, "ft")).toBeNull();
  expect(typed(aboutDegrees(85, "m"))).toEqual(["29.4", null]);
  expect(aboutDegrees(Number.NaN, "m")).toBeNull();
});

test("a share of 1 is offered as a percentage", () => {
  expect(typed(aboutShare(0.45, "%RH"))).toEqual(["45", null]);
  expect(aboutShare(45, "%RH")).toBeNull();
  expect(typed(aboutResult(0.85, "in-situ-rh", "%RH", ["%RH"]))).toEqual(["85", null]);
  expect(typed(aboutResult(8.5, "in-situ-rh", "%RH", ["%RH"]))).toEqual([null]);
  expect(typed(aboutResult(85, "carbide", "CM-%", ["CM-%"]))).toEqual([null]);
  expect(aboutResult(60, "mver", "g/m2/24 h", ["lb/1000 ft2/24 h", "g/m2/24 h"])).toBeNull();
});

test("millimetres typed as metres, centimetres or inches are offered", () => {
  expect(typed(aboutMillimetres(0.12, "m", THICKNESS))).toEqual(["120", null]);
  expect(typed(aboutMillimetres(4, "m", THICKNESS))).toEqual(["40", "101.6", null]);
  expect(typed(aboutMillimetres(40, "ft", DEPTH))).toEqual(["1.575", "15.75", null]);
  expect(aboutMillimetres(48, "m", DEPTH)).toBeNull();
});

test("a bare wall longer than any usual one may be in centimetres or millimetres", () => {
  const asked = aboutWall("425", 425, "m");
  expect(typed(asked)).toEqual(["425 cm", "425 mm", null]);
  expect(readLength("425 cm")).toBeCloseTo(4.25);
  expect(aboutWall("85", 85, "m")).toBeNull();
  expect(typed(aboutWall("120 m", 120, "m"))).toEqual([null]);
  const inches = aboutWall("400", 121.92, "ft");
  expect(inches?.words).toContain("400 ft");
  expect(inches?.meanings[0]?.words).toContain("33.33 ft");
});

test("a time is asked about when it is still to come", () => {
  const now = Date.UTC(2026, 2, 2, 8);
  const local = (hours: number): string => localTime(new Date(now + hours * 3_600_000));
  expect(typed(aboutAhead(local(7 * 24), now))).toEqual([null]);
  expect(aboutAhead(local(0.5), now)).toBeNull();
  expect(aboutAhead(local(-7 * 24), now)).toBeNull();
  expect(aboutAhead("", now)).toBeNull();
});
