// Where the labels of points stand: each beside its point where nothing else stands, and gone where
// there is no room; coming closer brings it back.

import type Feature from "ol/Feature";
import type { Geometry, Polygon } from "ol/geom";
import type VectorSource from "ol/source/Vector";

import type { Place } from "./geometry";
import { choices, LINE_HALF } from "./label_choices";
import { FONT_PX, fontOf, letterScale } from "./letters";

export interface Labelled {
  feature: Feature<Geometry>;
  place: [number, number];
  text: string;
  /** Half the width of its symbol [px]; 0 for a name without a symbol. */
  radius: number;
  small: boolean;
  /** Labels of the highest rank are placed first. */
  rank: number;
  /** Where its line runs, which no word stands on. */
  line?: Place[];
  /** Another line of its sign that no word stands on, such as the rim of an area. */
  rim?: Place[];
  /** Half the width of the sign at each end of the line [px]. */
  ends?: number;
  /** The room a name stands in, anywhere, and never on its walls. */
  room?: Polygon;
  /** What is told of it where there is no room for more. */
  shorter?: string;
}

export interface Offset {
  dx: number;
  dy: number;
  /** From the sign to words that stand off it [px]. */
  leader?: [from: Place, to: Place] | null;
  /** What is told, where that is less than the whole, and in small letters. */
  told?: Told;
}

interface Told {
  text: string;
  small: boolean;
}

/** What is in sight when the plan is shown as a whole: an extent [m] and the room around it [px]. */
interface Frame {
  extent: number[];
  /** Top, right, bottom, left. */
  padding: readonly [number, number, number, number];
  /** What stands over the plan where it is shown at this resolution [px from 0, 0 of the plan]. */
  over: readonly Box[];
  resolution: number;
}

export type Box = [west: number, north: number, east: number, south: number];

/** The labels of one plan, and where they stand at one resolution. */
export interface Layout {
  items: Map<string, Labelled[]>;
  placed: Map<Feature<Geometry>, Offset | null>;
  placedAt: number;
}

export function layout(): Layout {
  return { items: new Map(), placed: new Map(), placedAt: Number.NaN };
}

const pen = document.createElement("canvas").getContext("2d");
const first = layout();
/** Whose labels a feature is among; those of a second plan are features of their own. */
let owners = new WeakMap<object, Layout>();
let dots: VectorSource<Feature<Geometry>> | null = null;
let frame: Frame | null = null;
let watcher: () => void = () => undefined;

/** Learn when labels changed, so that what was drawn with the old places is drawn again. */
export function watchLabels(changed: () => void): void {
  watcher = changed;
}

/** Tell which signs lie thick all over the floor: names stand where they cover few of them. */
export function setDots(source: VectorSource<Feature<Geometry>> | null): void {
  dots = source;
  first.placedAt = Number.NaN;
}

/** Tell what is in sight when the plan is shown as a whole: names stand inside where they can. */
export function setFrame(now: Frame): void {
  frame = now;
  first.placedAt = Number.NaN;
}

/** Tell the labels of one layer of a plan; an empty list forgets them. */
export function setLabels(layer: string, labels: Labelled[], among = first): void {
  if (labels.length) among.items.set(layer, labels);
  else if (!among.items.delete(layer)) return;
  for (const { feature } of labels) owners.set(feature, among);
  among.placedAt = Number.NaN;
  watcher();
}

export function clearLabels(): void {
  Object.assign(first, layout());
  owners = new WeakMap();
}

/** How far from its point the label of a feature stands [px], or null where there is no room. */
export function labelOffset(feature: unknown, resolution: number, unknown: Offset): Offset | null {
  const among = owners.get(feature as object) ?? first;
  if (among.placedAt !== resolution) placeAll(among, resolution);
  const found = among.placed.get(feature as Feature<Geometry>);
  return found === undefined ? unknown : found;
}

function width({ text, small }: Told): number {
  if (!pen) return text.length * 8 * letterScale();
  pen.font = fontOf(small);
  return pen.measureText(text).width;
}

/** What may be told, the most first; a room may be named in small letters too. */
function tellings({ text, small, room, shorter }: Labelled): Told[] {
  const whole = { text, small };
  const less = shorter ? [{ text: shorter, small: small || !!room }] : [];
  return room ? [whole, { text, small: true }, ...less] : [whole, ...less];
}

function placeAll(among: Layout, resolution: number): void {
  const placed = (among.placed = new Map<Feature<Geometry>, Offset | null>());
  among.placedAt = resolution;
  const all = [...among.items.values()].flat().sort((a, b) => b.rank - a.rank);
  const taken: Box[] = [];
  for (const one of all) {
    const [x, y] = [one.place[0] / resolution, -one.place[1] / resolution];
    if (one.radius) taken.push([x - one.radius, y - one.radius, x + one.radius, y + one.radius]);
    taken.push(...alongLine(one.line, one.ends, resolution), ...alongLine(one.rim, 0, resolution));
  }
  for (const one of all) {
    if (!one.text) continue;
    placed.set(one.feature, null);
    const free = freePlaces(one, taken, resolution);
    const costs = free.map(
      ([{ leader }, [box]]) =>
        dotsUnder(box!, resolution) +
        (leader ? LEADER_COST : 0) +
        (outOfSight(box!, resolution) ? CUT_COST : 0),
    );
    const least = Math.min(...costs);
    const best = free[costs.indexOf(least)];
    if (!best || (least >= CUT_COST && one.rank < SIGNED_RANK)) continue;
    taken.push(...best[1]);
    placed.set(one.feature, best[0]);
  }
}

