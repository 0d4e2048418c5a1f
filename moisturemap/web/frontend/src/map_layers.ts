// The layers of a map answer on the plan.

import type { MapAnswer } from "./map_types";
import type { PlanView } from "./plan_view";
import { ENTRIES } from "./legend";
import { number } from "./numbers";
import { t } from "./strings";
import { setSpacing, anomalyStyle, bandStyle, holeStyle, readingStyle, testStyle, unknownStyle, unsureStyle, wetLineStyle, zoneStyle } from "./map_style";
import type Feature from "ol/Feature";
import type { Geometry } from "ol/geom";
import type { StyleFunction } from "ol/style/Style";

const LAYERS: [name: string, style: StyleFunction, zIndex: number, heavy: boolean][] = [
  ["bands", bandStyle, 20, true],
  ["unsure", unsureStyle, 24, true],
  ["unknown", unknownStyle, 25, true],
  ["wet_line", wetLineStyle, 30, true],
  ["readings", readingStyle, 60, true],
  ["anomalies", anomalyStyle, 70, false],
  ["zones", zoneStyle, 75, false],
  ["tests", testStyle, 78, false],
  ["holes", holeStyle, 80, false],
];

/** Draw the layers there are and return their names; hidden ones stay hidden. */
export function drawMap(view: PlanView, answer: MapAnswer, without: string[] = []): Set<string> {
  const present = new Set<string>();
  for (const [name, style, zIndex, heavy] of LAYERS) {
    const collection = answer.layers[name];
    view.drop(name);
    if (!collection?.features.length || without.includes(name)) continue;
    if (name === "readings") setSpacing(view.rooms.getExtent() ?? [0, 0, 1, 1], collection.features.length);
    const source = view.collection(name, collection, style, zIndex, heavy);
    if (name === "wet_line") for (const line of source.getFeatures()) line.set("label", t("legend-wet", { level: number(answer.wet_level) }));
    if (name === "tests") nameTests(source.getFeatures());
    present.add(name);
    const entry = ENTRIES.find((one) => one.layers.includes(name));
    if (entry) view.setVisible(name, entry.shown);
  }
  return present;
}

/** Tests at one place share one label: the highest result, and how many there are. */
export function nameTests(tests: Feature<Geometry>[]): void {
  const places = new Map<string, Feature<Geometry>[]>();
  for (const test of tests) {
    const place = String(test.getGeometry()?.getExtent());
    places.set(place, [...(places.get(place) ?? []), test]);
  }
  for (const group of places.values()) {
    group.sort((a, b) => Number(b.get("value")) - Number(a.get("value")));
    group.forEach((test, i) => test.set("quiet", i > 0));
    group[0]!.set("count", group.length);
  }
}
