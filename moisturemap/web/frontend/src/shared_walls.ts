// A wall that gets a typed length, and the rooms on its other side.

import {
  cornersMoved,
  distance,
  onWall,
  round,
  setWallLength,
  wallShift,
  type Place,
  type Wall,
} from "./geometry";
import type { Plan, Room } from "./plan_types";

/** Walls this far apart are one wall [m]: the width of a drawing fault that is mended. */
const ONE_WALL_M = 0.02;

/** Walls of a ring whose two ends move, with the numbers of their ends. */
function movedWalls(ring: Place[], moved: Set<number>): Wall[] {
  return ring.flatMap((from, i): Wall[] => {
    const next = (i + 1) % ring.length;
    return moved.has(i) && moved.has(next) ? [[from, ring[next]!]] : [];
  });
}

/** How far two walls run along each other [m]; 0 when they do not lie on one line. */
function shared([a, b]: Wall, [c, d]: Wall): number {
  const length = distance(a, b);
  if (length === 0) return 0;
  const [ux, uy] = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
  const aside = ([x, y]: Place): number => Math.abs((x - a[0]) * uy - (y - a[1]) * ux);
  if (aside(c) > ONE_WALL_M || aside(d) > ONE_WALL_M) return 0;
  const along = ([x, y]: Place): number => (x - a[0]) * ux + (y - a[1]) * uy;
  const [low, high] = [along(c), along(d)].sort((p, q) => p - q) as [number, number];
  return Math.max(0, Math.min(high, length) - Math.max(low, 0));
}

export interface TypedWall {
  /** Rooms on the other side of what moves. */
  rooms: string[];
  /** The plan with the room alone changed. */
  alone: Plan;
  /** With the shared wall moved, whatever room it belongs to. */
  wallMoved: Plan;
  /** With everything beyond the wall moved along. */
  restPushed: Plan;
  /** By how much it moves. */
  shift: Place;
}

/** Where everything beyond a wall begins: further than `least` from its start [m]. */
export interface WallEnd {
  start: Place;
  direction: Place;
  least: number;
}

/** The line across the floor at the end of a wall. */
export function wallEnd(ring: Place[], wall: number): WallEnd {
  const [start, to] = [ring[wall]!, ring[(wall + 1) % ring.length]!];
  const length = distance(start, to);
  const direction: Place = [(to[0] - start[0]) / length, (to[1] - start[1]) / length];
  return { start, direction, least: length - ONE_WALL_M };
}

/** Work out what a typed length of a wall can mean for the plan; null when no wall gives way. */
export function typedWall(
  plan: Plan,
  index: number,
  wall: number,
  length: number,
): TypedWall | null {
  const room = plan.rooms[index]!;
  const ring = room.rings[0]!;
  const old = distance(ring[wall]!, ring[(wall + 1) % ring.length]!);
  const shift = wallShift(ring, wall, length);
  const outline = setWallLength(ring, wall, length);
  const moved = new Set(cornersMoved(ring, wall, length - old));
  if (!outline) return null;
  const changed: Room = {
    ...room,
    rings: [outline, ...room.rings.slice(1)],
  };
  const alone = { ...plan, rooms: plan.rooms.map((one, i) => (i === index ? changed : one)) };
  const { rooms, corners, walls } = onTheWall(plan, index, movedWalls(ring, moved));
  const by = (place: Place): Place => round([place[0] + shift[0], place[1] + shift[1]]);
  const wallMoved: Plan = {
    rooms: alone.rooms.map((one, i) => {
      const own = corners.get(i);
      if (!own) return one;
      const outline = one.rings[0]!.map((place, k) => (own.has(k) ? by(place) : place));
      return { ...one, rings: [outline, ...one.rings.slice(1)] };
    }),
    lines: plan.lines.map((line) => ({
      ...line,
      places: line.places.map((place) =>
        walls.some((one) => distance(onWall(one, place), place) <= ONE_WALL_M) ? by(place) : place,
      ),
    })),
  };
  return { rooms, alone, wallMoved, restPushed: pushed(plan, wallEnd(ring, wall), by), shift };
}

/** Corners of other rooms on the walls that move, and on the walls these are part of in turn. */
function onTheWall(
  plan: Plan,
  index: number,
  begin: Wall[],
): { rooms: string[]; corners: Map<number, Set<number>>; walls: Wall[] } {
  const walls = [...begin];
  const corners = new Map<number, Set<number>>();
  for (let next = 0; next < walls.length; next++) {
    plan.rooms.forEach((room, i) => {
      if (i === index) return;
      const ring = room.rings[0]!;
      ring.forEach((from, k) => {
        const own: Wall = [from, ring[(k + 1) % ring.length]!];
        const taken = corners.get(i)?.has(k) && corners.get(i)?.has((k + 1) % ring.length);
        if (taken || shared(walls[next]!, own) < ONE_WALL_M) return;
        const set = corners.get(i) ?? new Set();
        corners.set(i, set.add(k).add((k + 1) % ring.length));
        walls.push(own);
      });
    });
  }
  return { rooms: [...corners.keys()].map((i) => plan.rooms[i]!.name), corners, walls };
}

/** Everything that lies at the end of the wall or beyond it moves along. */
function pushed(plan: Plan, end: WallEnd, by: (place: Place) => Place): Plan {
  const { start, direction, least } = end;
  const move = (place: Place): Place =>
    (place[0] - start[0]) * direction[0] + (place[1] - start[1]) * direction[1] > least
      ? by(place)
      : place;
  return {
    rooms: plan.rooms.map((room) => ({ ...room, rings: room.rings.map((one) => one.map(move)) })),
    lines: plan.lines.map((line) => ({ ...line, places: line.places.map(move) })),
  };
}
