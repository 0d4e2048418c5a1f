import { expect, it } from "vitest";

import { sweepStops } from "../src/sweep_walk";
import type { Collection } from "../src/plan_features";

function sweeps(...rows: Record<string, unknown>[]): Collection {
  const features = rows.map((properties) => ({ type: "Feature", geometry: null, properties }));
  return { type: "FeatureCollection", features } as unknown as Collection;
}

const LINE = { readings: 5, from_x: 1, from_y: 2, to_x: 1.4, to_y: 2, room: "kiln" };

it("a contested thing is swept from end to end, place after place", () => {
  const stops = sweepStops(sweeps(LINE), [], 10);
  expect(stops.map((one) => one.x)).toEqual([1, 1.1, 1.2, 1.3, 1.4]);
  expect(stops.map((one) => one.order)).toEqual([11, 12, 13, 14, 15]);
  expect(stops[0]).toMatchObject({ label: "W1.1", y: 2, room: "kiln", purpose: "sweep" });
});

it("a second round takes no name of the first", () => {
  const first = sweepStops(sweeps(LINE, LINE), [], 0).map((one) => one.label);
  const second = sweepStops(sweeps(LINE), ["A1", ...first], 99).map((one) => one.label);
  expect(first.at(-1)).toBe("W2.5");
  expect(second).toEqual(["W3.1", "W3.2", "W3.3", "W3.4", "W3.5"]);
});
