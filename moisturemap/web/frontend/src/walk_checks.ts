// What speaks against a number typed while walking, before it is stored.

import { bothWays, mayBeThousand, readNumber } from "./lengths";
import { t } from "./strings";
import type { Stop, WalkState } from "./walk_state";

type Scale = [number, number] | null;

/** Share of the scale that two readings at one place may differ by before it is asked (our choice). */
const APART = 0.15;

/** Words against a number the meter cannot show, or null. */
export function againstReading(text: string, scale: Scale): string | null {
  if (text === "FS") return null;
  const value = readNumber(text);
  if (Number.isNaN(value)) return t("bad-number", { value: text });
  if (mayBeThousand(text)) return t("thousand-or-decimal", bothWays(text));
  if (scale && (value < scale[0] || value > scale[1]))
    return t("off-scale", { low: scale[0], high: scale[1] });
  return null;
}

/** The number a first reading at the place of a second one had, or null. */
function firstAt(state: WalkState, stop: Stop): string | null {
  if (stop.purpose !== "repeat") return null;
  const first = state.stops.find(
    (one) => one.purpose !== "repeat" && one.x === stop.x && one.y === stop.y,
  );
  return (first && state.typed[first.order]) ?? null;
}

/** A question about a second reading far from the first at its place, or null. */
export function doubtful(state: WalkState, stop: Stop, raw: string, scale: Scale): string | null {
  const first = firstAt(state, stop);
  if (first === null || first === raw) return null;
  const end = scale?.[1] ?? Number.NaN;
  const [one, other] = [first, raw].map((text) => (text === "FS" ? end : readNumber(text))) as [
    number,
    number,
  ];
  const span = scale ? scale[1] - scale[0] : Math.max(Math.abs(one), Math.abs(other));
  return Math.abs(one - other) > APART * span ? t("second-differs", { first, raw }) : null;
}

/** Figures after the decimal mark. */
function figures(text: string): number {
  return /[.,](\d*)$/.exec(text)?.[1]?.length ?? 0;
}

/** A question about a comma that may part two readings, or null: 30,31 where none shows hundredths. */
export function commaMeant(state: WalkState, raw: string): string | null {
  if (!raw.includes(",")) return null;
  if (figures(raw) <= Math.max(1, ...Object.values(state.typed).map(figures))) return null;
  const [one, other] = raw.split(",");
  return t("comma-in-reading", { raw, one: one || "0", other: other ?? "" });
}

/** Words for a place of a sweep over something contested; "" for any other place. */
export function sweepWords(stops: Stop[], stop: Stop): string {
  if (stop.purpose !== "sweep") return "";
  const [sweep, at] = stop.label.split(".") as [string, string];
  const of = stops.filter((one) => one.label.startsWith(`${sweep}.`)).length;
  return t("sweep-why", { sweep, at, of });
}

/** Words against a number, or a question about it; it is stored when it is given once more. */
export class Doubt {
  private asked = "";

  against(state: WalkState, stop: Stop, raw: string, scale: Scale): string | null {
    const words = againstReading(raw, scale);
    if (words) return words;
    const asked = `${stop.order} ${raw}`;
    if (this.asked === asked) return null;
    const question = commaMeant(state, raw) ?? doubtful(state, stop, raw, scale);
    if (question) this.asked = asked;
    return question;
  }
}
