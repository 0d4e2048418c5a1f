// What every task of the page gets, and what it must do.

import type { LengthUnit } from "./lengths";
import type { PlanView } from "./plan_view";

/** The air of a room, and its slab, at a time. */
export interface AmbientInfo {
  when: string;
  air_temperature_c: number | null;
  air_rh_pct: number | null;
  slab_temperature_c: number | null;
  room: string;
  note: string;
}

export interface VisitInfo {
  id: string;
  started: string | null;
  operator: string;
  air_temperature_c: number | null;
  air_rh_pct: number | null;
  slab_temperature_c: number | null;
  service_temperature_c: number | null;
  service_rh_pct: number | null;
  dry_reference: number[];
  acclimation: AmbientInfo[];
  note: string | null;
  readings: number;
}

export interface CheckInfo {
  id: number;
  when: string;
  reference: string;
  read: number;
  expected: number | null;
  temperature_c: number | null;
  uncertainty: number | null;
}

export interface InstrumentInfo {
  id: string;
  kind: string;
  scale: [number, number] | null;
  step: number | null;
  model: string | null;
  serial: string | null;
  certificate: string | null;
  calibrated: string | null;
  uncertainty: number | null;
  footprint_m: number | null;
  checks: CheckInfo[];
}

export interface ProjectInfo {
  id: string;
  name: string;
  file: string;
  /** Units its reports are written in. */
  units: "metric" | "us";
  rooms: string[];
  visits: VisitInfo[];
  instruments: InstrumentInfo[];
  readings: number;
  tests: number;
  machines: number;
  read_only: boolean;
}

export interface Context {
  project: ProjectInfo;
  view: PlanView;
  panel: HTMLElement;
  unit: LengthUnit;
  visit: string | null;
  /** Path of an address of this project. */
  path: (rest: string) => string;
  /** Read the project again and update the page's head. */
  refresh: () => Promise<void>;
  go: (task: string) => void;
  /** Open the present task anew. */
  reopen: () => void;
}

export interface Task {
  /** Tables that say in words what the plan shows. */
  tables?: () => HTMLElement[];
  leave?: () => void | Promise<void>;
}
