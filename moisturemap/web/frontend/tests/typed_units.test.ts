import { expect, it, vi } from "vitest";

import { against } from "../src/test_fields";
import type { TestField } from "../src/test_types";
import { withoutUnit } from "../src/typed_units";

vi.stubGlobal("navigator", { languages: ["en"] });

it.each([
  ["68 %", "%RH", "68"],
  ["> 95 %", "%RH", "> 95"],
  ["68,5 % r. F.", "%RH", "68,5"],
  ["68 %RH", "% r. F.", "68"],
  ["50%", "%", "50"],
  ["19.5 C", "°C", "19.5"],
  ["-2 °c", "°C", "-2"],
  ["67 deg F", "°F", "67"],
  ["2.1 CM-%", "CM-%", "2.1"],
  ["41", "°C", "41"],
])("%s in a field of %s is %s", (typed, unit, number) => {
  expect(withoutUnit(typed, unit)).toBe(number);
});

it.each([
  ["67 F", "°C"],
  ["2.1 %", "CM-%"],
  ["C", "°C"],
  ["wet", "%RH"],
])("%s in a field of %s stays as it is", (typed, unit) => {
  expect(withoutUnit(typed, unit)).toBe(typed);
});

it("a number in another unit is refused by the unit of the field", () => {
  const air = { name: "air_temperature_c", kind: "number", unit: "C", low: null, high: null };
  expect(against(air as TestField, "67 F", "°C")).toContain("not in °C");
  expect(against(air as TestField, "warm", "°C")).toContain("not a number");
  expect(against({ ...air, name: "value" } as TestField, "wet", "%RH")).not.toContain(
    "of this field",
  );
});
