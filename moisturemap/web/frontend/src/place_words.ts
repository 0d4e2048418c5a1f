// Places of the plan as they are read, in metres or in feet and inches.

import type { Place } from "./geometry";
import { writeLength, type LengthUnit } from "./lengths";
import { t } from "./strings";

/** Write a place of the plan for reading; a column of them is headed by `placeHead`. */
export function writePlace([x, y]: Place, unit: LengthUnit): string {
  if (unit === "m") return `${x.toFixed(2)}, ${y.toFixed(2)}`;
  return `${writeLength(x, unit)}, ${writeLength(y, unit)}`;
}

export function placeHead(unit: LengthUnit): string {
  return unit === "m" ? t("place-m") : "x, y";
}
