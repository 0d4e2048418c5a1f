import Feature from "ol/Feature";
import { LineString, Point, type Geometry } from "ol/geom";
import { Circle, RegularShape, type Style } from "ol/style";
import { expect, it, vi } from "vitest";

import { nameTests } from "../src/map_layers";
import { anomalyStyle, stagnantStyle, thingName, wetLineStyle, zoneName } from "../src/thing_style";

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

it("an area whose readings rise is told from a thing, a contested line and one that does not dry", () => {
  const area = (kind: string): Style[] =>
    stagnantStyle(new Feature({ geometry: LINE, kind, area: "R1" }), 0.01);
  const look = (styles: Style[]): string =>
    JSON.stringify(
      styles.map((one) => [one.getStroke()?.getWidth(), one.getStroke()?.getLineDash()]),
    );
  const looks = [area("rising"), area("stagnant"), drawn(LINE, "thing"), drawn(LINE, "contested")];
  expect(new Set(looks.map(look)).size).toBe(4);
  expect(dashes(area("rising")).some(Boolean)).toBe(false);
});

it("of tests at one place the latest is named, not the highest ever read there", () => {
  vi.stubGlobal("innerWidth", 1000);
  vi.stubGlobal("navigator", { language: "en-GB" });
  const read = (value: number, when: string | null, off = 0): Feature<Geometry> => {
    const told = { hole: "K2", value, unit: "%RH", read: when, off_depth_mm: off, depth_mm: off };
    return new Feature<Geometry>({ geometry: new Point([1, 2]), ...told });
  };
  const [old, late, other] = [
    read(82.9, "2024-08-15T11:00:00+01:00"),
    read(80.3, "2025-11-13T11:00:00+01:00"),
    read(96, "2025-11-13T11:20:00+01:00", 44),
  ];
  nameTests([old, late, other]);
  expect([old, late, other].map((one) => String(one.get("text")))).toEqual([
    "",
    "K2 80.3 %RH +1 depth",
    "",
  ]);
  const undated = read(90, null);
  nameTests([old, late, undated]);
  expect(undated.get("text")).toBe("K2 90 %RH +2 more");
  vi.unstubAllGlobals();
});
