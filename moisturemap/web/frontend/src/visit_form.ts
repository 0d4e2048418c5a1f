// Starting a visit: when, who, the air, and readings on floor known to be dry.

import { ask } from "./api";
import { dialog, field, h } from "./dom";
import { newKey } from "./keep";
import { readNumber } from "./lengths";
import { t } from "./strings";
import type { Context } from "./task";

function localNow(): string {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60_000).toISOString().slice(0, 16);
}

/** Ask for a new visit and store it; true when one was made. */
export async function visitForm(context: Context, name: string): Promise<boolean> {
  const taken = new Set(context.project.visits.map((visit) => visit.id));
  let number = taken.size + 1;
  while (taken.has(`v${number}`)) number += 1;
  const id = field(t("visit-id"), { value: `v${number}`, more: { maxlength: 40 } });
  const started = field(t("started"), { type: "datetime-local", value: localNow() });
  const operator = field(t("operator"), { value: name, more: { maxlength: 80 } });
  const air = field(t("air-temperature"), { unit: "°C", inputmode: "decimal" });
  const rh = field(t("air-rh"), { unit: "%RH", inputmode: "decimal" });
  const slab = field(t("slab-temperature"), { unit: "°C", inputmode: "decimal" });
  const dry = field(t("dry-reference"), { hint: t("dry-reference-hint"), inputmode: "text" });
  const number_ = (one: { input: HTMLInputElement }): number | null =>
    one.input.value.trim() ? readNumber(one.input.value) : null;
  const dries = (): number[] =>
    dry.input.value
      .split(/[;\s]+/)
      .filter(Boolean)
      .map(readNumber);
  const refuse = (): string | null => {
    if (!id.input.value.trim()) return t("name-needed");
    if (taken.has(id.input.value.trim())) return t("name-taken", { name: id.input.value.trim() });
    for (const one of [air, rh, slab])
      if (Number.isNaN(number_(one) ?? 0)) return t("bad-number", { value: one.input.value });
    const damp = number_(rh);
    if (damp !== null && (damp < 0 || damp > 100)) return t("bad-rh");
    return dries().some(Number.isNaN) ? t("bad-number", { value: dry.input.value }) : null;
  };
  const form = [
    h("div", { class: "two" }, id.row, started.row, operator.row, air.row, rh.row, slab.row),
    dry.row,
  ];
  const pressed = await dialog(t("new-visit"), form, [["ok", t("store"), "main"]], refuse);
  if (!pressed) return false;
  const body = {
    id: id.input.value.trim(),
    started: started.input.value ? new Date(started.input.value).toISOString() : null,
    operator: operator.input.value.trim(),
    air_temperature_c: number_(air),
    air_rh_pct: number_(rh),
    slab_temperature_c: number_(slab),
    dry_reference: dries(),
    who: name,
  };
  await ask(context.path("visits"), { body, key: newKey() });
  await context.refresh();
  return true;
}
