// A list of readings in one field: separated by blanks or semicolons; a comma may be a decimal
// mark or stand between two readings, and where both can be meant it is asked.

import { plain, type Doubt } from "./doubts";
import { readNumber } from "./lengths";
import { t } from "./strings";

/** What a text may mean as a list of numbers, the decimal comma first; one entry when it is clear. */
export function listsOf(text: string): string[][] {
  const parts = text
    .split(/[;\s]+/)
    .map((one) => one.replace(/^,+|,+$/g, ""))
    .filter(Boolean);
  const inner = parts.filter((one) => one.includes(","));
  if (!inner.length) return [parts];
  const apart = parts.flatMap((one) => one.split(","));
  const listed = apart.every((one) => !Number.isNaN(readNumber(one)));
  const paired = parts.map(decimals);
  if (paired.some((one) => one === null) || paired.flat().some((one) => bad(one!)))
    return listed ? [apart] : [parts];
  const pairs = paired.flat() as string[];
  const same = parts.length > 1 && parts.every((one) => /^-?\d+,\d$/.test(one));
  return same || text.includes(";") || !listed ? [pairs] : [pairs, apart];
}

function bad(text: string): boolean {
  return Number.isNaN(readNumber(text));
}

/** The numbers of `30,5,31,2` with decimal commas; null when the commas do not pair. */
function decimals(part: string): string[] | null {
  const pieces = part.split(",");
  if (pieces.length === 1) return [part];
  if (pieces.length % 2) return null;
  return pieces.flatMap((one, i) => (i % 2 ? [] : [`${one}.${pieces[i + 1]}`]));
}

function told(list: string[]): string {
  const shown = list.map((one) => plain(readNumber(one))).join(" · ");
  return t("readings-listed", { n: list.length, list: shown });
}

/** How a list is understood, for the words at its field; "" for an empty one. */
export function understood(text: string): string {
  const lists = listsOf(text);
  if (!lists[0]?.length || lists.flat().some(bad)) return "";
  return lists.map(told).join(` ${t("or")} `);
}

/** The numbers of a list that is clear. */
export function numbersOf(text: string): number[] {
  return listsOf(text)[0]!.map(readNumber);
}

/** A question about a list whose commas can mean two things. */
export function doubtful(label: string, text: string, take: (typed: string) => void): Doubt | null {
  const lists = listsOf(text);
  if (lists.length < 2) return null;
  const meanings = lists.map((one) => ({ words: told(one), typed: one.join(" ") }));
  return { label, words: t("comma-meant", { text }), meanings, take };
}
