// The drill plan as it travels.

import type { HoleDecision, MapAnswer } from "./map_types";

export interface Hole {
  hole: string;
  room: string;
  purpose: string;
  why: string;
  expected: number | null;
  x: number;
  y: number;
  depth_mm: number | null;
  set_out: string;
  status: string;
}

export interface Caution {
  caution: string;
  cleared: { by: string; on: string; document: string } | null;
}

export interface DrillAnswer {
  map: MapAnswer;
  /** Last entry of the record whose data it is of. */
  record: number;
  holes: Hole[];
  /** Of each issued hole that must not be drilled by now, why not. */
  blocked: string[];
  count_rule: string;
  cautions: Caution[];
  open: number;
  statements: string[];
  decisions: HoleDecision[];
  unmet: number[];
  plans: { plan: number; issued: string; holes: string[] }[];
}

/** Holes whose name and place are settled. */
export const settled = (hole: Hole): boolean => ["issued", "blocked", "done"].includes(hole.status);
