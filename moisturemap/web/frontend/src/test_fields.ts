// The fields of a test: their names, their units on this job, and what cannot be right.

import { noNumber } from "./field_checks";
import {
  bothWays,
  celsius,
  fahrenheit,
  mayBeThousand,
  readBound,
  readMillimetres,
  readNumber,
  writeMillimetres,
  type LengthUnit,
} from "./lengths";
import { t, word, type Key } from "./strings";
import type { Method, TestField, TestRow, Values } from "./test_types";

const NOT_IN_FORM = ["id", "test", "visit", "source", "row", "room", "off_depth_mm", "censored"];

export function fieldName(field: string): string {
  return word("field", field).replaceAll("_", " ");
}

export function fieldLabel(one: TestField): string {
  const known = word("field", one.name);
  if (known !== one.name) return t(`field-${one.name}` as Key);
  return one.name
    .replace(/_(c|pct|mm|g|cm2|bar)$/, "")
    .replaceAll("_", " ")
    .replace(/^./, (c) => c.toUpperCase());
}

/** The unit a number is typed in on this job. */
export function unitShown(
  one: TestField,
  method: Method,
  values: Values,
  system: LengthUnit,
): string {
  if (one.unit === "as unit") return String(values.unit ?? method.units[0] ?? "");
  if (one.unit === "C") return system === "ft" ? "°F" : "°C";
  if (one.unit === "mm") return system === "ft" ? "in" : "mm";
  return one.unit;
}

/** The units of a result to choose from, that of the test itself among them. */
export function unitChoices(method: Method, values: Values): string[] {
  const stated = String(values.unit ?? "");
  const offered = method.units_offered;
  return stated === "" || offered.includes(stated) ? offered : [stated, ...offered];
}

/** A stored number as it is typed on this job. */
export function shownValue(one: TestField, stored: string, system: LengthUnit): string {
  if (system === "m" || stored.trim() === "") return stored;
  const value = readNumber(stored);
  if (Number.isNaN(value)) return stored;
  if (one.unit === "C") return String(Math.round(fahrenheit(value) * 10) / 10);
  if (one.unit === "mm") return writeMillimetres(value, system);
  return stored;
}

/** What was typed as the number to store; the text itself where it is none. */
export function storedValue(one: TestField, typed: string, system: LengthUnit): string {
  if (one.kind !== "number" || typed.trim() === "") return typed;
  const bare = system === "m" && !Number.isNaN(readNumber(typed));
  if (bare || (one.unit !== "mm" && (one.unit !== "C" || system === "m"))) return typed;
  const value = one.unit === "mm" ? readMillimetres(typed, system) : celsius(readNumber(typed));
  return Number.isNaN(value) ? typed : String(Math.round(value * 1000) / 1000);
}

/** Words against a number as it would be stored, or null. */
export function against(one: TestField, stored: string, unit = ""): string | null {
  const result = one.name === "value";
  const value = result ? readBound(stored) : readNumber(stored);
  if (Number.isNaN(value)) {
    const other = noNumber(stored, unit);
    return result && other === noNumber(stored, "") ? t("bad-result", { value: stored }) : other;
  }
  if (result && mayBeThousand(stored)) return t("thousand-or-decimal", bothWays(stored));
  if ((one.low !== null && value < one.low) || (one.high !== null && value > one.high))
    return t("out-of-bounds", { low: one.low ?? "–", high: one.high ?? "–" });
  return null;
}

/** The first field that cannot be right, in words; null when all can. */
export function wrongField(method: Method, values: Values): string | null {
  for (const axis of ["x", "y"]) {
    const typed = String(values[axis] ?? "");
    if (typed.trim() && Number.isNaN(readNumber(typed)))
      return `${axis}: ${t("bad-number", { value: typed })}`;
  }
  for (const one of method.fields) {
    const typed = String(values[one.name] ?? "");
    const bad = one.kind === "number" && typed.trim() ? against(one, typed) : null;
    if (bad) return `${fieldLabel(one)}: ${bad}`;
  }
  return null;
}

/** What the method asks for and the form does not hold yet, in words. */
export function missingFields(method: Method, values: Values): string[] {
  const filled = (name: string): boolean => String(values[name] ?? "").trim() !== "";
  const groups = [["hole"], ...method.required, ["x"], ["y"]];
  return groups
    .filter((group) => !group.some((one) => one.split("+").every(filled)))
    .map((group) =>
      group.map((one) => one.split("+").map(fieldName).join(" + ")).join(` ${t("or")} `),
    );
}

/** The sign of a result that stood at the end of its scale. */
export function boundSign(censored: unknown): string {
  return censored === "above" ? ">" : censored === "below" ? "<" : "";
}

/** A stored test as the form keeps it; times in the clock of this device. */
export function valuesOf(test: TestRow): Values {
  const values: Values = {};
  for (const [key, value] of Object.entries(test)) {
    if (value === null || NOT_IN_FORM.includes(key)) continue;
    if (typeof value === "boolean") values[key] = value;
    else if (typeof value === "string" && /^\d{4}-\d\d-\d\dT/.test(value))
      values[key] = localTime(new Date(value));
    else values[key] = String(value);
  }
  if (test.value !== null) {
    const value = boundSign(test.censored) + String(test.value);
    values.value = mayBeThousand(value) ? bothWays(value).decimal : value;
  }
  return values;
}

/** A time as the clock fields of this device want it. */
export function localTime(time: Date): string {
  return new Date(time.getTime() - time.getTimezoneOffset() * 60_000).toISOString().slice(0, 16);
}

/** The filled fields of a form as the program takes them; times carry their zone. */
export function filledFields(method: Method, values: Values): Values {
  const known = new Map(method.fields.map((one) => [one.name, one]));
  const fields: Values = { method: method.key };
  for (const [key, value] of Object.entries(values)) {
    if (value === "" || (key !== "x" && key !== "y" && !known.has(key))) continue;
    fields[key] = known.get(key)?.kind === "time" ? new Date(String(value)).toISOString() : value;
  }
  return fields;
}
