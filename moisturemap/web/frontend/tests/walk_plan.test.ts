import { beforeAll, describe, expect, it, vi } from "vitest";

type WalkPlan = typeof import("../src/walk_plan");
let plan: WalkPlan;

beforeAll(async () => {
  vi.stubGlobal("document", { createElement: () => ({ getContext: () => null }) });
  vi.stubGlobal("matchMedia", () => ({ addEventListener: () => undefined }));
  plan = await import("../src/walk_plan");
});

/** A plan of 390 x 240 pixels at a resolution, its middle at the origin. */
function viewAt(resolution: number): {
  view: Parameters<WalkPlan["keepInSight"]>[0];
  now: () => { resolution: number; centre: number[] };
} {
  let centre = [0, 0];
  const seen = {
    getResolution: () => resolution,
    setResolution: (one: number) => (resolution = one),
  };
  const view = {
    map: {
      getView: () => seen,
      getSize: () => [390, 240],
      getPixelFromCoordinate: ([x, y]: number[]) => [
        195 + (x! - centre[0]!) / resolution,
        120 - (y! - centre[1]!) / resolution,
      ],
    },
    centreOn: ([place]: number[][]) => (centre = place!),
  };
  return { view: view as never, now: () => ({ resolution, centre }) };
}

const sweep = [0, 0.1, 0.2, 0.2].map((x) => ({ x, y: 1 })) as Parameters<WalkPlan["comeClose"]>[1];

describe("the place to read", () => {
  it("is told from those around it, also along a sweep and where one is read twice", () => {
    const { view, now } = viewAt(0.05);
    plan.comeClose(view, sweep, 3);
    expect(0.1 / now().resolution).toBeCloseTo(44);
    expect(now().centre).toEqual([0.2, 1]);
  });

  it("leaves a plan alone that is close enough, and one whose places are all read", () => {
    const { view, now } = viewAt(0.001);
    plan.comeClose(view, sweep, 1);
    plan.comeClose(view, sweep, 4);
    expect(now()).toEqual({ resolution: 0.001, centre: [0, 0] });
  });

  it("is followed when it leaves the plan in sight, and only then", () => {
    const { view, now } = viewAt(0.01);
    plan.keepInSight(view, [1, 0.5]);
    expect(now().centre).toEqual([0, 0]);
    plan.keepInSight(view, [1.8, 0]);
    expect(now().centre).toEqual([1.8, 0]);
  });
});
