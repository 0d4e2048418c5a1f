// A visit: when, who, the air, readings on floor known to be dry, and the log of the room's air.

import { ask } from "./api";
import { dialog } from "./dialog";
import { button, field, h, section, table } from "./dom";
import { aboutAhead, aboutDegrees, aboutShare, settled, type Doubt } from "./doubts";
import { doubtful, listsOf, numbersOf, understood } from "./dry_list";
import { againstNumber, askAbout, firstWrong, put, typedNumber, type Field } from "./field_checks";
import { newKey } from "./keep";
import { bothWays, celsius, fahrenheit, mayBeThousand, readNumber } from "./lengths";
import { number } from "./numbers";
import { t, unitWord } from "./strings";
import type { AmbientInfo, Context, VisitInfo } from "./task";
import { localTime } from "./test_fields";
import { askWho } from "./who";

/** A field for a temperature in the unit of this job. */
function degrees(context: Context, label: string, value: number | null, hint = ""): Field {
  const us = context.unit === "ft";
  const shown = value === null ? "" : number(us ? fahrenheit(value) : value);
  return field(label, { unit: us ? "°F" : "°C", inputmode: "decimal", value: shown, hint });
}

function humidity(label: string, value: number | null, hint = ""): Field {
  const shown = value === null ? "" : number(value);
  return field(label, { unit: unitWord("%RH"), inputmode: "decimal", value: shown, hint });
}

function typedDegrees(context: Context, one: Field): number | null {
  const value = typedNumber(one);
  return value === null || context.unit === "m" ? value : Math.round(celsius(value) * 100) / 100;
}

/** Bounds of what air and slab can be, in the unit of this job. */
function againstDegrees(context: Context, one: Field): string | null {
  const [low, high] = context.unit === "ft" ? [-40, 194] : [-40, 90];
  return againstNumber(one, low, high);
}

function wrong(context: Context, temperatures: Field[], humidities: Field[]): string | null {
  return firstWrong(
    ...temperatures.map((one): [Field, string | null] => [one, againstDegrees(context, one)]),
    ...humidities.map((one): [Field, string | null] => [one, againstNumber(one, 0, 100)]),
  );
}

/** Questions about values that are possible and hardly meant. */
function unusual(context: Context, temperatures: Field[], humidities: Field[]): Doubt[] {
  return [
    ...temperatures.flatMap((one) => askAbout(one, (value) => aboutDegrees(value, context.unit))),
    ...humidities.flatMap((one) => askAbout(one, (value) => aboutShare(value, unitWord("%RH")))),
  ];
}

/** Ask about a time that is still to come. */
function ahead(label: string, one: Field): Doubt[] {
  const words = aboutAhead(one.input.value);
  return words ? [{ label, ...words, take: () => undefined }] : [];
}

interface Checks {
  accept: () => string | null;
  sure: () => Promise<boolean>;
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
    oninput: (text) => dry.say(understood(text)),
  });
  const refuse = (): string | null => {
    const given = id.input.value.trim();
    const known = !visit && taken.has(given);
    const unnamed = !given ? t("name-needed") : known ? t("name-taken", { name: given }) : null;
    const bad = listsOf(dry.input.value)[0]!.find((one) => Number.isNaN(readNumber(one)));
    const grouped = dry.input.value
      .split(/[;\s]+/)
      .find((one) => one.includes(".") && mayBeThousand(one));
    return (
      firstWrong([id, unnamed]) ??
      wrong(context, [air, slab, service], [rh, serviceRh]) ??
      firstWrong([
        dry,
        grouped === undefined ? null : t("thousand-or-decimal", bothWays(grouped)),
      ]) ??
      firstWrong([dry, bad === undefined ? null : t("bad-number", { value: bad })])
    );
  };
  const asked = (): Doubt[] => [
    ...ahead(t("started"), started),
    ...unusual(context, [air, slab, service], [rh, serviceRh]),
    ...[doubtful(t("dry-reference"), dry.input.value, (text) => put(dry, text))].filter(
      (one) => one !== null,
    ),
  ];
  const form = [
    h("div", { class: "two" }, id.row, started.row, operator.row, air.row, rh.row, slab.row),
    dry.row,
    h("div", { class: "two" }, service.row, serviceRh.row),
  ];
  const title = visit ? t("visit-named", { visit: visit.id }) : t("new-visit");
  const body = (): unknown => ({
    id: id.input.value.trim(),
    started: started.input.value ? new Date(started.input.value).toISOString() : null,
    operator: operator.input.value.trim(),
    air_temperature_c: typedDegrees(context, air),
    air_rh_pct: typedNumber(rh),
    slab_temperature_c: typedDegrees(context, slab),
    dry_reference: numbersOf(dry.input.value),
    service_temperature_c: typedDegrees(context, service),
    service_rh_pct: typedNumber(serviceRh),
    acclimation: visit?.acclimation ?? [],
    note: visit?.note ?? "",
    who: name,
  });
  const sure = (): Promise<boolean> => settled(asked());
  return stored(context, visit, [title, form], { accept: refuse, sure, body });
}

