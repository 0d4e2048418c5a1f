// The room or line of the plan that is chosen, and what its form can do.

import type { Beyond, Carried } from "./carried";
import type { Tapes } from "./set_out_changes";
import type { Plan } from "./plan_types";
import type { WallEnd } from "./shared_walls";

export interface Chosen {
  what: "room" | "line";
  index: number;
  /** A corner of it that was tapped: ring and number. */
  corner?: [number, number];
}

export interface FormActions {
  change: (plan: Plan, along?: Carried) => void;
  /** Change the corners of a room: asked about first where issued holes stand in it. */
  reshape: (plan: Plan) => void;
  beyond: (end: WallEnd) => Promise<Beyond | null>;
  tapes: Tapes;
  remove: () => void;
  leave: () => void;
  hole: () => void;
  corner: [number, number] | null;
  removeCorner: () => void;
}
