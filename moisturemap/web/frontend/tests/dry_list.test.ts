import { expect, test } from "vitest";

import { listsOf, numbersOf } from "../src/dry_list";

test("blanks, semicolons and commas with a blank part readings", () => {
  for (const text of ["30 31 29", "30, 31, 29", "30; 31;29", " 30\t31\n29 ", "30,31,29"])
    expect(listsOf(text)).toEqual([["30", "31", "29"]]);
  expect(numbersOf("30,5; 31,2")).toEqual([30.5, 31.2]);
  expect(numbersOf("30,5 31,2 29,9")).toEqual([30.5, 31.2, 29.9]);
  expect(numbersOf("30.5,31.2")).toEqual([30.5, 31.2]);
  expect(listsOf("")).toEqual([[]]);
});

test("a comma that may be a decimal mark or part two readings is left open", () => {
  expect(listsOf("30,31")).toEqual([["30.31"], ["30", "31"]]);
  expect(listsOf("30,31 29")).toEqual([
    ["30.31", "29"],
    ["30", "31", "29"],
  ]);
  expect(listsOf("30,5,31,2")).toEqual([
    ["30.5", "31.2"],
    ["30", "5", "31", "2"],
  ]);
});

test("what is no number stays to be refused by name", () => {
  expect(listsOf("30, wet")[0]).toContain("wet");
  expect(listsOf("30,wet")[0]).toContain("30,wet");
});
