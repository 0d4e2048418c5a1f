import { describe, expect, it } from "vitest";

import { arrowOf } from "../src/length_pad";

const PLAIN = { altKey: false, ctrlKey: false };

describe("arrow keys while a length is typed", () => {
  it("up and down build a wall from anywhere in the text", () => {
    expect(arrowOf({ ...PLAIN, key: "ArrowUp" }, false)).toEqual([0, 1]);
    expect(arrowOf({ ...PLAIN, key: "ArrowDown" }, false)).toEqual([0, -1]);
  });

  it("left and right move in the text until its end, unless Alt or Ctrl is held", () => {
    expect(arrowOf({ ...PLAIN, key: "ArrowRight" }, false)).toBeNull();
    expect(arrowOf({ ...PLAIN, key: "ArrowRight" }, true)).toEqual([1, 0]);
    expect(arrowOf({ altKey: true, ctrlKey: false, key: "ArrowLeft" }, false)).toEqual([-1, 0]);
  });

  it("leave every other key to the field", () => {
    for (const key of ["4", "Enter", "Tab", "Backspace"])
      expect(arrowOf({ ...PLAIN, key }, true)).toBeNull();
  });
});
