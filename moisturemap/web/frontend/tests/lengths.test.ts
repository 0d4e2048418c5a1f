import { describe, expect, it } from "vitest";

import { readLength, readNumber, writeLength } from "../src/lengths";

describe("numbers as typed on site", () => {
  it.each([
    ["4.25", 4.25],
    ["4,25", 4.25],
    [" -3 ", -3],
    ["\u22123,5", -3.5],
    [",5", 0.5],
  ])("reads %s", (text, value) => expect(readNumber(text)).toBe(value));

  it.each(["", "1.2.3", "1 2", "٣", "０4", "1e3", "FS", "--1"])("refuses %j", (text) =>
    expect(readNumber(text)).toBeNaN(),
  );
});

describe("lengths as written on site", () => {
  it.each([
    ["4250 mm", 4.25],
    ["425cm", 4.25],
    ["4,25 m", 4.25],
    ["13' 6\"", 4.1148],
    ["13 ft 6 in", 4.1148],
    ["13’ 6”", 4.1148],
  ])("reads %s", (text, metres) => expect(readLength(text)).toBeCloseTo(metres, 9));

  it("takes a bare number in the unit of the page", () => {
    expect(readLength("10", "ft")).toBeCloseTo(3.048, 9);
  });

  it("refuses what is only half a length", () => expect(readLength("4 m and a bit")).toBeNaN());

  it("never writes twelve inches", () => {
    expect(writeLength(12 * 0.3048 - 0.001, "ft")).toBe("12 ft 0 in");
  });
});
