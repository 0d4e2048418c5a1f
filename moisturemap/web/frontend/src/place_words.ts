// Places of the plan as they are read, in metres or in feet and inches.

import type { Place } from "./geometry";
import { writeLength, type LengthUnit } from "./lengths";
import { decimalMark, language, t } from "./strings";

/** Write a place of the plan for reading; a column of them is headed by `placeHead`. */
export function writePlace([x, y]: Place, unit: LengthUnit): string {
  if (unit !== "m") return [x, y].map((one) => tied(writeLength(one, unit))).join(", ");
  const both = [x, y].map((one) => decimalMark(one.toFixed(2)));
  return both.join(language() === "de" ? ";\u00a0" : ",\u00a0");
}

/** A length stays on one line. */
function tied(length: string): string {
  return length.replaceAll(" ", "\u00a0");
}

export function placeHead(unit: LengthUnit): string {
  return unit === "m" ? t("place-m") : "x, y";
}
