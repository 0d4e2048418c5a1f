// What drying says in numbers: the wet area of each visit, the air, the areas named, what moves gain.

import { fold, table } from "./dom";
import type { DryingAnswer, Placement } from "./drying_types";
import { fahrenheit, writeArea, writeLength, type LengthUnit } from "./lengths";
import { number } from "./numbers";
import { t, unitWord, word } from "./strings";

export function wetTable(answer: DryingAnswer, unit: LengthUnit): HTMLElement | null {
  const rows = answer.wet_areas.map((one) => [
    one.visit,
    writeArea(one.area_m2, unit),
    `${writeArea(one.low_m2, unit)} – ${writeArea(one.high_m2, unit)}`,
  ]);
  return rows.length
    ? fold(
        t("wet-areas"),
        true,
        table(t("wet-areas"), [t("visit"), t("area"), t("area-range")], rows, undefined, true),
      )
    : null;
}

export function airTable(answer: DryingAnswer, unit: LengthUnit): HTMLElement | null {
  const us = unit === "ft";
  const degrees = (celsius: unknown): string =>
    number(us && typeof celsius === "number" ? fahrenheit(celsius) : celsius);
  const rows = answer.air.map((one) => [
    String(one.visit),
    degrees(one.air_temperature_c),
    number(one.air_rh_pct),
    degrees(one.dew_point_c),
    number(one.humidity_ratio_g_kg),
    number(one.greatest_drive_pa),
    String(one.warning ?? ""),
  ]);
  const heads = [
    t("visit"),
    t(us ? "air-f" : "air-c"),
    unitWord("%RH"),
    t(us ? "dew-point-f" : "dew-point"),
    t("humidity-ratio"),
    t("drive"),
    t("warning"),
  ];
  return rows.length ? fold(t("air"), false, table(t("air"), heads, rows, undefined, true)) : null;
}

export function areaTable(answer: DryingAnswer, unit: LengthUnit): HTMLElement {
  const rows = answer.areas.map((one) => [
    String(one.area),
    word("area", String(one.kind)),
    String(one.room),
    writeArea(Number(one.area_m2), unit),
    String(one.sentence),
  ]);
  return table(t("areas"), [t("number"), t("kind"), t("room"), t("area"), t("what")], rows);
}

/** What a score counts, a way in the unit of the page. */
export function scored(value: number | null, of: string, unit: LengthUnit): string {
  if (value === null) return "–";
  return of === "m" && unit === "ft" ? writeLength(value, unit) : `${number(value)} ${of}`;
}

/** How well machines stand today, and would. */
export function gainTable(placement: Placement, unit: LengthUnit): HTMLElement | null {
  if (!placement.scores.length) return null;
  const cell = (value: number | null, of: string): string => scored(value, of, unit);
  const rows = placement.scores.map((one) => [
    word("machine", one.kind),
    cell(one.today, one.unit),
    cell(one.proposed, one.unit),
    cell(one.gain_pct, "%"),
  ]);
  return table(t("gain"), [t("kind"), t("today"), t("proposed"), t("gain-short")], rows);
}
