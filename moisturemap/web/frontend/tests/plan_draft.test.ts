import { afterEach, beforeEach, expect, it, vi } from "vitest";

import { PlanDraft } from "../src/plan_draft";
import type { Plan } from "../src/plan_types";

vi.mock("../src/announce", () => ({ announce: vi.fn(), hush: vi.fn() }));

interface Put {
  plan: Plan;
  revision: string;
  key: string;
}

const plan = (...names: string[]): Plan => ({
  rooms: names.map((name) => ({ name, rings: [] }) as unknown as Plan["rooms"][number]),
  lines: [],
});
const names = (of: Plan): string[] => of.rooms.map((room) => room.name);

let puts: Put[];
let stored: { plan: Plan; revision: number };
/** Answers of this many changes are lost on their way. */
let lost: number;

function answered(body: unknown, status = 200): Response {
  return new Response(JSON.stringify(body), { status });
}

/** A program that stores what it is sent, each request once, and refuses what is not of its plan. */
function program(path: string, ask: RequestInit): Promise<Response> {
  const now = (): Response =>
    answered({ plan: stored.plan, revision: String(stored.revision), notes: [] });
  if (path.endsWith("/backdrop")) return Promise.resolve(answered({ backdrop: null }));
  if (ask.method !== "PUT") return Promise.resolve(now());
  const { plan, revision } = JSON.parse(ask.body as string) as Put;
  const { "Idempotency-Key": key } = ask.headers as Record<"Idempotency-Key", string>;
  const again = puts.some((one) => one.key === key);
  puts.push({ plan, revision, key });
  if (!again) {
    if (revision !== String(stored.revision))
      return Promise.resolve(answered({ message: "changed somewhere else" }, 409));
    stored = { plan, revision: stored.revision + 1 };
  }
  return lost-- > 0 ? Promise.reject(new TypeError("the line dropped")) : Promise.resolve(now());
}

beforeEach(() => {
  vi.useFakeTimers();
  const store = new Map<string, string>();
  vi.stubGlobal("localStorage", {
    getItem: (name: string) => store.get(name) ?? null,
    setItem: (name: string, text: string) => store.set(name, text),
    removeItem: (name: string) => store.delete(name),
  });
  vi.stubGlobal("navigator", { language: "en" });
  vi.stubGlobal("fetch", program);
  [puts, stored, lost] = [[], { plan: plan("hall"), revision: 1 }, 0];
});

afterEach(() => void vi.useRealTimers());

async function opened(): Promise<PlanDraft> {
  const draft = new PlanDraft("job");
  await draft.load();
  return draft;
}

it("a plan drawn on while an answer was lost is stored, and is nobody else's", async () => {
  const draft = await opened();
  lost = 1;
  draft.change(plan("hall", "store"));
  expect(await draft.save()).toBe(false);
  draft.change(plan("hall", "store", "office"));
  expect(await draft.save()).toBe(true);
  expect(names(draft.plan)).toEqual(["hall", "store", "office"]);
  expect(names(stored.plan)).toEqual(["hall", "store", "office"]);
  expect(stored.revision).toBe(3);
  expect(puts.map((one) => one.revision)).toEqual(["1", "1", "2"]);
  expect(puts[0]!.key).toBe(puts[1]!.key);
});

it("so is one that was drawn on, and the page loaded anew", async () => {
  const before = await opened();
  lost = 1;
  before.change(plan("hall", "store"));
  await before.save();
  before.change(plan("hall", "store", "office"));
  const after = await opened();
  expect(names(after.plan)).toEqual(["hall", "store", "office"]);
  expect(await after.save()).toBe(true);
  expect(names(stored.plan)).toEqual(["hall", "store", "office"]);
});

it("a plan that somebody else changed is taken, and undo brings ours back", async () => {
  const draft = await opened();
  stored = { plan: plan("kitchen"), revision: 7 };
  draft.change(plan("hall", "store"));
  await draft.save();
  expect(names(draft.plan)).toEqual(["kitchen"]);
  draft.undo();
  expect(names(draft.plan)).toEqual(["hall", "store"]);
  expect(await draft.save()).toBe(true);
  expect(names(stored.plan)).toEqual(["hall", "store"]);
});
