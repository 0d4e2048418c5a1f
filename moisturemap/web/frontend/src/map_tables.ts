// The map as tables: what a screen reader reads, and who prefers figures.

import { placeHead, writePlace } from "./place_words";
import { table } from "./dom";
import type { Place } from "./geometry";
import { writeArea, type LengthUnit } from "./lengths";
import type { MapAnswer } from "./map_types";
import { number, sentence } from "./numbers";
import { t, word } from "./strings";

const MOST_ROWS = 2000;

/** The wet zones; a row that is chosen asks for its peak. */
export function zoneTable(
  answer: MapAnswer,
  unit: LengthUnit,
  ask: (peak: Place) => void,
  quiet = false,
): HTMLElement | null {
  const zones = answer.layers.zones?.features ?? [];
  if (!zones.length) return null;
  const rows = zones.map(({ properties: p }) => [
    String(p.zone),
    String(p.room),
    writeArea(Number(p.area_m2), unit),
    `${writeArea(Number(p.area_low_m2), unit)} – ${writeArea(Number(p.area_high_m2), unit)}`,
    number(p.peak),
  ]);
  const peak = (i: number): void => {
    const p = zones[i]!.properties;
    ask([Number(p.peak_x), Number(p.peak_y)]);
  };
  return table(
    t("wet-zones"),
    [t("zone"), t("room"), t("area"), t("area-range"), t("peak")],
    rows,
    peak,
    quiet,
  );
}

/** Everything the map shows. */
export function mapTables(
  answer: MapAnswer,
  unit: LengthUnit,
  ask: (place: Place) => void,
): HTMLElement[] {
  const zones = zoneTable(answer, unit, ask);
  return [...(zones ? [zones] : []), bands(answer, unit), things(answer), readings(answer, unit)];
}

function bands(answer: MapAnswer, unit: LengthUnit): HTMLElement {
  const areas = new Map<string, number>();
  for (const { properties: p } of answer.layers.bands?.features ?? []) {
    const band = `${number(p.low)} – ${number(p.high)}`;
    areas.set(band, (areas.get(band) ?? 0) + Number(p.area_m2));
  }
  const rows = [...areas].map(([band, area]) => [band, writeArea(area, unit)]);
  return table(t("bands-table"), [sentence(t("relative-reading")), t("area")], rows);
}

function things(answer: MapAnswer): HTMLElement {
  const rows = (answer.layers.anomalies?.features ?? []).map(({ properties: p }) => [
    String(p.anomaly),
    word("anomaly", String(p.kind)),
    String(p.room),
    sentence(String(p.sentence)),
  ]);
  return table(t("anomalies"), [t("number"), t("kind"), t("room"), t("what")], rows);
}

function readings(answer: MapAnswer, unit: LengthUnit): HTMLElement {
  const rows = (answer.layers.readings?.features ?? [])
    .slice(0, MOST_ROWS)
    .map(({ properties: p }) => [
      String(p.label || p.reading),
      String(p.room),
      writePlace([Number(p.x), Number(p.y)], unit),
      number(p.value),
      word("flag", String(p.flag)),
      String(p.reason ?? ""),
    ]);
  const value = sentence(t("relative-reading"));
  return table(
    t("readings-table"),
    [t("number"), t("room"), placeHead(unit), value, t("state"), t("reason")],
    rows,
  );
}
