// The plan for tasks that only show it; the last one known is shown while the connection is lost.

import { ask, Unreachable } from "./api";
import { keep, kept } from "./keep";
import type { Plan } from "./plan_types";
import type { Context } from "./task";

/** Show the plan of the job and fit it; false when it comes from this device only. */
export async function showPlan(context: Context): Promise<boolean> {
  const name = `shown:${context.project.id}`;
  let reached = true;
  let plan: Plan | null;
  try {
    plan = (await ask<{ plan: Plan }>(context.path("plan"))).plan;
    keep(name, plan);
  } catch (error) {
    if (!(error instanceof Unreachable)) throw error;
    plan = kept<Plan>(name);
    reached = false;
    if (!plan) throw error;
  }
  context.view.show(plan);
  context.view.fit();
  return reached;
}
