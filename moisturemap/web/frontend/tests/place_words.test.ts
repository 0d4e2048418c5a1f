// Places and depths as they are read.

import { beforeEach, expect, test, vi } from "vitest";

import { readLength, writeArea, writeDepth, writeLength } from "../src/lengths";
import { number, recorded, tested } from "../src/numbers";
import { placeHead, writePlace } from "../src/place_words";

beforeEach(() => void vi.stubGlobal("navigator", { language: "en-GB" }));

test("a place is read in the units of the page", () => {
  expect(writePlace([1.5, 0.3048], "m")).toBe("1.50,\u00a00.30");
  expect(writePlace([1.524, 0.3048], "ft")).toBe(
    "5\u00a0ft\u00a00\u00a0in, 1\u00a0ft\u00a00\u00a0in",
  );
  expect(placeHead("ft")).toBe("x, y");
});

test("numbers of a German page have commas, those of an English one points", () => {
  vi.stubGlobal("navigator", { language: "de-DE" });
  expect(writePlace([1.5, 0.3048], "m")).toBe("1,50;\u00a00,30");
  expect([
    writeLength(8),
    writeArea(7.46),
    number(4.25),
    recorded(30.5),
    tested(11.96, 12),
  ]).toEqual(["8,00 m", "7,5 m²", "4,25", "30,5", "11,96"]);
  expect(readLength(writeLength(8.25))).toBe(8.25);
  vi.stubGlobal("navigator", { language: "en-GB" });
  expect(number(4.25)).toBe("4.25");
});

test("a length left of the origin keeps its feet", () => {
  expect(writeLength(-0.0254, "ft")).toBe("-0 ft 1 in");
});

test("a depth is read to sixteenths of an inch", () => {
  expect([26.01, 25.4, 32, 0.5].map((mm) => writeDepth(mm, "ft"))).toEqual([
    "1\u00a0in",
    "1\u00a0in",
    "1 1/4\u00a0in",
    "0\u00a0in",
  ]);
  expect(writeDepth(26.01, "m")).toBe("26\u00a0mm");
});

test("an area in a table is that of the sentence beside it", () => {
  // 7.46 m2 is "7.5 m2" in words, which is 81 ft2; 7.46 m2 would be 80
  expect(writeArea(7.46, "ft")).toBe("81 ft²");
  expect(writeArea(0.4, "ft")).toBe("4.3 ft²");
  // "7.35" and 7.35 are 7.3 to every program that rounds the number the computer holds
  expect(writeArea(7.35, "ft")).toBe("79 ft²");
  expect(writeArea(0.95, "ft")).toBe("10 ft²");
  expect(writeArea(7.46)).toBe("7.5 m²");
});

test("an area of the map has the tenth that its sentence has", () => {
  expect([10.63, 11.36].map((one) => writeArea(one))).toEqual(["10.6 m²", "11.4 m²"]);
  expect(writeArea(104.3)).toBe("104 m²");
});
