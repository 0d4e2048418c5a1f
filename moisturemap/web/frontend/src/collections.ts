// Rows with a place, as features the plan can show.

import type { Collection } from "./plan_features";

export function pointCollection<T extends { x: number; y: number }>(rows: T[]): Collection {
  return {
    type: "FeatureCollection",
    features: rows.map((row) => ({
      type: "Feature",
      geometry: { type: "Point", coordinates: [row.x, row.y] },
      properties: row,
    })),
  };
}
