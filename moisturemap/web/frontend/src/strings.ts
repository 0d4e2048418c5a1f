// All words of the page, in one place. A language is one more table; what it lacks stays English.

import { de } from "./de";
import { en } from "./en";

export type Key = keyof typeof en;
export type Words = Partial<Record<Key, string>>;

const english: Record<Key, string> = en;
/** Languages by their codes, each by its own name. */
export const LANGUAGES: [code: string, name: string][] = [
  ["en", "English"],
  ["de", "Deutsch"],
];
const tables: Record<string, Words> = { en, de };

/** The first language of this device that there is a table for. */
export function language(): string {
  for (const code of navigator.languages ?? [navigator.language]) {
    if (code.slice(0, 2) in tables) return code.slice(0, 2);
  }
  return "en";
}

/** A number written with a point, as it is written in the language of the page. */
export function decimalMark(number: string): string {
  return language() === "de" ? number.replace(".", ",") : number;
}

function chosen(): Words {
  return tables[language()] ?? en;
}

/** The words for a key, with {name} places filled in. */
export function t(key: Key, values: Record<string, string | number> = {}): string {
  const one = `${key}-one` as Key;
  const table = chosen();
  const words =
    values.n === 1 && one in english ? (table[one] ?? english[one]) : (table[key] ?? english[key]);
  return words.replace(/\{(\w+)\}/g, (whole, name: string) =>
    name in values ? String(values[name]) : whole,
  );
}

/** A unit as the report writes it in the language of the page; itself where that is no word. */
export function unitWord(unit: string): string {
  return ["%RH", "% RH"].includes(unit) ? t("unit-rh") : unit;
}

/** Words for a value the program sends, such as a kind of line; the value itself when unknown. */
export function word(stem: string, value: string): string {
  const key = `${stem}-${value}`;
  return key in en ? t(key as Key) : value;
}
