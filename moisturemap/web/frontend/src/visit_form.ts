// A visit: when, who, the air, readings on floor known to be dry, and the log of the room's air.

import { ask } from "./api";
import { button, dialog, field, h, section, table } from "./dom";
import { newKey } from "./keep";
import { celsius, fahrenheit, readNumber } from "./lengths";
import { number } from "./numbers";
import { t } from "./strings";
import type { AmbientInfo, Context, VisitInfo } from "./task";
import { localTime } from "./test_fields";
import { askWho } from "./who";

type Field = ReturnType<typeof field>;

/** A field for a temperature in the unit of this job. */
function degrees(context: Context, label: string, value: number | null, hint = ""): Field {
  const us = context.unit === "ft";
  const shown = value === null ? "" : number(us ? fahrenheit(value) : value);
  return field(label, { unit: us ? "°F" : "°C", inputmode: "decimal", value: shown, hint });
}

function humidity(label: string, value: number | null, hint = ""): Field {
  const shown = value === null ? "" : number(value);
  return field(label, { unit: "%RH", inputmode: "decimal", value: shown, hint });
}

const typed = (one: Field): number | null =>
  one.input.value.trim() ? readNumber(one.input.value) : null;

function typedDegrees(context: Context, one: Field): number | null {
  const value = typed(one);
  return value === null || context.unit === "m" ? value : Math.round(celsius(value) * 100) / 100;
}

function wrong(temperatures: Field[], humidities: Field[]): string | null {
  for (const one of [...temperatures, ...humidities])
    if (Number.isNaN(typed(one) ?? 0)) return t("bad-number", { value: one.input.value });
  const damp = humidities.map(typed).filter((one) => one !== null);
  return damp.some((one) => one < 0 || one > 100) ? t("bad-rh") : null;
}

/** Ask for a visit, new or to be corrected, and store it; true when it was stored. */
export async function visitForm(
  context: Context,
  name: string,
  visit: VisitInfo | null = null,
): Promise<boolean> {
  const taken = new Set(context.project.visits.map((one) => one.id));
  let count = taken.size + 1;
  while (taken.has(`v${count}`)) count += 1;
  const id = field(t("visit-id"), { value: visit?.id ?? `v${count}`, more: { maxlength: 40 } });
  id.input.disabled = visit !== null;
  const began = visit ? visit.started && new Date(visit.started) : new Date();
  const started = field(t("started"), {
    type: "datetime-local",
    value: began ? localTime(began) : "",
  });
  const operator = field(t("operator"), {
    value: visit?.operator ?? name,
    more: { maxlength: 80 },
  });
  const air = degrees(context, t("air-temperature"), visit?.air_temperature_c ?? null);
  const rh = humidity(t("air-rh"), visit?.air_rh_pct ?? null);
  const slab = degrees(context, t("slab-temperature"), visit?.slab_temperature_c ?? null);
  const service = degrees(
    context,
    t("service-temperature"),
    visit?.service_temperature_c ?? null,
    t("service-hint"),
  );
  const serviceRh = humidity(t("service-rh"), visit?.service_rh_pct ?? null);
  const dry = field(t("dry-reference"), {
    hint: t("dry-reference-hint"),
    inputmode: "text",
    value: visit?.dry_reference.join(" ") ?? "",
  });
  const dries = (): number[] =>
    dry.input.value
      .split(/[;\s]+/)
      .filter(Boolean)
      .map(readNumber);
  const refuse = (): string | null => {
    const given = id.input.value.trim();
    if (!given) return t("name-needed");
    if (!visit && taken.has(given)) return t("name-taken", { name: given });
    const bad = wrong([air, slab, service], [rh, serviceRh]);
    if (bad) return bad;
    return dries().some(Number.isNaN) ? t("bad-number", { value: dry.input.value }) : null;
  };
  const form = [
    h("div", { class: "two" }, id.row, started.row, operator.row, air.row, rh.row, slab.row),
    dry.row,
    h("div", { class: "two" }, service.row, serviceRh.row),
  ];
  const title = visit ? t("visit-named", { visit: visit.id }) : t("new-visit");
  if (!(await dialog(title, form, [["ok", t("store"), "main"]], refuse))) return false;
  const body = {
    id: id.input.value.trim(),
    started: started.input.value ? new Date(started.input.value).toISOString() : null,
    operator: operator.input.value.trim(),
    air_temperature_c: typedDegrees(context, air),
    air_rh_pct: typed(rh),
    slab_temperature_c: typedDegrees(context, slab),
    dry_reference: dries(),
    service_temperature_c: typedDegrees(context, service),
    service_rh_pct: typed(serviceRh),
    acclimation: visit?.acclimation ?? [],
    note: visit?.note ?? "",
    who: name,
  };
  await put(context, visit, body);
  return true;
}

