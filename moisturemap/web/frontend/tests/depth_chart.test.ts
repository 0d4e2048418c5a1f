import { expect, test } from "vitest";

import { unread } from "../src/depth_chart";

const course = { name: "H1", depth_mm: 40, rh: [], low: [], high: [] };

test("no line is drawn over days nobody recorded", () => {
  const day = [0.5, 1.5, 2.5, 6.5, 7.5];
  expect(unread({ ...course, logged: true, day })).toEqual([[2.5, 6.5]]);
  expect(unread({ ...course, logged: false, day })).toEqual([]);
});
