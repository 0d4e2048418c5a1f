import { beforeEach, describe, expect, it, vi } from "vitest";

import { errorWords, notBefore, RULES, type Floor } from "../src/overview_page";

const BLANK: Floor = {
  state: "done",
  floor: "f1",
  name: null,
  project: "f1",
  survey: "f1.gpkg",
  error: "",
  verdict: null,
  holds_until: null,
  wet_m2: null,
  contested_m2: null,
  tests: null,
  tests_valid: null,
  oldest_valid_test: null,
  calibration_due: null,
  stagnant_m2: null,
  rising_m2: null,
  rose_between_m2: null,
  set_aside_readings: null,
  set_aside_m2: null,
  not_before_days: null,
  started: null,
};
const TODAY = "2026-03-20";

beforeEach(() => void vi.stubGlobal("navigator", { language: "en" }));

describe("words of a floor among others", () => {
  it("name the earliest day by the visit it was reckoned from", () => {
    const late = { ...BLANK, not_before_days: 9.2, started: "2026-03-06T10:00:00Z" };
    expect(notBefore(late)).toContain("2026-03-16");
    expect(notBefore(late)).toContain("2026-03-06");
    expect(notBefore({ ...late, started: null })).toContain("10");
    expect(notBefore({ ...late, not_before_days: null })).toBe("");
  });

  it("say nothing of the inside of the program, and all of what can be mended", () => {
    const inside = "program met something unforeseen (IndexError: exact.py:244)";
    expect(errorWords(inside)).not.toMatch(/IndexError|exact/);
    expect(errorWords("survey.toml: no scale")).toBe("survey.toml: no scale");
  });
});

describe("floors that are shown", () => {
  const found = (floor: Partial<Floor>): string[] =>
    RULES.filter(([, holds]) => holds({ ...BLANK, ...floor }, TODAY)).map(([key]) => key);

  it("are not proven until they meet or exceed", () => {
    expect(found({})).toContain("floors-unproven");
    expect(found({ verdict: "meets" })).not.toContain("floors-unproven");
    expect(found({ verdict: "exceeds" })).toContain("floors-exceeds");
    expect(found({ state: "waiting" })).not.toContain("floors-unproven");
  });

  it("age with their tests and their verdict, and a probe is due in time", () => {
    expect(found({ oldest_valid_test: "2026-02-17" })).toContain("floors-ageing");
    expect(found({ oldest_valid_test: "2026-02-19" })).not.toContain("floors-ageing");
    expect(found({ holds_until: "2026-04-01" })).toContain("floors-ageing");
    expect(found({ calibration_due: "2026-04-03" })).toContain("floors-due");
    expect(found({ calibration_due: "2026-04-05" })).not.toContain("floors-due");
  });

  it("dry late where water rose or stands, and failed where they say why", () => {
    expect(found({ stagnant_m2: 1 })).toContain("floors-late");
    expect(found({ rose_between_m2: 1 })).toContain("floors-rose");
    expect(found({ error: "no plan" })).toContain("floors-failed");
    expect(found({ error: "no plan" })).not.toContain("floors-unproven");
  });
});
