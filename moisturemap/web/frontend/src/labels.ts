// Where the labels of points stand: each beside its point where nothing else stands, and gone where
// there is no room; coming closer brings it back.

import type Feature from "ol/Feature";
import type { Geometry } from "ol/geom";

export interface Labelled {
  feature: Feature<Geometry>;
  place: [number, number];
  text: string;
  /** Half the width of its symbol [px]; 0 for a name without a symbol. */
  radius: number;
  small: boolean;
  /** Labels of the highest rank are placed first. */
  rank: number;
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
let watcher: () => void = () => undefined;

/** Learn when labels changed, so that what was drawn with the old places is drawn again. */
export function watchLabels(changed: () => void): void {
  watcher = changed;
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
  if (!pen) return label.text.length * 8;
  pen.font = `${label.small ? "500 12px" : "600 14px"} system-ui, "Segoe UI", Roboto, "Noto Sans", sans-serif`;
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
  }
  for (const one of all) {
    if (!one.text) continue;
    placed.set(one.feature, null);
    const [x, y] = at(one);
    const [half, tall] = [width(one) / 2 + 3, one.small ? 8 : 9];
    for (const [dx, dy] of choices(one.radius, half, tall)) {
      const box: Box = [x + dx - half, y + dy - tall, x + dx + half, y + dy + tall];
      if (
        taken.some(
          (other) =>
            box[0] < other[2] && box[2] > other[0] && box[1] < other[3] && box[3] > other[1],
        )
      )
        continue;
      taken.push(box);
      placed.set(one.feature, { dx, dy });
      break;
    }
  }
}

/** Beside a symbol: below, above, right, left, then askew; a name without one may move up or down. */
function choices(radius: number, half: number, tall: number): [number, number][] {
  if (!radius)
    return [
      [0, 0],
      [0, -24],
      [0, 24],
      [0, -48],
      [0, 48],
      [-half, -24],
      [half, 24],
    ];
  const [down, aside] = [radius + tall + 2, radius + half + 2];
  return [
    [0, down],
    [0, -down],
    [aside, 0],
    [-aside, 0],
    [aside * 0.7, -down],
    [-aside * 0.7, -down],
    [aside * 0.7, down],
    [-aside * 0.7, down],
  ];
}
