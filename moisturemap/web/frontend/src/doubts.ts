// Questions about numbers that are possible and hardly meant: another unit, a share for a
// percentage, a list for one number. They are asked before anything is stored.

import { dialog } from "./dialog";
import { h } from "./dom";
import { celsius, fahrenheit, type LengthUnit } from "./lengths";
import { t } from "./strings";
import { DEGREES, HUMIDITY, isUsual, LONGEST_USUAL_M, RESULTS, type Range } from "./usual";

/** What a typed value may mean. */
export interface Meaning {
  words: string;
  /** As it would be typed; null leaves what was typed. */
  typed: string | null;
}

export interface Doubt {
  label: string;
  words: string;
  meanings: Meaning[];
  /** Put another meaning into the form. */
  take: (typed: string) => void;
}

type Words = Pick<Doubt, "words" | "meanings">;

/** Ask about each in turn; false as soon as somebody wants to look at the form again. */
export async function settled(doubts: Doubt[]): Promise<boolean> {
  for (const { label, words, meanings, take } of doubts) {
    const actions = meanings.map((one, i): [string, string] => [String(i), one.words]);
    const pressed = await dialog(label, [h("p", {}, words)], actions, {
      about: null,
      question: true,
    });
    if (pressed === null) return false;
    const { typed } = meanings[Number(pressed)]!;
    if (typed !== null) take(typed);
  }
  return true;
}

/** What one field means: the text itself where nothing is asked, null to look at it again. */
export async function meant(
  label: string,
  text: string,
  asked: Words | null,
): Promise<string | null> {
  let typed = text;
  const take = (other: string): void => void (typed = other);
  return asked && !(await settled([{ label, ...asked, take }])) ? null : typed;
}

/** A number as it is typed: without figures that mean nothing. */
export function plain(value: number): string {
  return String(Number(value.toPrecision(4)));
}

function doubt(value: number, unit: string, others: Meaning[]): Words {
  const keep = { words: t("keep-typed", { value: plain(value), unit }), typed: null };
  const words = t(others.length ? "another-unit" : "unusual", { value: plain(value), unit });
  return { words, meanings: [...others, keep] };
}

function meaning(value: number, unit: string, typed: number, shownIn: string): Meaning {
  const words = { value: plain(value), unit, typed: plain(typed), in: shownIn };
  return { words: t("take-meaning", words), typed: plain(typed) };
}

/** About a temperature typed in the unit of the job, or null. */
export function aboutDegrees(value: number, system: LengthUnit): Words | null {
  if (Number.isNaN(value)) return null;
  const us = system === "ft";
  const stored = us ? celsius(value) : value;
  // A cold floor is just cold, where nobody types Fahrenheit.
  if (isUsual(stored, us ? DEGREES : [-Infinity, DEGREES[1]])) return null;
  const other = us ? value : celsius(value);
  const typed = us ? fahrenheit(value) : other;
  const fits = isUsual(other, DEGREES);
  const [here, there] = us ? ["°F", "°C"] : ["°C", "°F"];
  const shown = Math.round(typed * 10) / 10;
  return doubt(value, here, fits ? [meaning(value, there, shown, here)] : []);
}

/** About a percentage that may be a share of 1, or null. */
export function aboutShare(value: number, unit: string, usual: Range = HUMIDITY): Words | null {
  if (Number.isNaN(value) || isUsual(value, usual)) return null;
  const share = value > 0 && value <= 1 && unit.includes("%") && isUsual(100 * value, usual);
  return doubt(value, unit, share ? [meaning(value, t("as-share"), 100 * value, unit)] : []);
}

/** About a result or a limit of a method, in one of its units, or null. */
export function aboutResult(
  value: number,
  method: string,
  unit: string,
  units: string[],
): Words | null {
  const usual = RESULTS[method];
  // Units of a method are ways to write its first one, but for grams a square metre.
  if (!usual || (unit !== units[0] && unit.includes("g/"))) return null;
  return aboutShare(value, unit, usual);
}

/** How far ahead of the clock of this device a time is asked about [ms]. */
const AHEAD_MS = 3_600_000;

/** About a time typed in the clock of this device, when something was, or null. */
export function aboutAhead(typed: string, now = Date.now()): Words | null {
  const time = new Date(typed);
  if (!(time.getTime() - now > AHEAD_MS)) return null;
  const when = time.toLocaleString();
  return {
    words: t("time-ahead", { when }),
    meanings: [{ words: t("keep-time", { when }), typed: null }],
  };
}

const MM: Record<string, number> = { mm: 1, cm: 10, m: 1000, in: 25.4 };

/** About a thickness or depth typed in millimetres or inches, or null. */
export function aboutMillimetres(value: number, system: LengthUnit, usual: Range): Words | null {
  const unit = system === "ft" ? "in" : "mm";
  if (Number.isNaN(value) || isUsual(value * MM[unit]!, usual)) return null;
  const others = Object.entries(MM)
    .filter(([other, mm]) => other !== unit && isUsual(value * mm, usual))
    .map(([other, mm]) => {
      const typed = (value * mm) / MM[unit]!;
      return meaning(value, other, Number(typed.toPrecision(4)), unit);
    });
  return doubt(value, unit, others);
}

/** About the length of a wall typed as a bare number, or null. */
export function aboutWall(text: string, metres: number, system: LengthUnit): Words | null {
  if (!(metres > LONGEST_USUAL_M)) return null;
  const bare = Number(text.trim().replace(",", "."));
  const [unit, side_m] = system === "ft" ? ["ft", 0.3048] : ["m", 1];
  if (Number.isNaN(bare)) return doubt(metres / side_m, unit, []);
  const others = (system === "ft" ? ["in", "cm", "mm"] : ["cm", "mm"])
    .filter((other) => isUsual(bare * MM[other]!, [300, 1000 * LONGEST_USUAL_M]))
    .map((other) => ({
      words: t("take-meaning", {
        value: plain(bare),
        unit: other,
        typed: plain((bare * MM[other]!) / 1000 / side_m),
        in: unit,
      }),
      typed: `${bare} ${other}`,
    }));
  return doubt(bare, unit, others);
}
