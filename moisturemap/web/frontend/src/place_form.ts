// A place given by its two numbers, for who measured it.

import { button, field, fold, h } from "./dom";
import { againstLength, firstWrong, type Field } from "./field_checks";
import type { Place } from "./geometry";
import { readLength, type LengthUnit } from "./lengths";
import { t } from "./strings";

export function placeForm(
  title: string,
  unit: LengthUnit,
  take: (place: Place) => void,
  words = t("add-corner"),
): HTMLElement {
  const inputmode = unit === "m" ? "decimal" : "text";
  const [x, y] = ["x", "y"].map((name) => field(name, { inputmode, unit, value: "0" })) as [
    Field,
    Field,
  ];
  const go = (): void => {
    if (firstWrong([x, againstLength(x, unit)], [y, againstLength(y, unit)]) === null)
      take([readLength(x.input.value, unit), readLength(y.input.value, unit)]);
  };
  return fold(title, false, h("div", { class: "row" }, x.row, y.row), button(words, go));
}
