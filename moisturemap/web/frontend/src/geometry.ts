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

/**
 * Give one wall of a closed outline a new length. The wall keeps its start and its direction; its
 * end moves, and the next wall moves with it, so that right angles stay right.
 */
export function setWallLength(ring: Place[], wall: number, length: number): Place[] {
  const n = ring.length;
  const from = ring[wall]!;
  const to = ring[(wall + 1) % n]!;
  const old = distance(from, to);
  if (old === 0) return ring;
  const scale = (length - old) / old;
  const [dx, dy] = [(to[0] - from[0]) * scale, (to[1] - from[1]) * scale];
  const moved = n > 3 ? [(wall + 1) % n, (wall + 2) % n] : [(wall + 1) % n];
  return ring.map((place, i): Place =>
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
