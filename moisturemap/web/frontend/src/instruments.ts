// Instruments with their certificates and checks: what a result can be traced to.

import { ask } from "./api";
import { dialog } from "./dialog";
import { append, button, field, h, section, select, table } from "./dom";
import { aboutDegrees, aboutShare, settled } from "./doubts";
import { againstNumber, askAbout, firstWrong, typedNumber, type Field } from "./field_checks";
import { insist } from "./insist";
import { againstStep, footprintField, stepField } from "./meter_fields";
import { newKey } from "./keep";
import { celsius, fahrenheit } from "./lengths";
import { number, recorded } from "./numbers";
import { t, unitWord, word } from "./strings";
import type { Context, InstrumentInfo } from "./task";
import { localTime } from "./test_fields";
import { askWho } from "./who";

const KINDS = ["rh-probe", "hood", "carbide", "mver", "oven-dry", "pin", "relative"];
/** What instruments of a kind state their uncertainty in; a relative reading has no unit. */
const UNCERTAIN_IN: Record<string, string> = {
  "rh-probe": "%RH",
  hood: "%RH",
  carbide: "CM-%",
  "oven-dry": "mass-%",
  pin: "%MC",
};
const SALTS = ["NaCl", "KCl", "KNO3", "K2SO4", "MgCl2", "LiCl"];
const REFERENCES = [...SALTS, "humidity-chamber", "check-block", "dry-reference"];

const typed = typedNumber;

function badNumber(...fields: Field[]): string | null {
  return firstWrong(...fields.map((one): [Field, string | null] => [one, againstNumber(one)]));
}

/** All instruments of the job, each to be opened, corrected and checked. */
export function instrumentSection(context: Context, changed: () => Promise<void>): HTMLElement {
  const list = context.project.instruments;
  const edit = async (one: InstrumentInfo | null): Promise<void> => {
    if (await instrumentForm(context, one)) await changed();
  };
  const check = async (one: InstrumentInfo): Promise<void> => {
    if (await checkForm(context, one)) await changed();
  };
  const box = section(t("instruments"), h("p", { class: "words" }, t("instruments-how")));
  for (const one of list) {
    const last = one.checks.at(-1);
    const facts = [
      one.serial && t("serial-is", { serial: one.serial }),
      one.certificate && t("certificate-is", { certificate: one.certificate }),
      one.calibrated && t("calibrated-is", { day: one.calibrated }),
      last
        ? t("last-check", {
            reference: last.reference,
            read: recorded(last.read),
            when: new Date(last.when).toLocaleDateString(),
          })
        : one.kind === "relative"
          ? ""
          : t("never-checked"),
    ].filter(Boolean);
    box.append(
      h(
        "div",
        { class: "card slim" },
        h("h3", {}, `${one.id}, ${word("kind", one.kind)}`),
        h("p", { class: "words" }, facts.join(" · ")),
        one.checks.length ? checkTable(context, one, changed) : null,
        h(
          "div",
          { class: "row" },
          button(t("add-check"), () => void check(one)),
          button(t("change"), () => void edit(one), "plain"),
        ),
      ),
    );
  }
  append(box, [button(t("new-probe"), () => void edit(null))]);
  return box;
}

function checkTable(
  context: Context,
  one: InstrumentInfo,
  changed: () => Promise<void>,
): HTMLElement {
  const rows = one.checks.map((check) => [
    new Date(check.when).toLocaleString(),
    check.reference,
    recorded(check.read),
    check.expected === null ? t("from-salt-table") : recorded(check.expected),
    check.temperature_c === null ? "–" : temperature(check.temperature_c, context),
  ]);
  const heads = [t("when"), t("reference"), t("read-there"), t("expected-there"), t("at-degrees")];
  return table(t("checks-of", { id: one.id }), heads, rows, (i) => void remove(i), true);

  async function remove(index: number): Promise<void> {
    const why = field(t("why"), { hint: t("why-hint"), more: { maxlength: 120 } });
    const actions: [string, string, string][] = [["ok", t("set-aside"), "danger"]];
    const content = [h("p", {}, rows[index]!.join(" · ")), why.row];
    const pressed = await dialog(t("check-of", { id: one.id }), content, actions, {
      accept: () => (why.input.value.trim() ? null : t("why-needed")),
      about: `${one.checks[index]!.id}`,
    });
    const name = pressed && (await askWho());
    if (!name) return;
    const id = encodeURIComponent(one.id);
    const path = context.path(`instruments/${id}/checks/${one.checks[index]!.id}`);
    const body = { why: why.input.value.trim(), who: name };
    const key = newKey();
    const words = t("check-of", { id: one.id });
    if (!(await insist(words, () => ask(path, { method: "DELETE", body, key })))) return;
    await changed();
  }
}

function temperature(celsiusValue: number, context: Context): string {
  return context.unit === "ft"
    ? `${number(fahrenheit(celsiusValue))} °F`
    : `${number(celsiusValue)} °C`;
}

