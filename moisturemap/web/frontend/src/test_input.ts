// The field of one value of a test, in the units of the job.

import { check, field, select } from "./dom";
import type { LengthUnit } from "./lengths";
import { t, word } from "./strings";
import {
  against,
  fieldLabel,
  shownValue,
  storedValue,
  unitChoices,
  unitShown,
} from "./test_fields";
import type { Method, TestField, Values } from "./test_types";
import { withoutUnit } from "./typed_units";

function hintOf(one: TestField): string {
  if (one.name === "value") return t("result-hint");
  return word("field", one.name) === one.name ? one.meaning : "";
}

export function testInput(
  one: TestField,
  method: Method,
  values: Values,
  system: LengthUnit,
  put: (value: string | boolean) => void,
): HTMLElement {
  const text = fieldLabel(one);
  if (one.name === "unit")
    return select(
      text,
      unitChoices(method, values).map((unit) => [unit, unit]),
      String(values.unit ?? method.units[0]),
      put,
    );
  if (one.kind === "flag") return check(text, values[one.name] === true, put);
  const counted = one.kind === "number";
  const box = field(text, {
    type: one.kind === "time" ? "datetime-local" : "text",
    unit: counted ? unitShown(one, method, values, system) : undefined,
    inputmode: counted ? "decimal" : undefined,
    value: shownValue(one, String(values[one.name] ?? ""), system),
    hint: hintOf(one),
    oninput: (typed) => {
      const unit = counted ? unitShown(one, method, values, system) : "";
      const stored = storedValue(one, withoutUnit(typed, unit), system);
      const bad = counted && typed.trim() !== "" ? against(one, stored, unit) : null;
      box.say(bad ?? "", bad !== null);
      put(stored);
    },
  });
  return box.row;
}
