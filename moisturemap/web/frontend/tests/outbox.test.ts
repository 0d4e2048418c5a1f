import { beforeEach, describe, expect, it, vi } from "vitest";

class Store {
  [name: string]: unknown;
  getItem(name: string): string | null {
    return Object.hasOwn(this, name) ? (this[name] as string) : null;
  }
  setItem(name: string, value: string): void {
    this[name] = value;
  }
  removeItem(name: string): void {
    delete this[name];
  }
}

function answer(status: number, body: unknown): Response {
  return new Response(JSON.stringify(body), { status });
}

async function outbox(): Promise<typeof import("../src/outbox")> {
  vi.resetModules();
  return import("../src/outbox");
}

describe("what is typed and waits to be stored", () => {
  beforeEach(() => {
    vi.stubGlobal("localStorage", new Store());
    vi.stubGlobal("navigator", { language: "en" });
  });

  it("is sent in the order it was typed, each with a key of its own", async () => {
    const keys: string[] = [];
    const order: unknown[] = [];
    vi.stubGlobal("fetch", (_path: string, init: RequestInit) => {
      keys.push((init.headers as Record<string, string>)["Idempotency-Key"]!);
      order.push(JSON.parse(init.body as string));
      return Promise.resolve(answer(201, {}));
    });
    const { post, waiting } = await outbox();
    await Promise.all([post("/a", 1, "one"), post("/a", 2, "two"), post("/a", 3, "three")]);
    expect(order).toEqual([1, 2, 3]);
    expect(new Set(keys).size).toBe(3);
    expect(waiting()).toEqual([]);
  });

  it("stays, with the reason, when it is refused, and holds nothing else up", async () => {
    vi.stubGlobal("fetch", (path: string) =>
      Promise.resolve(
        path === "/bad" ? answer(422, { message: "off the scale" }) : answer(201, {}),
      ),
    );
    const { post, waiting } = await outbox();
    void post("/bad", 1, "A1");
    await post("/good", 2, "A2");
    expect(waiting()).toMatchObject([{ what: "A1", refused: "off the scale" }]);
  });

  it("is kept and sent again when the program was away", async () => {
    let away = true;
    vi.stubGlobal("fetch", () =>
      away ? Promise.reject(new TypeError("away")) : Promise.resolve(answer(201, {})),
    );
    const { flush, post, waiting } = await outbox();
    void post("/a", 1, "A1");
    await vi.waitFor(() => expect(waiting()).toHaveLength(1));
    away = false;
    await vi.waitFor(async () => {
      await flush();
      expect(waiting()).toEqual([]);
    });
  });
});
