// Places and depths as they are read.

import { expect, test } from "vitest";

import { writeArea, writeDepth, writeLength } from "../src/lengths";
import { placeHead, writePlace } from "../src/place_words";

test("a place is read in the units of the page", () => {
  expect(writePlace([1.5, 0.3048], "m")).toBe("1.50, 0.30");
  expect(writePlace([1.524, 0.3048], "ft")).toBe("5 ft 0 in, 1 ft 0 in");
  expect(placeHead("ft")).toBe("x, y");
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
  expect(writeArea(7.46)).toBe("7.5 m²");
});
