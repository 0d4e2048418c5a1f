import Feature from "ol/Feature";
import { LineString, Point } from "ol/geom";
import { Circle, RegularShape, type Style } from "ol/style";
import { expect, it, vi } from "vitest";

import { anomalyStyle, thingName, wetLineStyle, zoneName } from "../src/thing_style";

vi.hoisted(() => {
  const root = { getPropertyValue: () => "#000000", fontSize: "16px" };
  Object.assign(globalThis, {
    matchMedia: () => ({ matches: false, addEventListener: () => undefined }),
    getComputedStyle: () => root,
    document: { documentElement: {}, createElement: () => ({ getContext: () => null }) },
  });
});

const SPOT = new Point([1, 2]);
const LINE = new LineString([
  [0, 0],
  [3, 0],
]);

function drawn(geometry: Point | LineString, standing: string): Style[] {
  return anomalyStyle(new Feature({ geometry, standing, anomaly: "X1" }), 0.01);
}

const dashes = (styles: Style[]): unknown[] =>
  styles.map((one) => one.getStroke()?.getLineDash() ?? null);

it("a thing and what is contested differ in shape, in one colour", () => {
  const [thing, open] = [drawn(SPOT, "thing"), drawn(SPOT, "contested")];
  expect(thing.some((one) => one.getImage() instanceof RegularShape)).toBe(true);
  expect(thing.some((one) => one.getImage() instanceof Circle)).toBe(false);
  expect(open.some((one) => one.getImage() instanceof Circle)).toBe(true);
  expect(open.some((one) => one.getText()?.getText() === "?")).toBe(true);
  expect(dashes(drawn(LINE, "thing")).some(Boolean)).toBe(false);
  expect(dashes(drawn(LINE, "contested")).some(Boolean)).toBe(true);
});

it("a wet line is unbroken; a name says what is contested", () => {
  expect(dashes(wetLineStyle()).some(Boolean)).toBe(false);
  const named = (standing: string): Feature => new Feature({ standing, anomaly: "X1", zone: "A" });
  expect([thingName(named("contested")), thingName(named("thing"))]).toEqual(["X1?", "X1"]);
  expect([zoneName(named("contested")), zoneName(named("wet"))]).toEqual(["A?", "A"]);
});
