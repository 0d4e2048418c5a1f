import { describe, expect, it } from "vitest";

import { planKey } from "../src/plan_keys";

const PLAIN = { ctrlKey: false, metaKey: false, shiftKey: false };

describe("keys of the plan editor", () => {
  it("undo and redo with Ctrl or Cmd only", () => {
    expect(planKey({ ...PLAIN, key: "z", ctrlKey: true })).toBe("undo");
    expect(planKey({ ...PLAIN, key: "z", metaKey: true })).toBe("undo");
    expect(planKey({ ...PLAIN, key: "Z", ctrlKey: true, shiftKey: true })).toBe("redo");
    expect(planKey({ ...PLAIN, key: "y", ctrlKey: true })).toBe("redo");
    expect(planKey({ ...PLAIN, key: "z" })).toBeNull();
    expect(planKey({ ...PLAIN, key: "y" })).toBeNull();
  });

  it("leave and take away", () => {
    expect(planKey({ ...PLAIN, key: "Escape" })).toBe("escape");
    expect(planKey({ ...PLAIN, key: "Delete" })).toBe("delete");
    expect(planKey({ ...PLAIN, key: "Backspace" })).toBeNull();
  });
});
