// Changes of a plan: each gives a new plan or ring and leaves the old one as it was.

import { area, crossingWalls, distance, round, type Place } from "./geometry";
import type { Line, Plan, Room } from "./plan_types";

/** An outline that encloses less is a slip of the hand [m2]; our choice. */
export const LEAST_M2 = 0.05;

export function withRoom(plan: Plan, index: number, room: Room): Plan {
  return { ...plan, rooms: plan.rooms.map((one, i) => (i === index ? room : one)) };
}

export function withLine(plan: Plan, index: number, line: Line): Plan {
  return { ...plan, lines: plan.lines.map((one, i) => (i === index ? line : one)) };
}

/** The plan without one of its rooms or lines. */
export function without(plan: Plan, what: "room" | "line", index: number): Plan {
  const { rooms, lines } = plan;
  if (what === "room") return { ...plan, rooms: rooms.filter((_, i) => i !== index) };
  return { ...plan, lines: lines.filter((_, i) => i !== index) };
}

/** The first corner within reach of a place, as ring and number; null for none. */
export function cornerNear(rings: Place[][], place: Place, reach: number): [number, number] | null {
  for (const [which, ring] of rings.entries()) {
    const corner = ring.findIndex((one) => distance(one, place) <= reach);
    if (corner >= 0) return [which, corner];
  }
  return null;
}

/** Rings without one corner, named by ring and number. */
export function withoutCorner(rings: Place[][], [which, corner]: [number, number]): Place[][] {
  return rings.map((ring, i) => (i === which ? ring.filter((_, k) => k !== corner) : ring));
}

/** A ring with one corner more, in the middle of the wall that begins at `corner`. */
export function withCornerAfter(ring: Place[], corner: number): Place[] {
  const [a, b] = [ring[corner]!, ring[(corner + 1) % ring.length]!];
  const between = round([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
  return [...ring.slice(0, corner + 1), between, ...ring.slice(corner + 1)];
}

/** What keeps rings from being a room: two walls that cross, too little inside, or nothing. */
export function wrongRings(rings: Place[][]): [number, number] | "small" | null {
  const crossing = rings.map(crossingWalls).find(Boolean);
  if (crossing) return crossing;
  return rings.some((ring) => ring.length < 3 || area(ring) < LEAST_M2) ? "small" : null;
}

/** A name no room has yet, made by `named` from the number of the room. */
export function freeName(rooms: Room[], named: (number: number) => string): string {
  const taken = new Set(rooms.map((room) => room.name));
  let number = rooms.length + 1;
  while (taken.has(named(number))) number += 1;
  return named(number);
}
