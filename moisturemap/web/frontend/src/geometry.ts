// Plane geometry the editor needs while drawing; everything that counts is computed by the program.

export type Place = [number, number];

export function distance(a: Place, b: Place): number {
  return Math.hypot(b[0] - a[0], b[1] - a[1]);
}

export function area(ring: Place[]): number {
  let twice = 0;
  ring.forEach((a, i) => {
    const b = ring[(i + 1) % ring.length]!;
    twice += a[0] * b[1] - b[0] * a[1];
  });
  return Math.abs(twice) / 2;
}

function turn(a: Place, b: Place, c: Place): number {
  return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
}

function cross(a: Place, b: Place, c: Place, d: Place): boolean {
  const [u, v, w, x] = [turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)];
  return u * v < 0 && w * x < 0;
}

function onSegment(a: Place, b: Place, c: Place): boolean {
  const length = distance(a, b);
  if (length === 0 || Math.abs(turn(a, b, c)) / length > 1e-6) return false;
  const along = ((c[0] - a[0]) * (b[0] - a[0]) + (c[1] - a[1]) * (b[1] - a[1])) / length;
  return along > 1e-6 && along < length - 1e-6;
}

/** The first two walls of an outline that cross or run over each other, counted from 1, or null. */
export function crossingWalls(ring: Place[]): [number, number] | null {
  const n = ring.length;
  for (let i = 0; i < n; i++) {
    const [a, b] = [ring[i]!, ring[(i + 1) % n]!];
    for (let j = i + 1; j < n; j++) {
      const [c, d] = [ring[j]!, ring[(j + 1) % n]!];
      const neighbours = j === i + 1 || (i === 0 && j === n - 1);
      if (!neighbours && cross(a, b, c, d)) return [i + 1, j + 1];
      if (onSegment(a, b, d) && !(i === 0 && j === n - 1)) return [i + 1, j + 1];
      if (!neighbours && (onSegment(a, b, c) || onSegment(c, d, a) || onSegment(c, d, b)))
        return [i + 1, j + 1];
    }
  }
  return null;
}

export function inside(ring: Place[], [x, y]: Place): boolean {
  let within = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i]!;
    const [xj, yj] = ring[j]!;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) within = !within;
  }
  return within;
}

/** Whether two directions run along one line, either way. */
function parallel([ax, ay]: Place, [bx, by]: Place): boolean {
  const sine = Math.abs(ax * by - ay * bx);
  return sine <= 1e-3 * Math.hypot(ax, ay) * Math.hypot(bx, by);
}

/** A corner this near to a right angle is one [rad]: half a centimetre over a wall of 2.5 m. */
const RIGHT = 0.002;

/** Whether a corner of a closed outline is a right angle. */
function isRight(ring: Place[], corner: number): boolean {
  const n = ring.length;
  const [a, b, c] = [ring[(corner + n - 1) % n]!, ring[corner % n]!, ring[(corner + 1) % n]!];
  const cosine = (a[0] - b[0]) * (c[0] - b[0]) + (a[1] - b[1]) * (c[1] - b[1]);
  return Math.abs(cosine) <= RIGHT * distance(a, b) * distance(b, c);
}

/**
 * Whether the end of a wall alone makes right angles of its corner and the next that were none: a
 * wall drawn a little short, and nothing else has to give way.
 */
function endAloneIsRight(ring: Place[], wall: number, [dx, dy]: Place): boolean {
  const n = ring.length;
  const end = (wall + 1) % n;
  const moved = ring.map(([x, y], i): Place => (i === end ? [x + dx, y + dy] : [x, y]));
  const both = (one: Place[]): boolean => isRight(one, end) && isRight(one, end + 1);
  return n > 3 && !both(ring) && both(moved);
}

/**
 * Which corners of a closed outline move when one wall gets another length: its end, and all that
 * follow up to the next wall that runs along it and can take up the difference, so that right
 * angles stay right. The start of the wall stays.
 */
export function cornersMoved(ring: Place[], wall: number, by: number): number[] | null {
  const n = ring.length;
  const at = (i: number): Place => ring[((i % n) + n) % n]!;
  const vector = (i: number): Place => [at(i + 1)[0] - at(i)[0], at(i + 1)[1] - at(i)[1]];
  const along = vector(wall);
  const share = by / Math.hypot(...along);
  if (endAloneIsRight(ring, wall, [along[0] * share, along[1] * share])) return [(wall + 1) % n];
  const moved: number[] = [];
  let able = false;
  for (let k = wall + 1; k < wall + n; k++) {
    moved.push(k % n);
    const next = vector(k);
    if (!parallel(along, next)) continue;
    able = true;
    const same = along[0] * next[0] + along[1] * next[1] > 0;
    const rest = Math.hypot(...next) + (same ? -by : by);
    if (rest > 0.001) return moved;
  }
  if (able) return null;
  return n > 3 ? [(wall + 1) % n, (wall + 2) % n] : [(wall + 1) % n];
}

/** By how much the end of a wall moves when the wall gets another length. */
export function wallShift(ring: Place[], wall: number, length: number): Place {
  const [from, to] = [ring[wall]!, ring[(wall + 1) % ring.length]!];
  const scale = length / distance(from, to) - 1;
  return [(to[0] - from[0]) * scale, (to[1] - from[1]) * scale];
}

