import { describe, expect, it, vi } from "vitest";

vi.stubGlobal("document", { createElement: () => ({ getContext: () => null }) });
vi.stubGlobal("navigator", { language: "en", languages: ["en"] });
const { standWords } = await import("../src/connection");

const WELL = {
  readOnly: false,
  reachable: true,
  waiting: 0,
  refused: 0,
  unsaved: null,
  draft: null,
};

describe("how things stand", () => {
  it("is well only when nothing waits, was refused, is unsaved or begun", () => {
    expect(standWords(WELL)).toBe("All stored");
    for (const worse of [
      { readOnly: true },
      { reachable: false },
      { waiting: 1 },
      { refused: 1 },
      { unsaved: "Plan" },
      { draft: "New test" },
    ])
      expect(standWords({ ...WELL, ...worse })).not.toBe("All stored");
  });

  it("tells what waits beside a lost connection", () => {
    const words = standWords({ ...WELL, reachable: false, waiting: 3 });
    expect(words).toContain("Connection lost");
    expect(words).toContain("3");
  });

  it("tells what the program refused before what merely waits", () => {
    const words = standWords({ ...WELL, waiting: 2, refused: 1, draft: "New test" });
    expect(words).toBe(standWords({ ...WELL, refused: 1 }));
  });
});
