// What is wrong with the fields of a form: each is marked, and the first is named.

import type { field } from "./dom";
import type { Doubt } from "./doubts";
import { readLength, readNumber, type LengthUnit } from "./lengths";
import { t } from "./strings";
import { withoutUnit } from "./typed_units";

export type Field = ReturnType<typeof field>;

/** A number of a form, its own unit behind it or not: null when left out, NaN when it is none. */
export function typedNumber(one: Field): number | null {
  const typed = withoutUnit(one.input.value, one.unit);
  return typed.trim() ? readNumber(typed) : null;
}

/** Words against what is no number of a field, which may be one in another unit. */
export function noNumber(value: string, unit: string): string {
  const other = unit !== "" && /^\s*[<>≤≥=]*\s*[-\u2212]?\d[\d.,]*\s*[^\d\s.,]+/.test(value);
  return t(other ? "other-unit" : "bad-number", { value, unit });
}

/** Words against a number within bounds that may be left out, or null. */
export function againstNumber(one: Field, low = -Infinity, high = Infinity): string | null {
  const value = typedNumber(one);
  if (value === null) return null;
  if (Number.isNaN(value)) return noNumber(one.input.value, one.unit);
  return value < low || value > high ? t("out-of-bounds", { low, high }) : null;
}

/** Words against what is no length, or null. */
export function againstLength({ input }: Field, unit: LengthUnit): string | null {
  return Number.isNaN(readLength(input.value, unit))
    ? t("bad-length", { value: input.value })
    : null;
}

/** Mark each field with the words against it; return those of the first with its name, or null. */
export function firstWrong(...checks: [Field, string | null][]): string | null {
  let first: string | null = null;
  for (const [one, words] of checks) {
    one.say(words ?? "", words !== null);
    const label = one.input.labels?.[0]?.textContent ?? "";
    if (words !== null) first ??= `${label}: ${words}`;
  }
  return first;
}

/** The question about a number of a form that is not as it was, if there is one. */
export function askAbout(
  one: Field,
  about: (value: number) => Pick<Doubt, "words" | "meanings"> | null,
): Doubt[] {
  const value = one.input.value === one.input.defaultValue ? null : typedNumber(one);
  const asked = value === null ? null : about(value);
  if (!asked) return [];
  const label = one.input.labels?.[0]?.textContent ?? "";
  return [{ label, ...asked, take: (typed) => put(one, typed) }];
}

/** Put another value into a field, as if it had been typed. */
export function put({ input }: Field, typed: string): void {
  input.value = typed;
  for (const kind of ["input", "change"]) input.dispatchEvent(new Event(kind, { bubbles: true }));
}