/** Give one wall of a closed outline a new length, see `cornersMoved`. */
export function setWallLength(ring: Place[], wall: number, length: number): Place[] | null {
  const old = distance(ring[wall]!, ring[(wall + 1) % ring.length]!);
  if (old === 0) return null;
  const [dx, dy] = wallShift(ring, wall, length);
  const moved = cornersMoved(ring, wall, length - old);
  if (!moved) return null;
  return ring.map((place, i) =>
    moved.includes(i) ? round([place[0] + dx, place[1] + dy]) : place,
  );
}

/** To the tenth of a millimetre, so that typed lengths read back as typed. */
export function round([x, y]: Place): Place {
  return [Math.round(x * 1e4) / 1e4, Math.round(y * 1e4) / 1e4];
}

/**
 * Turn a drawn place to a right angle (or a straight line) on the wall before, when it is within
 * `tolerance` degrees of one; also square to the first corner so that the last wall closes right.
 */
export function squareUp(corners: Place[], place: Place, tolerance = 10): Place {
  const last = corners.at(-1);
  if (!last) return place;
  const before = corners.at(-2);
  const base = before ? Math.atan2(last[1] - before[1], last[0] - before[0]) : 0;
  const heading = Math.atan2(place[1] - last[1], place[0] - last[0]);
  const quarter = Math.PI / 2;
  const nearest = base + Math.round((heading - base) / quarter) * quarter;
  if (Math.abs(heading - nearest) > (tolerance * Math.PI) / 180) return place;
  const [ux, uy] = [Math.cos(nearest), Math.sin(nearest)];
  let along = (place[0] - last[0]) * ux + (place[1] - last[1]) * uy;
  const first = corners[0]!;
  if (corners.length >= 3) {
    const closing = (first[0] - last[0]) * ux + (first[1] - last[1]) * uy;
    if (Math.abs(closing - along) < Math.max(0.15, 0.04 * Math.abs(along))) along = closing;
  }
  return [last[0] + along * ux, last[1] + along * uy];
}

/** The place of a line through `from` and `to` nearest to a place. */
function onLine(from: Place, to: Place, place: Place): Place {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const share = ((place[0] - from[0]) * dx + (place[1] - from[1]) * dy) / (dx * dx + dy * dy);
  return [from[0] + share * dx, from[1] + share * dy];
}

/** The place of a wall nearest to a place. */
export function onWall([from, to]: Wall, place: Place): Place {
  const foot = onLine(from, to, place);
  const length = distance(from, to);
  if (distance(from, foot) > length) return distance(foot, to) < distance(foot, from) ? to : from;
  return distance(to, foot) > length ? from : foot;
}

export type Wall = [from: Place, to: Place];

/** Where two lines meet, or null when they run side by side. */
export function meeting([a, b]: Wall, [c, d]: Wall): Place | null {
  const [ux, uy, vx, vy] = [b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]];
  const cross = ux * vy - uy * vx;
  if (Math.abs(cross) <= 1e-3 * Math.hypot(ux, uy) * Math.hypot(vx, vy)) return null;
  const share = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / cross;
  return [a[0] + share * ux, a[1] + share * uy];
}

/** The lines on which a corner between `before` and `after` makes a right angle or none there. */
export function squareLines(ring: Place[], before: number, after: number): Wall[] {
  const n = ring.length;
  const at = (i: number): Place => ring[((i % n) + n) % n]!;
  const lines: Wall[] = [];
  for (const [near, far] of [
    [at(before), at(before - 1)],
    [at(after), at(after + 1)],
  ] as [Place, Place][]) {
    const [dx, dy] = [near[0] - far[0], near[1] - far[1]];
    if (dx === 0 && dy === 0) continue;
    lines.push([near, [near[0] + dx, near[1] + dy]], [near, [near[0] - dy, near[1] + dx]]);
  }
  return lines;
}

/**
 * Where a place that is pointed at is meant: on a corner, where walls and square lines meet, on a
 * wall, or on a square line; itself when none of them is within `reach` [m].
 */
export function aimed(
  place: Place,
  corners: Place[],
  walls: Wall[],
  lines: Wall[],
  reach: number,
): Place {
  const nearest = (places: Place[]): Place | null => {
    const near = places.filter((one) => distance(one, place) <= reach);
    return near.sort((a, b) => distance(a, place) - distance(b, place))[0] ?? null;
  };
  const corner = nearest(corners);
  if (corner) return corner;
  const close = walls.filter((wall) => distance(onWall(wall, place), place) <= reach);
  const meets: Place[] = [];
  lines.forEach((line, i) => {
    for (const other of [...close, ...lines.slice(i + 1)]) {
      const place = meeting(line, other);
      if (place) meets.push(place);
    }
  });
  return (
    nearest(meets) ??
    nearest(close.map((wall) => onWall(wall, place))) ??
    nearest(lines.map(([a, b]) => onLine(a, b, place))) ??
    place
  );
}

/** How many steps a free place may lie from where it is wanted. */
const STEPS_AWAY = 12;

/** The place wanted, or the nearest beside it that is clear of all others, an allowed one first. */
export function freePlace(
  wanted: Place,
  taken: Place[],
  apart: number,
  allowed: (place: Place) => boolean,
): Place {
  const steps = Array.from({ length: 2 * STEPS_AWAY + 1 }, (_, i) => i - STEPS_AWAY);
  const free = steps
    .flatMap((i) => steps.map((j): [number, number] => [i, j]))
    .sort((one, other) => Math.hypot(...one) - Math.hypot(...other))
    .map(([i, j]): Place => [wanted[0] + i * apart, wanted[1] + j * apart])
    .filter((place) => taken.every((one) => distance(one, place) >= apart));
  return free.find(allowed) ?? free[0] ?? wanted;
}
