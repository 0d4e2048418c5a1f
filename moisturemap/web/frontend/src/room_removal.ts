// A room of a job with readings or tests is taken off the plan only when that is meant.

import { dialog } from "./dialog";
import { h } from "./dom";
import type { Plan } from "./plan_types";
import { t } from "./strings";
import type { Context } from "./task";

export async function mayRemove(
  context: Context,
  chosen: { what: string; index: number },
  plan: Plan,
): Promise<boolean> {
  const { readings, tests } = context.project;
  if (chosen.what !== "room" || readings + tests === 0) return true;
  const room = plan.rooms[chosen.index]?.name ?? "";
  const words = h("p", {}, t("remove-room-how", { readings, tests }));
  const actions: [string, string, string][] = [["ok", t("remove-room"), "danger"]];
  return (await dialog(t("remove-room-named", { room }), [words], actions)) !== null;
}
