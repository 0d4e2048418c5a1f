// The floor plan as it travels: metres, x right, y up.

import { round, type Place } from "./geometry";

export interface Slab {
  base: string;
  thickness_mm: number | null;
  drying_faces: number;
  heated: boolean;
  placed: string | null;
  pour: string;
  on: string;
  service_temperature_c: number | null;
  service_rh_pct: number | null;
  covered: string | null;
  lifted: string | null;
  first_fault: string | null;
  membrane: string;
  build_up: string;
}

export interface Room {
  name: string;
  /** Outline first, then holes; no ring repeats its first corner. */
  rings: Place[][];
  slab: Slab;
  /** Kept as it came; stated in survey.toml. */
  storey?: { name: string; level: number | null; origin: Place } | null;
}

export type LineShape = "point" | "line" | "area";

export interface Line {
  kind: string;
  name: string;
  shape: LineShape;
  places: Place[];
}

export interface Plan {
  rooms: Room[];
  lines: Line[];
}

export const NEW_SLAB: Slab = {
  base: "concrete",
  thickness_mm: null,
  drying_faces: 1,
  heated: false,
  placed: null,
  pour: "",
  on: "",
  service_temperature_c: null,
  service_rh_pct: null,
  covered: null,
  lifted: null,
  first_fault: null,
  membrane: "",
  build_up: "",
};

export const LINE_KINDS = [
  "exterior-wall",
  "interior-wall",
  "movement-joint",
  "day-joint",
  "known-service",
  "door",
  "keep-clear",
  "power-point",
] as const;

export function shapeOf(kind: string): LineShape {
  if (kind === "power-point") return "point";
  return kind === "keep-clear" ? "area" : "line";
}

/** A plan `factor` times as large, about a place that stays. */
export function scaledPlan(plan: Plan, factor: number, [x0, y0]: Place): Plan {
  const scaled = ([x, y]: Place): Place => round([x0 + (x - x0) * factor, y0 + (y - y0) * factor]);
  return {
    rooms: plan.rooms.map((room) => ({
      ...room,
      rings: room.rings.map((ring) => ring.map(scaled)),
      storey: room.storey && { ...room.storey, origin: scaled(room.storey.origin) },
    })),
    lines: plan.lines.map((line) => ({ ...line, places: line.places.map(scaled) })),
  };
}
