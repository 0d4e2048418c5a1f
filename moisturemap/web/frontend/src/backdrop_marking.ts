// What the tools for a traced picture need of their panel: the picture, and marks set on the plan.

import type { Backdrop } from "./backdrop";
import type { MarkOptions } from "./marks";
import type { PlanDraft } from "./plan_draft";
import type { Plan } from "./plan_types";
import type { Context } from "./task";

export interface Marking {
  context: Context;
  draft: PlanDraft;
  /** Ask for marks on the plan, then for what they are wanted for. */
  mark: (title: string, asks: string[], then: MarkOptions["then"]) => void;
  /** End the marking, with the picture, and the plan, as they are now. */
  finish: (backdrop?: Backdrop, plan?: Plan) => void;
}
