import { beforeEach, expect, test, vi } from "vitest";

import { PlanHistory } from "../src/plan_history";

beforeEach(() => {
  const store = new Map<string, string>();
  vi.stubGlobal("localStorage", {
    getItem: (name: string) => store.get(name) ?? null,
    setItem: (name: string, text: string) => store.set(name, text),
    removeItem: (name: string) => store.delete(name),
  });
});

test("steps are undone and made again after a reload of the same plan", () => {
  const before = new PlanHistory<string>("steps:job");
  before.step("a");
  before.step("b");
  expect(before.undo("c")).toBe("b");
  before.keep("r1");
  const after = new PlanHistory<string>("steps:job");
  after.takeUp("r1");
  expect([after.canUndo, after.canRedo]).toEqual([true, true]);
  expect(after.redo("b")).toBe("c");
  expect(after.undo("c")).toBe("b");
  expect(after.undo("b")).toBe("a");
  expect(after.undo("a")).toBeNull();
});

test("steps of a plan that somebody changed since are dropped", () => {
  const before = new PlanHistory<string>("steps:job");
  before.step("a");
  before.keep("r1");
  const after = new PlanHistory<string>("steps:job");
  after.takeUp("r2");
  expect(after.canUndo).toBe(false);
});

test("only as much is kept as there is room for, the latest first", () => {
  const before = new PlanHistory<string>("steps:job");
  for (let i = 0; i < 9; i += 1) before.step(String(i).repeat(100_000));
  before.keep("r1");
  const after = new PlanHistory<string>("steps:job");
  after.takeUp("r1");
  expect(after.undo("now")![0]).toBe("8");
  let steps = 1;
  for (let last = "8"; after.canUndo; steps += 1) last = after.undo(last)!;
  expect(steps).toBe(3);
});