/** Add an instrument or correct one; resolves with its name when it was stored. */
export async function instrumentForm(
  context: Context,
  one: InstrumentInfo | null,
  kinds: string[] = KINDS,
): Promise<string | null> {
  const name = await askWho();
  if (!name) return null;
  let kind = one?.kind ?? kinds[0]!;
  const text = (value: unknown): string =>
    value === null || value === undefined ? "" : String(value);
  const id = field(t("meter-name"), { value: one?.id ?? "", more: { maxlength: 60 } });
  id.input.disabled = one !== null;
  const model = field(t("model"), { value: text(one?.model), more: { maxlength: 80 } });
  const serial = field(t("serial"), { value: text(one?.serial), more: { maxlength: 60 } });
  const certificate = field(t("certificate"), {
    value: text(one?.certificate),
    more: { maxlength: 120 },
  });
  const calibrated = field(t("calibrated"), { type: "date", value: text(one?.calibrated) });
  const uncertainty = field(t("uncertainty"), {
    inputmode: "decimal",
    value: text(one?.uncertainty),
    hint: t("uncertainty-hint"),
    unit: unitWord(UNCERTAIN_IN[kind] ?? " "),
  });
  const footprint = footprintField(one?.footprint_m ?? null, context.unit);
  const low = field(t("scale-low"), { inputmode: "decimal", value: text(one?.scale?.[0]) });
  const high = field(t("scale-high"), {
    inputmode: "decimal",
    value: text(one?.scale?.[1]),
    hint: t("scale-hint"),
  });
  const step = stepField(one?.step ?? null);
  const refuse = (): string | null => {
    const unnamed = firstWrong([id, id.input.value.trim() ? null : t("name-needed")]);
    if (unnamed) return unnamed;
    const bad = badNumber(uncertainty, low, high) ?? againstStep(step) ?? footprint.wrong();
    if (bad) return bad;
    const [a, b] = [typed(low), typed(high)];
    const wrong = (a === null) !== (b === null) || (a !== null && b !== null && b <= a);
    return firstWrong([high, wrong ? t("scale-wrong") : null]);
  };
  const offered = kinds.includes(kind) ? kinds : [kind, ...kinds];
  const content = [
    select(
      t("kind"),
      offered.map((each) => [each, word("kind", each)]),
      kind,
      (chosen) => {
        kind = chosen;
        footprint.row.hidden = kind !== "relative";
        uncertainty.row.querySelector(".unit")!.textContent = unitWord(UNCERTAIN_IN[kind] ?? "");
      },
    ),
    h("div", { class: "two" }, id.row, model.row, serial.row, certificate.row),
    h("div", { class: "two" }, calibrated.row, uncertainty.row, low.row, high.row, step.row),
    footprint.row,
  ];
  footprint.row.hidden = kind !== "relative";
  const title = one ? t("instrument-is", { id: one.id }) : t("new-probe");
  const path = context.path(one ? `instruments/${encodeURIComponent(one.id)}` : "instruments");
  const key = newKey();
  const send = (): Promise<void> => {
    const body = {
      id: id.input.value.trim(),
      kind,
      model: model.input.value.trim(),
      serial: serial.input.value.trim(),
      certificate: certificate.input.value.trim(),
      calibrated: calibrated.input.value || null,
      uncertainty: typed(uncertainty),
      scale: typed(low) === null ? null : [typed(low), typed(high)],
      step: typed(step),
      footprint_m: kind === "relative" ? footprint.metres() : null,
      who: name,
    };
    return ask(path, { method: one ? "PUT" : "POST", body, key });
  };
  const store: [string, string, string][] = [["ok", t("store"), "main"]];
  if (!(await dialog(title, content, store, { accept: refuse, send }))) return null;
  await context.refresh();
  return id.input.value.trim();
}

/** Record a check against a salt or another reference. */
async function checkForm(context: Context, one: InstrumentInfo): Promise<boolean> {
  const name = await askWho();
  if (!name) return false;
  let reference = one.kind === "relative" ? "check-block" : "NaCl";
  const us = context.unit === "ft";
  const when = field(t("when"), { type: "datetime-local", value: localTime(new Date()) });
  const read = field(t("read-there"), { inputmode: "decimal" });
  const at = field(t("at-degrees"), {
    inputmode: "decimal",
    unit: us ? "°F" : "°C",
    hint: t("at-degrees-hint"),
  });
  const expected = field(t("expected-there"), {
    inputmode: "decimal",
    hint: t("expected-there-hint"),
  });
  const refuse = (): string | null => {
    const warm = SALTS.includes(reference) && typed(at) === null;
    const chamber = reference === "humidity-chamber" && typed(expected) === null;
    return (
      badNumber(read, at, expected) ??
      firstWrong(
        [when, when.input.value ? null : t("when-needed")],
        [read, typed(read) === null ? t("read-needed") : null],
        [at, warm ? t("degrees-needed") : null],
        [expected, chamber ? t("expected-needed") : null],
      )
    );
  };
  const rh = one.kind === "rh-probe" || one.kind === "hood";
  const sure = (): Promise<boolean> =>
    settled([
      ...askAbout(at, (value) => aboutDegrees(value, context.unit)),
      ...[read, expected].flatMap((box) =>
        rh ? askAbout(box, (value) => aboutShare(value, unitWord("%RH"))) : [],
      ),
    ]);
  const content = [
    h("p", { class: "words" }, t("check-how")),
    select(
      t("reference"),
      REFERENCES.map((each) => [each, word("reference", each)]),
      reference,
      (chosen) => (reference = chosen),
    ),
    h("div", { class: "two" }, when.row, read.row, at.row, expected.row),
  ];
  const title = t("check-of", { id: one.id });
  const path = context.path(`instruments/${encodeURIComponent(one.id)}/checks`);
  const key = newKey();
  const send = (): Promise<void> => {
    const degrees = typed(at);
    const body = {
      when: new Date(when.input.value).toISOString(),
      reference,
      read: typed(read),
      expected: typed(expected),
      temperature_c: degrees === null ? null : us ? celsius(degrees) : degrees,
      who: name,
    };
    return ask(path, { body, key });
  };
  const store: [string, string, string][] = [["ok", t("store"), "main"]];
  return Boolean(await dialog(title, content, store, { accept: refuse, sure, send }));
}
