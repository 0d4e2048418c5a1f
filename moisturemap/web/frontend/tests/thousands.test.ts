import { expect, it, vi } from "vitest";

import { mayBeThousand } from "../src/lengths";
import { against } from "../src/test_fields";
import type { TestField } from "../src/test_types";
import { againstReading } from "../src/walk_checks";

vi.stubGlobal("navigator", { languages: ["en"] });

const RESULT = { name: "value", kind: "number", unit: "as unit", low: null, high: null };

it("a number that may be a thousand is not taken as a decimal", () => {
  for (const text of ["1.234", "1,234", "-12.500", "123,456"]) {
    expect(againstReading(text, [0, 9999])).toContain(text);
    expect(against(RESULT as TestField, text)).toContain(text);
  }
  expect(againstReading("1.234", [0, 100])).toContain("1234 or 1.2340");
  expect(against(RESULT as TestField, ">1.234")).toContain(">1234");
});

it("what means one thing is taken", () => {
  for (const text of ["1234", "1.2340", "1,23", "0.123", "0,123", "30.5", "1234.567"]) {
    expect(mayBeThousand(text)).toBe(false);
    expect(againstReading(text, [0, 9999])).toBeNull();
  }
});
