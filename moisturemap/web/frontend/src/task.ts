// What every task of the page gets, and what it must do.

import type { LengthUnit } from "./lengths";
import type { PlanView } from "./plan_view";

export interface VisitInfo {
  id: string;
  started: string | null;
  operator: string;
  readings: number;
}

export interface InstrumentInfo {
  id: string;
  kind: string;
  scale: [number, number] | null;
}

export interface ProjectInfo {
  id: string;
  name: string;
  file: string;
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