/** Where nothing else stands: of all that may be told the most that finds room in sight, or at all. */
function freePlaces(one: Labelled, taken: Box[], resolution: number): [Offset, Box[]][] {
  let hidden: [Offset, Box[]][] = [];
  const [x, y] = [one.place[0] / resolution, -one.place[1] / resolution];
  for (const told of tellings(one)) {
    const half = width(told) / 2 + 3;
    const tall = FONT_PX[told.small ? "small" : "large"] * 0.66 * letterScale();
    const free = choices(one, half, tall, resolution)
      .map(([dx, dy]): [Offset, Box[]] => {
        const leader = leaderTo(one, [dx, dy], half, tall);
        const box: Box = [x + dx - half, y + dy - tall, x + dx + half, y + dy + tall];
        return [{ dx, dy, leader, told }, [box, ...alongLeader(leader, x, y)]];
      })
      .filter(([, boxes]) => !boxes.some((box) => taken.some((other) => overlap(box, other))));
    if (free.some(([, [box]]) => !outOfSight(box!, resolution))) return free;
    if (!hidden.length) hidden = free;
  }
  return hidden;
}

function overlap(one: Box, other: Box): boolean {
  return one[0] < other[2] && one[2] > other[0] && one[1] < other[3] && one[3] > other[1];
}

/** Words no farther than this from their sign need no line to it [px]. */
const NEAR_PX = 12;
/** Words stand next to their sign rather than clear of so many dots. */
const LEADER_COST = 4;
/** Words that are whole count more than any dots. */
const CUT_COST = 1000;
/** From this rank on half a word is better than none: below it are names of lines and walls. */
const SIGNED_RANK = 2;
/** Half of what a line to words takes, how far apart it is looked at, and the rim of a sign [px]. */
const [LEADER_HALF, LEADER_STEP, RIM_PX] = [2, 4, 6];

/** The line from a sign to words that stand off it, or null where they stand next to it. */
function leaderTo(
  { radius, line, room }: Labelled,
  [dx, dy]: Place,
  half: number,
  tall: number,
): [Place, Place] | null {
  if (room) return null;
  const [x, y] = [nearest(dx - half, dx + half), nearest(dy - tall, dy + tall)];
  const far = Math.hypot(x, y);
  const sign = radius || (line ? LINE_HALF : 0);
  const near = sign ? NEAR_PX : tall / 2;
  if (far - sign <= near) return null;
  return [
    [(x * sign) / far, (y * sign) / far],
    [x, y],
  ];
}

/** Whether words would be cut off, or hidden by a button, where a plan is shown as a whole. */
function outOfSight([west, north, east, south]: Box, resolution: number): boolean {
  if (!frame) return false;
  const box: Box = [west, north, east, south];
  if (frame.resolution === resolution && frame.over.some((one) => overlap(box, one))) return true;
  const [left, bottom, right, top] = frame.extent.map((one) => one / resolution) as Box;
  const [above, aside, below, before] = frame.padding;
  return (
    west < left - before || east > right + aside || -north > top + above || -south < bottom - below
  );
}

/** The number of a range that is nearest to 0. */
function nearest(low: number, high: number): number {
  return Math.max(low, Math.min(high, 0));
}

function alongLeader(leader: [Place, Place] | null, x: number, y: number): Box[] {
  if (!leader) return [];
  const [[fromX, fromY], [toX, toY]] = leader;
  const length = Math.hypot(toX - fromX, toY - fromY);
  // the dot where a line to words without a sign begins
  const dot: Box = [x - DOT_HALF, y - DOT_HALF, x + DOT_HALF, y + DOT_HALF];
  const boxes: Box[] = fromX || fromY ? [] : [dot];
  for (let at = RIM_PX; at < length - RIM_PX; at += LEADER_STEP) {
    const [east, south] = [
      x + fromX + ((toX - fromX) * at) / length,
      y + fromY + ((toY - fromY) * at) / length,
    ];
    boxes.push([east - LEADER_HALF, south - LEADER_HALF, east + LEADER_HALF, south + LEADER_HALF]);
  }
  return boxes;
}

/** Half the width of a dot [px]. */
const DOT_HALF = 5;

function dotsUnder([west, north, east, south]: Box, resolution: number): number {
  if (!dots) return 0;
  const box = [west - DOT_HALF, -south - DOT_HALF, east + DOT_HALF, -north + DOT_HALF];
  return dots.getFeaturesInExtent(box.map((one) => one * resolution)).length;
}

/** How far apart a line is looked at [px]. */
const LINE_STEP = 10;
const MOST_STEPS = 400;

/** What a line and the signs at its ends take. */
function alongLine(line: Place[] | undefined, ends: number | undefined, resolution: number): Box[] {
  if (!line) return [];
  const places = line.map(([x, y]): Place => [x / resolution, -y / resolution]);
  const about = ([x, y]: Place, half: number): Box => [x - half, y - half, x + half, y + half];
  const boxes: Box[] = ends ? [places[0]!, places.at(-1)!].map((one) => about(one, ends)) : [];
  for (const [i, [x, y]] of places.slice(1).entries()) {
    const [fromX, fromY] = places[i]!;
    const length = Math.hypot(x - fromX, y - fromY);
    const steps = Math.min(Math.ceil(length / LINE_STEP), MOST_STEPS);
    for (let step = 0; step <= steps; step += 1) {
      const share = steps ? step / steps : 0;
      boxes.push(about([fromX + share * (x - fromX), fromY + share * (y - fromY)], LINE_HALF));
    }
  }
  return boxes;
}
