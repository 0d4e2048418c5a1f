// The layers of a map answer on the plan.

import type { MapAnswer } from "./map_types";
import type { PlanView } from "./plan_view";
import { ENTRIES } from "./legend";
import { number } from "./numbers";
import { t } from "./strings";
import { anomalyStyle, bandStyle, holeStyle, readingStyle, testStyle, unknownStyle, unsureStyle, wetLineStyle, zoneStyle } from "./map_style";
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
    const source = view.collection(name, collection, style, zIndex, heavy);
    if (name === "wet_line") for (const line of source.getFeatures()) line.set("label", t("legend-wet", { level: number(answer.wet_level) }));
    present.add(name);
    const entry = ENTRIES.find((one) => one.layers.includes(name));
    if (entry) view.setVisible(name, entry.shown);
  }
  return present;
}
