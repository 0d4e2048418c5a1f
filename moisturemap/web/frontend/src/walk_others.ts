// What other devices of a shared walk have read.

import { ask, Refused, Unreachable } from "./api";
import type { ReadingRow } from "./reading_row";
import type { Context } from "./task";
import { keyOf, repeatOf, type WalkState } from "./walk_state";

/** A name means the same place on two devices when it lies no farther apart [m]. */
const ONE_PLACE_M = 0.05;

/** What the program says of readings it has stored. */
export interface Stored {
  readings: number[];
  also?: { label: string; raw: string }[];
}

export interface News {
  /** Whether anything was read elsewhere. */
  some: boolean;
  /** Places with two values now. */
  twice: { label: string; mine: string; theirs: string }[];
}

const NOTHING: News = { some: false, twice: [] };

/** What was typed here, by place. */
function typedHere({ stops, typed }: WalkState): Map<string, string> {
  return new Map(
    stops.flatMap((stop): [string, string][] => {
      const value = typed[stop.order];
      return value === undefined ? [] : [[keyOf({ ...stop, repeat: repeatOf(stop) }), value]];
    }),
  );
}

export class WalkOthers {
  /** Values of this walk that another device typed, by place. */
  readonly values = new Map<string, string>();
  private readonly mine = new Set<number>();
  private heard = 0;

  /** Readings this device has stored itself. */
  sent(readings: number[]): void {
    for (const one of readings) this.mine.add(one);
  }

  /** Ask for what was read since it was last asked; nothing while the program is away. */
  async ask(context: Context, walk: () => WalkState | null): Promise<News> {
    const query = `visit=${encodeURIComponent(context.visit ?? "")}&after=${this.heard}`;
    let rows: ReadingRow[];
    try {
      rows = (await ask<{ readings: ReadingRow[] }>(context.path(`readings?${query}`))).readings;
    } catch (error) {
      if (error instanceof Refused || error instanceof Unreachable) return NOTHING; // asked again soon
      throw error;
    }
    const state = walk();
    return state && rows.length ? this.take(rows, state) : NOTHING;
  }

  /** Take readings of the visit: which are of this walk, and which places have two values. */
  take(rows: ReadingRow[], state: WalkState): News {
    const first = this.heard === 0;
    this.heard = Math.max(this.heard, ...rows.map((row) => row.reading));
    const places = new Map(
      state.stops.map((stop) => [keyOf({ ...stop, repeat: repeatOf(stop) }), stop]),
    );
    const others = rows.filter((row) => {
      const stop = row.label && !this.mine.has(row.reading) && places.get(keyOf(row));
      return stop && Math.hypot(stop.x - row.x, stop.y - row.y) < ONE_PLACE_M;
    });
    const here = typedHere(state);
    const twice: News["twice"] = [];
    for (const row of others) {
      const theirs = row.raw || String(row.value);
      const mine = here.get(keyOf(row));
      if (mine === undefined) this.values.set(keyOf(row), theirs);
      // what was typed here before a reload comes back as a row of its own
      else if (mine !== theirs && !first)
        twice.push({ label: `${row.room} ${row.label}`, mine, theirs });
    }
    return { some: others.length > 0, twice };
  }
}
