// A walk as it is kept on this device, and what can be told from it without a screen.

import type { Place } from "./geometry";
import { readNumber } from "./lengths";

export interface Stop {
  order: number;
  purpose: string;
  label: string;
  x: number;
  y: number;
  room: string;
}

/** Under which name the walk of a visit is kept on this device. */
export function walkName(context: { project: { id: string }; visit: string | null }): string {
  return `walk:${context.project.id}:${context.visit}`;
}

/** How a walk was laid out. */
export interface Laid {
  spacing: number;
  room: string;
  start: string;
  rows: string;
}

export interface WalkState {
  instrument: string;
  /** Sent with each reading, so that another device can join; walks kept before it was have none. */
  laid?: Laid;
  stops: Stop[];
  at: number;
  typed: Record<number, string>;
  draft: string;
  /** Pieces of the way, as far as the plan tells it. */
  way: Place[][];
}

/** What a reading must be recognised by on every device of a walk. */
export function keyOf(stop: { label: string; room: string; repeat: number }): string {
  return `${stop.room}|${stop.label}|${stop.repeat}`;
}

/** A place is read once for the map; a second time, later, for noise and drift. */
export function repeatOf(stop: Stop): number {
  return stop.purpose === "repeat" ? 2 : 0;
}

export function isRead(state: WalkState, elsewhere: Map<string, string>, stop: Stop): boolean {
  const key = keyOf({ label: stop.label, room: stop.room, repeat: repeatOf(stop) });
  return state.typed[stop.order] !== undefined || elsewhere.has(key);
}

export interface Sign {
  /** The stop a tap on it goes to. */
  index: number;
  state: "now" | "read" | "again" | "to-read";
}

/**
 * One sign for each place: a place that is read a second time later has two stops and one sign,
 * read once it has a value, and marked while the second is still to come.
 */
export function signs(
  state: WalkState | null,
  elsewhere: Map<string, string>,
  stops: Stop[],
): Sign[] {
  const places = new Map<string, number[]>();
  stops.forEach((stop, index) => {
    const place = `${stop.x} ${stop.y}`;
    places.set(place, [...(places.get(place) ?? []), index]);
  });
  return [...places.values()].map((indices): Sign => {
    if (state && indices.includes(state.at)) return { index: state.at, state: "now" };
    const open = indices.filter((i) => !state || !isRead(state, elsewhere, stops[i]!));
    if (!open.length) return { index: indices.at(-1)!, state: "read" };
    return { index: open[0]!, state: open.length < indices.length ? "again" : "to-read" };
  });
}

/** The next stop that nobody has read, from one on; the number of stops when all are read. */
export function nextOpen(state: WalkState, elsewhere: Map<string, string>, from: number): number {
  for (let at = from; at < state.stops.length; at += 1)
    if (!isRead(state, elsewhere, state.stops[at]!)) return at;
  return state.stops.length;
}

/** A stop at any place of the floor, put right after the present one. */
export function withStop(state: WalkState, x: number, y: number, room: string): WalkState {
  const order = Math.max(0, ...state.stops.map((one) => one.order)) + 1;
  const added = state.stops.filter((one) => one.purpose === "added").length;
  // Two devices that add places at once must not give them one name.
  const label = `X${added + 1} ${x.toFixed(2)}/${y.toFixed(2)}`;
  const stop: Stop = { order, purpose: "added", label, x, y, room };
  const at = Math.min(state.at + 1, state.stops.length);
  const stops = [...state.stops.slice(0, at), stop, ...state.stops.slice(at)];
  return { ...state, stops, at };
}

/** Take a stop that was added by mistake out again. */
export function withoutStop(state: WalkState, at: number): WalkState {
  const stops = state.stops.filter((_, index) => index !== at);
  return { ...state, stops, at: Math.min(at, stops.length) };
}

/** Numbers pasted together, as a meter's keyboard or a table sends them; null when they are none. */
export function manyNumbers(text: string): string[] | null {
  const parts = text
    .trim()
    .split(/[\n\r\t; ]+/)
    .filter(Boolean);
  if (parts.length < 2) return null;
  const known = parts.every((one) => /^(fs|ol)$/i.test(one) || !Number.isNaN(readNumber(one)));
  return known ? parts.map((one) => (/^(fs|ol)$/i.test(one) ? "FS" : one)) : null;
}

/** What stands in the field and is not stored, or "". */
export function typedOnly({ stops, at, typed, draft }: WalkState): string {
  const stop = stops[at];
  return stop && draft !== (typed[stop.order] ?? "") ? draft : "";
}

/** A reading of a place as it is sent. */
export function readingAt(
  stop: Stop,
  raw: string,
  time: Date,
): Record<string, unknown> & { raw: string } {
  const { x, y, label, room } = stop;
  return { x, y, raw, label, room, repeat: repeatOf(stop), time: time.toISOString() };
}

/** How many places stops stand at: one that is read twice is one place. */
export function placesOf(stops: Stop[]): number {
  return new Set(stops.map((stop) => `${stop.x} ${stop.y}`)).size;
}

/** The places that were read, here or elsewhere. */
export function placesRead(state: WalkState, elsewhere: Map<string, string>): number {
  return placesOf(state.stops.filter((stop) => isRead(state, elsewhere, stop)));
}

/** How many readings were taken, here or elsewhere. */
export function readCount(state: WalkState, elsewhere: Map<string, string>): number {
  return state.stops.filter((stop) => isRead(state, elsewhere, stop)).length;
}
