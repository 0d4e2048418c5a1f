import type Feature from "ol/Feature";
import type { Geometry } from "ol/geom";
import { beforeAll, beforeEach, describe, expect, it, vi } from "vitest";

import type { Labelled, Offset } from "../src/labels";

type Labels = typeof import("../src/labels");
let labels: Labels;

beforeAll(async () => {
  vi.stubGlobal("document", { createElement: () => ({ getContext: () => null }) });
  vi.stubGlobal("getComputedStyle", () => ({ fontSize: "16px" }));
  labels = await import("../src/labels");
});

beforeEach(() => labels.clearLabels());

function sign(name: string, x: number, y: number, more: Partial<Labelled> = {}): Labelled {
  const feature = { name } as unknown as Feature<Geometry>;
  return { feature, place: [x, y], text: name, radius: 13, small: false, rank: 5, ...more };
}

/** How far the words of a sign stand from it, one pixel a metre. */
function offset(of: Labelled): Offset | null {
  return labels.labelOffset(of.feature, 1, { dx: 0, dy: 0 });
}

/** Signs without words all around a place, but for a ring about it [px]. */
function crowd(inner: number, outer: number): Labelled[] {
  const all: Labelled[] = [];
  for (let x = -outer; x <= outer; x += 12)
    for (let y = -outer; y <= outer; y += 12) {
      const far = Math.max(Math.abs(x), Math.abs(y));
      if (far > inner && far <= outer) all.push(sign("", x, y, { radius: 6 }));
    }
  return all;
}

describe("words beside a sign", () => {
  it("stand next to it without a line where there is room", () => {
    const one = sign("H1", 0, 0);
    labels.setLabels("holes", [one]);
    expect(offset(one)!.leader).toBeNull();
  });

  it("take a line from its rim to their edge where they stand off it", () => {
    const one = sign("H1", 0, 0);
    labels.setLabels("holes", [
      one,
      ...[-24, 24].flatMap((y) => [
        sign("", 0, y, { radius: 4 }),
        sign("", 22, y * 0.9, { radius: 3 }),
        sign("", -22, y * 0.9, { radius: 3 }),
      ]),
      sign("", 26, 0, { radius: 6 }),
      sign("", -26, 0, { radius: 6 }),
    ]);
    const { dx, dy, leader } = offset(one)!;
    expect(leader).not.toBeNull();
    const [from, to] = leader!;
    expect(Math.hypot(...from)).toBeCloseTo(13);
    expect(Math.hypot(...to)).toBeLessThan(Math.hypot(dx, dy));
    expect(Math.hypot(...to)).toBeGreaterThan(13 + 12);
  });

  it("are left out where neither they nor their line have room", () => {
    const one = sign("H1", 0, 0);
    labels.setLabels("holes", [one, ...crowd(13, 90)]);
    expect(offset(one)).toBeNull();
  });

  it("are whole in a plan shown as a whole, whatever dots they cover", () => {
    const one = sign("H1 82.4 % RH", 98, 50);
    labels.setFrame({ extent: [0, 0, 100, 100], padding: [20, 20, 20, 20] });
    labels.setLabels("tests", [one]);
    expect(98 + offset(one)!.dx + 48).toBeLessThanOrEqual(120 + 3);
  });
});

describe("a second plan", () => {
  it("has its names where they find room among its own signs", () => {
    const [here, there] = [sign("bath", 0, 0, { radius: 0 }), sign("bath", 0, 0, { radius: 0 })];
    labels.setLabels("rooms", [here]);
    labels.setLabels("areas", [sign("", 0, 0)]);
    const second = labels.layout();
    labels.setLabels("rooms", [there], second);
    expect(offset(here)).not.toMatchObject({ dx: 0, dy: 0 });
    expect(offset(there)).toMatchObject({ dx: 0, dy: 0 });
    labels.setLabels("lines", [sign("bath waste", 0, 0, { rank: 9, radius: 0 })], second);
    expect(offset(there)?.dy).not.toBe(0);
  });
});
