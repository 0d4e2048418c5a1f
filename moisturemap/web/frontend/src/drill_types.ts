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
  /** What it is cleared by, whatever language its words are in. */
  key: string;
  cleared: { by: string; on: string; document: string } | null;
}

export interface IssuedPlan {
  plan: number;
  issued: string;
  holes: string[];
  /** Holes that shall not be drilled after all, with the reason somebody gave. */
  withdrawn: { hole: string; reason_given: string }[];
}

export interface DrillAnswer {
  map: MapAnswer;
  /** Last entry of the record whose data it is of. */
  record: number;
  holes: Hole[];
  /** Of each issued hole that must not be drilled by now, why not. */
  blocked: string[];
  /** Services not kept clear of, and what else has to be seen before the holes. */
  warnings: string[];
  count_rule: string;
  cautions: Caution[];
  /** Those cleared for the issued holes, where others are proposed beside them. */
  issued_cautions: Caution[];
  open: number;
  statements: string[];
  decisions: HoleDecision[];
  unmet: number[];
  plans: IssuedPlan[];
}

/** Holes whose name and place are settled. */
export const settled = (hole: Hole): boolean => ["issued", "blocked", "done"].includes(hole.status);