async function put(context: Context, visit: VisitInfo | null, body: unknown): Promise<void> {
  const path = context.path(visit ? `visits/${encodeURIComponent(visit.id)}` : "visits");
  await ask(path, { method: visit ? "PUT" : "POST", body, key: newKey() });
  await context.refresh();
}

/** The air of the visit: in normal use, and the log before and during the tests. */
export function roomAirSection(context: Context, changed: () => Promise<void>): HTMLElement {
  const visit = context.project.visits.find((one) => one.id === context.visit);
  if (!visit) return section(t("room-air"));
  const shown = (value: number | null): string =>
    value === null ? "–" : number(context.unit === "ft" ? fahrenheit(value) : value);
  const rows = visit.acclimation.map((one) => [
    new Date(one.when).toLocaleString(),
    shown(one.air_temperature_c),
    one.air_rh_pct === null ? "–" : number(one.air_rh_pct),
    shown(one.slab_temperature_c),
  ]);
  const unit = context.unit === "ft" ? "°F" : "°C";
  const heads = [t("when"), `${t("air")} ${unit}`, "%RH", `${t("slab-short")} ${unit}`];
  const act = async (what: (name: string, visit: VisitInfo) => Promise<boolean>): Promise<void> => {
    const name = await askWho();
    if (name && (await what(name, visit))) await changed();
  };
  return section(
    t("room-air"),
    h("p", { class: "words" }, t("room-air-how")),
    rows.length ? table(t("room-air"), heads, rows, undefined, true) : null,
    h(
      "div",
      { class: "row" },
      button(t("add-air"), () => void act((name) => addAir(context, name, visit))),
      button(t("change-visit"), () => void act((name) => visitForm(context, name, visit)), "plain"),
    ),
  );
}

async function addAir(context: Context, name: string, visit: VisitInfo): Promise<boolean> {
  const when = field(t("when"), { type: "datetime-local", value: localTime(new Date()) });
  const air = degrees(context, t("air-temperature"), null);
  const rh = humidity(t("air-rh"), null);
  const slab = degrees(context, t("slab-temperature"), null);
  const refuse = (): string | null => {
    if (!when.input.value) return t("when-needed");
    const bad = wrong([air, slab], [rh]);
    if (bad) return bad;
    return [air, rh, slab].every((one) => typed(one) === null) ? t("one-value-needed") : null;
  };
  const form = [h("div", { class: "two" }, when.row, air.row, rh.row, slab.row)];
  if (!(await dialog(t("add-air"), form, [["ok", t("store"), "main"]], refuse))) return false;
  const entry: AmbientInfo = {
    when: new Date(when.input.value).toISOString(),
    air_temperature_c: typedDegrees(context, air),
    air_rh_pct: typed(rh),
    slab_temperature_c: typedDegrees(context, slab),
    room: "",
    note: "",
  };
  const kept: Partial<VisitInfo> = { ...visit };
  delete kept.readings;
  const acclimation = [...visit.acclimation, entry];
  await put(context, visit, { ...kept, note: visit.note ?? "", acclimation, who: name });
  return true;
}
