// The form of a meter of relative readings.

import { ask } from "./api";
import { dialog } from "./dialog";
import { field, h } from "./dom";
import { againstNumber, firstWrong, typedNumber } from "./field_checks";
import { newKey } from "./keep";
import { againstStep, footprintField, stepField } from "./meter_fields";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

/** Ask for a meter and store it; whether there is one more now. */
export async function meterForm(context: Context): Promise<boolean> {
  const name = await askWho();
  if (!name) return false;
  const id = field(t("meter-name"), { hint: t("meter-name-hint"), more: { maxlength: 60 } });
  const low = field(t("scale-low"), { value: "0", inputmode: "decimal" });
  const high = field(t("scale-high"), { inputmode: "decimal", hint: t("scale-hint") });
  const step = stepField(null);
  const serial = field(t("serial"), { more: { maxlength: 60 } });
  const footprint = footprintField(null, context.unit);
  const key = newKey();
  const refuse = (): string | null => {
    const [a, b] = [typedNumber(low), typedNumber(high)];
    const above = b === null || a === null || b > a ? null : t("scale-wrong");
    const unstated = b !== null && a === null ? t("scale-wrong") : null;
    return (
      firstWrong(
        [id, id.input.value.trim() ? null : t("name-needed")],
        [low, againstNumber(low) ?? unstated],
        [high, againstNumber(high) ?? above],
      ) ??
      againstStep(step) ??
      footprint.wrong()
    );
  };
  const send = (): Promise<void> => {
    const scale = typedNumber(high) === null ? null : [typedNumber(low), typedNumber(high)];
    const body = {
      id: id.input.value.trim(),
      kind: "relative",
      scale,
      step: typedNumber(step),
      serial: serial.input.value.trim(),
      footprint_m: footprint.metres(),
      who: name,
    };
    return ask(context.path("instruments"), { body, key });
  };
  const pressed = await dialog(
    t("new-meter"),
    [id.row, h("div", { class: "two" }, low.row, high.row, step.row), serial.row, footprint.row],
    [["ok", t("store"), "main"]],
    { accept: refuse, send },
  );
  return pressed !== null;
}
