// The layers of a map answer on the plan.

import type { Place } from "./geometry";
import type { MapAnswer } from "./map_types";
import type { Collection } from "./plan_features";
import type { PlanView } from "./plan_view";
import { ENTRIES } from "./legend";
import { number } from "./numbers";
import { t, word } from "./strings";
import { setDots, setLabels, type Labelled, type Layout } from "./labels";
import { bandStyle, unknownStyle, unsureStyle } from "./area_style";
import { setSpacing, readingStyle } from "./reading_style";
import { holeStyle, testStyle } from "./sign_style";
import { namePlace } from "./names";
import {
  anomalyStyle,
  sweepStyle,
  thingName,
  wetLineStyle,
  zoneName,
  zoneStyle,
} from "./thing_style";
import type Feature from "ol/Feature";
import { LineString, MultiPolygon, Point, Polygon, type Geometry } from "ol/geom";
import type { StyleFunction } from "ol/style/Style";

const LAYERS: [name: string, style: StyleFunction, zIndex: number, heavy: boolean][] = [
  ["bands", bandStyle, 20, true],
  ["unsure", unsureStyle, 24, true],
  ["unknown", unknownStyle, 25, true],
  ["wet_line", wetLineStyle, 30, true],
  ["readings", readingStyle, 60, true],
  ["anomalies", anomalyStyle, 70, false],
  ["sweeps", sweepStyle, 72, false],
  ["zones", zoneStyle, 75, false],
  ["tests", testStyle, 78, false],
  ["holes", holeStyle, 80, false],
];

/** Draw the layers there are and return their names; hidden ones stay hidden. */
export function drawMap(
  view: PlanView,
  answer: MapAnswer,
  without: string[] = [],
  muteTests = false,
): Set<string> {
  const present = new Set<string>();
  for (const [name] of LAYERS)
    if (!without.includes(name)) drawLayer(view, name, answer.layers[name], present, muteTests);
  return present;
}

/** Draw one layer of a map in place of the one before, and note what there is of it. */
export function drawLayer(
  view: PlanView,
  name: string,
  collection: Collection | undefined,
  present: Set<string>,
  muteTests = false,
): void {
  const [, style, zIndex, heavy] = LAYERS.find((one) => one[0] === name)!;
  view.drop(name);
  if (!collection?.features.length) return;
  if (name === "readings")
    setSpacing(view.rooms.getExtent() ?? [0, 0, 1, 1], collection.features.length);
  const source = view.collection(name, collection, style, zIndex, heavy);
  if (name === "readings") setDots(source);
  if (name === "anomalies")
    for (const one of source.getFeatures()) present.add(signOfThing(one.get("standing")));
  if (name === "tests") {
    for (const test of source.getFeatures()) test.set("muted", muteTests);
    nameTests(source.getFeatures());
  } else nameLayer(name, source.getFeatures());
  if (name === "holes") for (const one of source.getFeatures()) present.add(signOfHole(one));
  else present.add(name);
  const entry = ENTRIES.find((one) => one.layers.includes(name));
  if (entry) view.setVisible(name, entry.shown);
}

/** Which sign of the legend a thing has on the plan. */
export function signOfThing(standing: unknown): string {
  return standing === "contested" ? "contested" : "things";
}

/** Which sign of the legend a hole has on the plan. */
export function signOfHole(hole: Feature<Geometry>): string {
  const status = String(hole.get("status"));
  if (status === "blocked") return status;
  return status === "issued" || status === "done" ? "issued" : "holes";
}

const NARROW_PX = 560;

/** Half the sign at the end of a line, its rim included [px]: a bar of a sweep, the head of an arrow. */
const END_PX: Record<string, number> = { sweeps: 10, moves: 10 };

interface Naming {
  radius: number;
  small: boolean;
  rank: number;
  text: (feature: Feature<Geometry>) => string;
  /** What names it where there is room for no more. */
  shorter?: (feature: Feature<Geometry>) => string;
}

