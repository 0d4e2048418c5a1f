// The room or line of the plan that is chosen, and what its form can do.

import type { Plan } from "./plan_types";

export interface Chosen {
  what: "room" | "line";
  index: number;
  /** A corner of it that was tapped: ring and number. */
  corner?: [number, number];
}

export interface FormActions {
  change: (plan: Plan) => void;
  remove: () => void;
  leave: () => void;
  hole: () => void;
  corner: [number, number] | null;
  removeCorner: () => void;
}
