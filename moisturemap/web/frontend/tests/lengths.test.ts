import { describe, expect, it } from "vitest";

import { readBound, readLength, readNumber, writeLength } from "../src/lengths";

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

describe("results at the end of a scale", () => {
  it.each([">2", "> 2,0", "≥2", "<2", "2"])("reads %s", (text) => expect(readBound(text)).toBe(2));
  it.each([">", ">>2", "2>", "> FS"])("refuses %j", (text) => expect(readBound(text)).toBeNaN());
});

describe("lengths as written on site", () => {
  it.each([
    ["4250 mm", 4.25],
    ["425cm", 4.25],
    ["4,25 m", 4.25],
    ["13' 6\"", 4.1148],
    ["13 ft 6 in", 4.1148],
    ["13’ 6”", 4.1148],
    ["13 ft 1 1/2 in", 4.0005],
    [`8' 2 1/2"`, 2.5019],
    ["7/8 in", 0.022225],
    ["13-1/2 in", 0.3429],
  ])("reads %s", (text, metres) => expect(readLength(text)).toBeCloseTo(metres, 9));

  it("takes a bare number in the unit of the page", () => {
    expect(readLength("10", "ft")).toBeCloseTo(3.048, 9);
  });

  it.each(["4 m and a bit", "13 ft 1/2", "3 ft 5/2 in"])("refuses %s", (text) =>
    expect(readLength(text)).toBeNaN(),
  );

  it("reads every length it writes", () => {
    for (let metres = 0; metres < 5; metres += 0.0127)
      expect(readLength(writeLength(metres, "ft"))).toBeCloseTo(metres, 1);
  });

  it("never writes twelve inches", () => {
    expect(writeLength(12 * 0.3048 - 0.001, "ft")).toBe("12 ft 0 in");
  });
});
