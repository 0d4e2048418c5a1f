import type Feature from "ol/Feature";
import { Polygon, type Geometry } from "ol/geom";
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

function labelled(one: Labelled): Labelled {
  labels.setLabels("lines", [one]);
  return one;
}

const WHOLE = {
  extent: [0, 0, 100, 100],
  padding: [120, 120, 120, 120] as [number, number, number, number],
  over: [],
  resolution: 1,
};

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
  it("stand on no arrow, and on no rim of an area", () => {
    const point = sign("socket", 0, 0, { radius: 10, rank: 1 });
    const beside = offset(labelled(point))!;
    const [x, y] = [beside.dx, -beside.dy];
    for (const way of ["line", "rim"] as const) {
      labels.clearLabels();
      const arrow = sign("", x, y, {
        radius: 0,
        [way]: [
          [x - 30, y],
          [x + 30, y],
        ],
      });
      labels.setLabels("moves", [arrow]);
      expect(offset(labelled(point))!.dy).not.toBe(beside.dy);
    }
  });

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
    labels.setFrame({ ...WHOLE, padding: [20, 20, 20, 20] });
    labels.setLabels("tests", [one]);
    expect(98 + offset(one)!.dx + 48).toBeLessThanOrEqual(120 + 3);
  });

  it("stand clear of a button over the plan where there is room elsewhere", () => {
    const one = sign("basin waste", 0, 50, {
      radius: 0,
      line: [
        [0, 40],
        [0, 60],
      ],
    });
    labels.setFrame({ ...WHOLE, over: [[20, -200, 200, 200]] });
    labels.setLabels("lines", [one]);
    expect(offset(one)!.dx).toBeLessThan(0);
  });

  it("are fewer where all of them would lie under a button or on other signs", () => {
    const more = { small: true, rank: 4, radius: 16, shorter: "D1" };
    const machine = sign("D1 dehumidifier", 50, 50, more);
    labels.setLabels("machines", [machine]);
    expect(offset(machine)!.told!.text).toBe("D1 dehumidifier");
    labels.setFrame({
      ...WHOLE,
      over: [
        [-100, -200, 48, 100],
        [90, -200, 300, 100],
      ],
    });
    expect(offset(machine)!.told!.text).toBe("D1");
    expect(offset(machine)!.dx).toBeGreaterThan(0);
    labels.setFrame({ ...WHOLE, over: [[-500, -500, 500, 500]] });
    expect(offset(machine)!.told!.text).toBe("D1 dehumidifier");
  });

  it("of a line are left out where they would be cut off wherever they stand", () => {
    const wall = sign("outer wall", 118, 50, { radius: 0, rank: 0 });
    const hole = sign("H1 82.4 % RH in the hall", 118, 80);
    labels.setFrame({ ...WHOLE, padding: [20, 20, 20, 20] });
    labels.setLabels("lines", [wall, hole]);
    expect(offset(wall)).toBeNull();
    expect(offset(hole)).not.toBeNull();
  });
});

describe("the name of a room", () => {
  const block = (west: number, south: number, east: number, north: number): Polygon =>
    new Polygon([
      [
        [west, south],
        [east, south],
        [east, north],
        [west, north],
        [west, south],
      ],
    ]);
  const named = (room: Polygon, more: Partial<Labelled> = {}): Labelled => {
    const [x, y] = room.getInteriorPoint().getCoordinates() as [number, number];
    const one = sign("Room 3.11", x, y, { radius: 0, rank: 3, room, ...more });
    labels.setLabels("rooms", [one]);
    return one;
  };

  it("stands whole in its room, beside what stands in its middle", () => {
    const one = named(block(0, 0, 200, 100));
    labels.setLabels("holes", [sign("", 100, 50, { radius: 30 })]);
    const { dx, dy, leader, told } = offset(one)!;
    expect([dx, dy]).not.toEqual([0, 0]);
    expect(Math.abs(dx) + 36).toBeLessThanOrEqual(100);
    expect(Math.abs(dy) + 8).toBeLessThanOrEqual(50);
    expect(leader).toBeNull();
    expect(told!.text).toBe("Room 3.11");
  });

  it("is shorter where there is no room for all of it, and stands on no wall", () => {
    const narrow = block(0, 0, 40, 60);
    expect(offset(named(narrow, { shorter: "3.11" }))!.told!.text).toBe("3.11");
    expect(offset(named(narrow))).toBeNull();
  });

  it("leaves out a first word that others share, unless two would be alike", async () => {
    const { shortened } = await import("../src/plan_names");
    expect(shortened(["Room 1.01", "Room 1.02", "Hall", "Store north"])).toEqual([
      "1.01",
      "1.02",
      undefined,
      undefined,
    ]);
    expect(shortened(["Flat bath", "Flat hall", "House bath", "House attic"])).toEqual([
      undefined,
      "hall",
      undefined,
      "attic",
    ]);
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
