// What was placed on the floor and moves along with a part of the plan.

import type { components } from "./api_types";
import { distance, round, type Place } from "./geometry";
import type { Plan } from "./plan_types";
import { t } from "./strings";

export type Carried = Required<components["schemas"]["CarriedIn"]>;

/** What lies beyond a line across the floor, and the issued holes anywhere on it. */
export interface Beyond extends Omit<Carried, "by"> {
  marks: number;
  standing: { hole: string; room: string }[];
}

/** What is to be moved so that what moved along one way has moved along the other. */
export function carriedBetween(there: Carried[], now: Carried[]): Carried[] {
  let alike = 0;
  while (alike < there.length && alike < now.length && same(there[alike]!, now[alike]!)) alike += 1;
  const back = there.slice(alike).reverse();
  return [
    ...back.map((one) => ({ ...one, by: [-one.by[0], -one.by[1]] as Place })),
    ...now.slice(alike),
  ];
}

function same(one: Carried, other: Carried): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}

/** What lies beyond a line, moved along by a shift; undefined when nothing does. */
export function carriedBy(beyond: Beyond, by: Place): Carried | undefined {
  const { readings, tests, equipment, holes, loggers, decisions } = beyond;
  const all = [readings, tests, equipment, holes, loggers, decisions];
  if (all.every((one) => one.length === 0)) return undefined;
  return { by, readings, tests, equipment, holes, loggers, decisions };
}

/** How much of what was placed lies beyond a line, in words; "" for nothing. */
export function beyondWords(beyond: Beyond): string {
  const { readings, tests, holes, marks, equipment, loggers, decisions } = beyond;
  const parts = [
    readings.length ? t("beyond-readings", { n: readings.length }) : "",
    tests.length ? t("beyond-tests", { n: tests.length }) : "",
    holes.length ? t("beyond-holes", { holes: holes.join(", ") }) : "",
    marks ? t("beyond-marks", { n: marks }) : "",
    decisions.length && !marks ? t("beyond-wishes", { n: decisions.length }) : "",
    equipment.length ? t("beyond-machines", { n: equipment.length }) : "",
    loggers.length ? t("beyond-loggers", { n: loggers.length }) : "",
  ];
  return parts.filter(Boolean).join(", ");
}

/** Issued holes in rooms that get another shape: their distances from the walls change. */
export function unsettled(before: Plan, after: Plan, standing: Beyond["standing"]): string[] {
  const rooms = new Map(after.rooms.map((room) => [room.name, room.rings]));
  const bent = before.rooms.filter((room) => !alike(room.rings, rooms.get(room.name) ?? []));
  const names = new Set(bent.map((room) => room.name));
  return standing.filter((one) => names.has(one.room)).map((one) => one.hole);
}

/** Whether rings are the same but for a shift. */
function alike(before: Place[][], after: Place[][]): boolean {
  const [one, other] = [before[0]?.[0], after[0]?.[0]];
  if (!one || !other) return before.length === after.length;
  const [dx, dy] = [other[0] - one[0], other[1] - one[1]];
  return before.every((ring, i) =>
    ring.every((place, k) => {
      const now = after[i]?.[k];
      return now && distance(round([place[0] + dx, place[1] + dy]), now) < 0.002;
    }),
  );
}
