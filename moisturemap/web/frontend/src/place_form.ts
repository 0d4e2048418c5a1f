// A place given by its two numbers, for who measured it.

import { button, field, fold, h } from "./dom";
import type { Place } from "./geometry";
import { readLength, type LengthUnit } from "./lengths";
import { t } from "./strings";

export function placeForm(
  title: string,
  unit: LengthUnit,
  take: (place: Place) => void,
  refuse: () => void,
): HTMLElement {
  const inputmode = unit === "m" ? "decimal" : "text";
  const [x, y] = ["x", "y"].map((name) => field(name, { inputmode, unit, value: "0" }));
  const go = (): void => {
    const place: Place = [readLength(x!.input.value, unit), readLength(y!.input.value, unit)];
    if (place.some(Number.isNaN)) refuse();
    else take(place);
  };
  return fold(
    title,
    false,
    h("div", { class: "row" }, x!.row, y!.row),
    button(t("add-corner"), go),
  );
}
