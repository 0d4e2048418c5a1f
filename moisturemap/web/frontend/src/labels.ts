// Where the labels of points stand: each beside its point where nothing else stands, and gone where
// there is no room; coming closer brings it back.

import type Feature from "ol/Feature";
import type { Geometry } from "ol/geom";
import type VectorSource from "ol/source/Vector";

import type { Place } from "./geometry";
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
  /** Half the width of the sign at each end of the line [px]. */
  ends?: number;
}

export interface Offset {
  dx: number;
  dy: number;
}

type Box = [west: number, north: number, east: number, south: number];

const pen = document.createElement("canvas").getContext("2d");
let items = new Map<string, Labelled[]>();
let placed = new Map<Feature<Geometry>, Offset | null>();
let placedAt = Number.NaN;
let dots: VectorSource<Feature<Geometry>> | null = null;
let watcher: () => void = () => undefined;

/** Learn when labels changed, so that what was drawn with the old places is drawn again. */
export function watchLabels(changed: () => void): void {
  watcher = changed;
}

/** Tell which signs lie thick all over the floor: names stand where they cover few of them. */
export function setDots(source: VectorSource<Feature<Geometry>> | null): void {
  dots = source;
  placedAt = Number.NaN;
}

/** Tell the labels of one layer; an empty list forgets them. */
export function setLabels(layer: string, labels: Labelled[]): void {
  if (labels.length) items.set(layer, labels);
  else if (!items.delete(layer)) return;
  placedAt = Number.NaN;
  watcher();
}

export function clearLabels(): void {
  items = new Map();
  placedAt = Number.NaN;
}

/** How far from its point the label of a feature stands [px], or null where there is no room. */
export function labelOffset(feature: unknown, resolution: number, unknown: Offset): Offset | null {
  if (placedAt !== resolution) placeAll(resolution);
  const found = placed.get(feature as Feature<Geometry>);
  return found === undefined ? unknown : found;
}

function width(label: Labelled): number {
  if (!pen) return label.text.length * 8 * letterScale();
  pen.font = fontOf(label.small);
  return pen.measureText(label.text).width;
}

function placeAll(resolution: number): void {
  placed = new Map();
  placedAt = resolution;
  const all = [...items.values()].flat().sort((a, b) => b.rank - a.rank);
  const taken: Box[] = [];
  const at = ({ place: [x, y] }: Labelled): [number, number] => [x / resolution, -y / resolution];
  for (const one of all) {
    const [x, y] = at(one);
    if (one.radius) taken.push([x - one.radius, y - one.radius, x + one.radius, y + one.radius]);
    taken.push(...alongLine(one, resolution));
  }
  for (const one of all) {
    if (!one.text) continue;
    placed.set(one.feature, null);
    const [x, y] = at(one);
    const [half, tall] = [
      width(one) / 2 + 3,
      FONT_PX[one.small ? "small" : "large"] * 0.66 * letterScale(),
    ];
    const free = choices(one, half, tall)
      .map(([dx, dy]): [Offset, Box] => [
        { dx, dy },
        [x + dx - half, y + dy - tall, x + dx + half, y + dy + tall],
      ])
      .filter(([, box]) => !taken.some((other) => overlap(box, other)));
    const covered = free.map(([, box]) => dotsUnder(box, resolution));
    const best = free[covered.indexOf(Math.min(...covered))];
    if (!best) continue;
    taken.push(best[1]);
    placed.set(one.feature, best[0]);
  }
}

function overlap(one: Box, other: Box): boolean {
  return one[0] < other[2] && one[2] > other[0] && one[1] < other[3] && one[3] > other[1];
}

/** Half the width of a dot [px]. */
const DOT_HALF = 5;

function dotsUnder([west, north, east, south]: Box, resolution: number): number {
  if (!dots) return 0;
  const box = [west - DOT_HALF, -south - DOT_HALF, east + DOT_HALF, -north + DOT_HALF];
  return dots.getFeaturesInExtent(box.map((one) => one * resolution)).length;
}

/** Half the width a line takes [px], and how far apart it is looked at. */
const [LINE_HALF, LINE_STEP] = [5, 10];
const MOST_STEPS = 400;

/** What a line and the signs at its ends take. */
function alongLine({ line, ends }: Labelled, resolution: number): Box[] {
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

/** Beside a symbol: below, above, right, left, then askew; a name without one may move about. */
function choices({ radius, line }: Labelled, half: number, tall: number): [number, number][] {
  if (line) {
    const [up, aside] = [tall + LINE_HALF + 2, half + LINE_HALF + 2];
    return [
      [0, -up],
      [0, up],
      [aside, 0],
      [-aside, 0],
      [aside, -up],
      [-aside, up],
      [0, -2 * up],
      [0, 2 * up],
      [2 * aside, 0],
      [-2 * aside, 0],
    ];
  }
  if (!radius) {
    const [up, far] = [2.6 * tall, 5.2 * tall];
    return [
      [0, 0],
      [0, -up],
      [0, up],
      [0, -far],
      [0, far],
      [-half, -up],
      [half, up],
    ];
  }
  const [down, aside] = [radius + tall + 2, radius + half + 2];
  const far = down + 2 * tall;
  return [
    [0, down],
    [0, -down],
    [aside, 0],
    [-aside, 0],
    [aside * 0.7, -down],
    [-aside * 0.7, -down],
    [aside * 0.7, down],
    [-aside * 0.7, down],
    [aside, -far],
    [-aside, -far],
    [aside, far],
    [-aside, far],
  ];
}
