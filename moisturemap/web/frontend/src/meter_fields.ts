// Fields of a meter of relative readings: how wide it answers, and in what steps it shows.

import { field } from "./dom";
import { againstNumber, firstWrong, typedNumber, type Field } from "./field_checks";
import { readMillimetres, writeMillimetres, type LengthUnit } from "./lengths";
import { t } from "./strings";

/** How wide a scanner answers across something thin, typed in millimetres or inches. */
export function footprintField(
  metres: number | null,
  unit: LengthUnit,
): {
  row: HTMLElement;
  metres: () => number | null;
  wrong: () => string | null;
} {
  const box = field(t("footprint"), {
    inputmode: "decimal",
    unit: unit === "m" ? "mm" : "in",
    value: metres === null ? "" : writeMillimetres(Math.round(metres * 1e4) / 10, unit),
    hint: t(unit === "m" ? "footprint-hint" : "footprint-hint-ft"),
  });
  const read = (): number | null => {
    const text = box.input.value.trim();
    return text === "" ? null : readMillimetres(text, unit) / 1000;
  };
  const wrong = (): string | null => {
    const value = read();
    const good = value === null || (value >= 0.01 && value <= 0.5);
    const words = t(unit === "m" ? "footprint-wrong" : "footprint-wrong-ft");
    return firstWrong([box, good ? null : words]);
  };
  return { row: box.row, metres: read, wrong };
}

/** The least step its display shows, by which a decimal point that slipped is told. */
export function stepField(step: number | null): Field {
  const value = step === null ? "" : String(step);
  return field(t("meter-step"), { inputmode: "decimal", value, hint: t("meter-step-hint") });
}

/** Words against a step that is none, with the name of its field, or null. */
export function againstStep(box: Field): string | null {
  const none = (typedNumber(box) ?? 1) > 0 ? null : t("step-wrong");
  return firstWrong([box, againstNumber(box) ?? none]);
}
