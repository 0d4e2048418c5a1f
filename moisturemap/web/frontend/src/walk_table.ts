// A walk as a table, for who cannot see the plan and who looks a number up.

import type { LengthUnit } from "./lengths";
import { placeHead, writePlace } from "./place_words";
import { table } from "./dom";
import { t } from "./strings";
import { keyOf, repeatOf, type WalkState } from "./walk_state";

/** What was read at the places of a walk, here and on other devices. */
export function walkedTable(
  state: WalkState | null,
  elsewhere: Map<string, string>,
  unit: LengthUnit,
): HTMLElement {
  const { stops = [], typed = {} } = state ?? {};
  const rows = stops.flatMap((stop) => {
    const value = typed[stop.order] ?? elsewhere.get(keyOf({ ...stop, repeat: repeatOf(stop) }));
    const place = writePlace([stop.x, stop.y], unit);
    return value === undefined ? [] : [[stop.label, stop.room, place, value]];
  });
  const heads = [t("number"), t("room"), placeHead(unit), t("relative-reading")];
  return table(t("walked-table"), heads, rows);
}
