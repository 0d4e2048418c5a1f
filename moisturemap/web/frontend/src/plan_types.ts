// The floor plan as it travels: metres, x right, y up.

import type { components } from "./api_types";
import { round, type Place } from "./geometry";

type Sent = components["schemas"];

/** The build-up of a room. */
export type Slab = Required<Sent["SlabIn"]>;

/** Outline first, then holes; no ring repeats its first corner. The storey is kept as it came. */
export type Room = Omit<Sent["RoomIn"], "slab"> & { slab: Slab };

export type LineShape = Line["shape"];
export type Line = Sent["LineIn"];

export interface Plan {
  rooms: Room[];
  lines: Line[];
}

export const NEW_SLAB: Slab = {
  base: "concrete",
  thickness_mm: null,
  drying_faces: 1,
  heated: null,
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
