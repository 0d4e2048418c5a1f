import { describe, expect, it } from "vitest";

import { lastRead } from "../src/last_read";
import type { ProjectInfo } from "../src/task";

function visits(...readings: number[]): ProjectInfo["visits"] {
  return readings.map(
    (n, i) => ({ id: `v${i + 1}`, readings: n }) as ProjectInfo["visits"][number],
  );
}

describe("the visit a map shows", () => {
  it("is the last one read before one that is empty", () => {
    expect(lastRead(visits(60, 57, 0), "v3")).toBe("v2");
    expect(lastRead(visits(60, 0, 57), "v2")).toBe("v1");
  });

  it("is the one looked at where it was read, or nothing was", () => {
    expect(lastRead(visits(60, 57), "v1")).toBe("v1");
    expect(lastRead(visits(0, 5), "v1")).toBe("v1");
    expect(lastRead([], null)).toBeNull();
  });
});
