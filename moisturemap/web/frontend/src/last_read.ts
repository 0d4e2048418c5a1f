// The visit whose readings a task shows.

import { announce } from "./announce";
import { t } from "./strings";
import type { ProjectInfo } from "./task";

/** Tasks that show what the readings of a visit say. */
const MAPPING = new Set(["map", "drill", "drying", "source"]);

/** The visit a task is about: one that maps takes the last one read while a new one is empty. */
export function visitOf(
  task: string,
  visits: ProjectInfo["visits"],
  visit: string | null,
): string | null {
  return MAPPING.has(task) ? lastRead(visits, visit) : visit;
}

/** Say that another visit is shown than the one that was begun. */
export function tellEmpty(visit: string | null, shown: string | null): void {
  if (visit && shown && visit !== shown) announce(t("visit-empty", { visit, shown }));
}

/** The visit itself, or the last one before it that has readings while it has none. */
export function lastRead(visits: ProjectInfo["visits"], visit: string | null): string | null {
  const at = visits.findIndex((one) => one.id === visit);
  const read = visits.slice(0, at + 1).filter((one) => one.readings > 0);
  return read.at(-1)?.id ?? visit;
}