const NAMED: Record<string, Naming> = {
  holes: { radius: 13, small: false, rank: 5, text: (one) => String(one.get("hole") ?? "") },
  issued: { radius: 13, small: false, rank: 5, text: (one) => String(one.get("hole") ?? "") },
  tests: { radius: 11, small: true, rank: 2, text: (one) => String(one.get("text") ?? "") },
  anomalies: { radius: 12, small: true, rank: 1, text: thingName },
  sweeps: { radius: 0, small: true, rank: 1, text: (one) => String(one.get("sweep") ?? "") },
  zones: { radius: 0, small: false, rank: 4, text: zoneName },
  areas: { radius: 0, small: false, rank: 4, text: (one) => String(one.get("area") ?? "") },
  moves: { radius: 0, small: true, rank: 0, text: () => "" },
  machines: {
    radius: 16,
    small: true,
    rank: 4,
    text: (one) => `${one.get("machine") ?? ""} ${word("machine", String(one.get("kind")))}`,
    shorter: (one) => String(one.get("machine") ?? ""),
  },
};

/** Give the labels of a layer, if it has any, their places among all others of the plan. */
export function nameLayer(layer: string, features: Feature<Geometry>[], among?: Layout): void {
  if (!(layer in NAMED)) return;
  const { radius, small, rank, text, shorter } = NAMED[layer]!;
  const labels: Labelled[] = [];
  for (const feature of features) {
    const geometry = feature.getGeometry();
    const place = namePlace(geometry);
    if (!place) continue;
    feature.set("name_place", place, true);
    const wide = geometry instanceof Point ? radius : 0;
    const line =
      geometry instanceof LineString ? (geometry.getCoordinates() as Place[]) : undefined;
    const ends = line ? END_PX[layer] : 0;
    for (const rim of rimsOf(layer === "areas" ? geometry : undefined))
      labels.push({ feature, place, text: "", radius: 0, small, rank, rim });
    const words = { text: text(feature), shorter: shorter?.(feature) };
    labels.push({ feature, place, ...words, radius: wide, small, rank, line, ends });
  }
  setLabels(layer, labels, among);
}

/** The outer rims of an area, which no words stand on. */
function rimsOf(geometry: Geometry | undefined): Place[][] {
  const areas =
    geometry instanceof MultiPolygon
      ? geometry.getPolygons()
      : geometry instanceof Polygon
        ? [geometry]
        : [];
  return areas.map((one) => one.getCoordinates()[0] as Place[]);
}

/**
 * Tests at one place share one label: the latest result nearest the depth the rule names, and how
 * many more there are.
 */
export function nameTests(tests: Feature<Geometry>[]): void {
  const places = new Map<string, Feature<Geometry>[]>();
  for (const test of tests) {
    const place = String(test.getGeometry()?.getExtent());
    places.set(place, [...(places.get(place) ?? []), test]);
  }
  for (const group of places.values()) {
    const latest = (at: number): number =>
      Math.max(
        ...group.map((one) => (offDepth(one) === at ? (readAt(one) ?? -Infinity) : -Infinity)),
      );
    const passed = (one: Feature<Geometry>): number =>
      Number((readAt(one) ?? Infinity) < latest(offDepth(one)));
    group.sort(
      (a, b) =>
        offDepth(a) - offDepth(b) ||
        passed(a) - passed(b) ||
        Number(b.get("value")) - Number(a.get("value")),
    );
    const [first, ...others] = group as [Feature<Geometry>, ...Feature<Geometry>[]];
    for (const other of others) other.set("text", "");
    const value = first.get("value") as number | null;
    // On a phone a result beside its sign would run off the screen or over the next one.
    const result =
      value === null || innerWidth < NARROW_PX
        ? ""
        : ` ${number(value)} ${first.get("unit") ?? ""}`;
    const depths = new Set(group.map((one): unknown => one.get("depth_mm"))).size - 1;
    const more =
      depths > 0
        ? t("more-depths", { n: depths })
        : others.length
          ? t("more-tests", { n: others.length })
          : "";
    first.set(
      "text",
      first.get("muted") ? "" : `${first.get("hole") ?? ""}${result} ${more}`.trim(),
    );
  }
  nameLayer("tests", tests);
}

/** When a test was read; what does not say may be the latest. */
function readAt(test: Feature<Geometry>): number | null {
  return Date.parse(String(test.get("read") ?? "")) || null;
}

function offDepth(test: Feature<Geometry>): number {
  const off = test.get("off_depth_mm") as number | null | undefined;
  return off ?? Number.MAX_VALUE;
}
