// A reading as the program sends it, and its value in words.

import type { components } from "./api_types";
import { t, word } from "./strings";

export type ReadingRow = components["schemas"]["ReadingAnswer"];

export function reading(row: { value: number | null; censored: string; raw: string }): string {
  if (row.censored === "above") return t("at-or-above", { value: row.value ?? row.raw });
  if (row.censored === "below") return t("at-or-below", { value: row.value ?? row.raw });
  return row.value === null ? `${row.raw} (${word("reading", "not-numeric")})` : String(row.value);
}
