import { beforeEach, expect, it, vi } from "vitest";

import { recorded, shown, tested } from "../src/numbers";
import { unitWord } from "../src/strings";

beforeEach(() => void vi.stubGlobal("navigator", { language: "en-GB" }));

it("a tested value stays on its side of the limit", () => {
  expect(tested(84.96, 85)).toBe("84.96");
  expect(tested(82.74, 85)).toBe("82.7");
  expect(tested(11.996, 12)).toBe("11.996");
  expect(tested(85, 85)).toBe("85");
  expect(tested(null, 85)).toBe("–");
});

it("a limit and a reading stand as they were stated", () => {
  expect(recorded(1.75)).toBe("1.75");
  expect(recorded(84.96)).toBe("84.96");
});

it("humidity has one unit, as the report writes it in the language of the page", () => {
  expect(unitWord("% RH")).toBe("%RH");
  expect(unitWord("CM-%")).toBe("CM-%");
  vi.stubGlobal("navigator", { language: "de-DE", languages: ["de-DE"] });
  expect(unitWord("%RH")).toBe("% r. F.");
});

it("a negative number has a minus sign, a day, a range and an edition do not", () => {
  expect(shown("changed by -6.3 (-8.0 to -2.5)")).toBe(
    "changed by \u22126.3 (\u22128.0 to \u22122.5)",
  );
  expect(shown("-5")).toBe("\u22125");
  for (const kept of ["2026-03-05", "10-20", "text of edition -11", "F2170-19", "H-3/b"])
    expect(shown(kept)).toBe(kept);
});