/** Show a form about a visit and store what it holds; true when it was stored. */
async function stored(
  context: Context,
  visit: VisitInfo | null,
  [title, form]: [string, HTMLElement[]],
  { body, ...checks }: Checks & { body: () => unknown },
): Promise<boolean> {
  const key = newKey();
  const path = context.path(visit ? `visits/${encodeURIComponent(visit.id)}` : "visits");
  const send = (): Promise<void> =>
    ask(path, { method: visit ? "PUT" : "POST", body: body(), key });
  const about = visit?.id ?? "";
  const pressed = await dialog(title, form, [["ok", t("store"), "main"]], {
    ...checks,
    send,
    about,
  });
  if (pressed) await context.refresh();
  return pressed !== null;
}

/** When a visit was, and its air, in a few words. */
export function visitFacts(context: Context, visit: VisitInfo): string {
  const warm = (value: number | null): string =>
    value === null
      ? ""
      : `${number(context.unit === "ft" ? fahrenheit(value) : value)} °${context.unit === "ft" ? "F" : "C"}`;
  const facts = [
    visit.started === null ? "" : new Date(visit.started).toLocaleString(),
    visit.air_temperature_c === null ? "" : `${t("air")} ${warm(visit.air_temperature_c)}`,
    visit.air_rh_pct === null ? "" : `${number(visit.air_rh_pct)} ${unitWord("%RH")}`,
    visit.slab_temperature_c === null ? "" : `${t("slab-short")} ${warm(visit.slab_temperature_c)}`,
    visit.dry_reference.length ? t("dry-readings", { n: visit.dry_reference.length }) : "",
  ];
  return facts.filter(Boolean).join(" · ");
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
  const heads = [t("when"), `${t("air")} ${unit}`, unitWord("%RH"), `${t("slab-short")} ${unit}`];
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
  const refuse = (): string | null =>
    firstWrong([when, when.input.value ? null : t("when-needed")]) ??
    wrong(context, [air, slab], [rh]) ??
    ([air, rh, slab].every((one) => typedNumber(one) === null) ? t("one-value-needed") : null);
  const sure = (): Promise<boolean> =>
    settled([...ahead(t("when"), when), ...unusual(context, [air, slab], [rh])]);
  const form = [h("div", { class: "two" }, when.row, air.row, rh.row, slab.row)];
  const body = (): unknown => {
    const entry: AmbientInfo = {
      when: new Date(when.input.value).toISOString(),
      air_temperature_c: typedDegrees(context, air),
      air_rh_pct: typedNumber(rh),
      slab_temperature_c: typedDegrees(context, slab),
      room: "",
      note: "",
    };
    const kept: Partial<VisitInfo> = { ...visit };
    delete kept.readings;
    const acclimation = [...visit.acclimation, entry];
    return { ...kept, note: visit.note ?? "", acclimation, who: name };
  };
  return stored(context, visit, [t("add-air"), form], { accept: refuse, sure, body });
}
