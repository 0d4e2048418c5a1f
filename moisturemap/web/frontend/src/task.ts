// What every task of the page gets, and what it must do.

import type { components } from "./api_types";
import type { LengthUnit } from "./lengths";
import type { PlanView } from "./plan_view";

type Sent = components["schemas"];

export type AmbientInfo = Sent["AmbientAnswer"];
export type VisitInfo = Sent["VisitAnswer"];
export type CheckInfo = Sent["CheckAnswer"];
export type InstrumentInfo = Sent["InstrumentAnswer"];
export type ProjectInfo = Sent["JobAnswer"];

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

/** The scale of a meter, where it is stated. */
export function scaleOf({ project }: Context, instrument: string): [number, number] | null {
  return project.instruments.find((one) => one.id === instrument)?.scale ?? null;
}
