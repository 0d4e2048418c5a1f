// A place given by its two numbers, for who measured it.

import { button, field, fold, h } from "./dom";
import type { Place } from "./geometry";
import { readNumber } from "./lengths";
import { t } from "./strings";

export function placeForm(
  title: string,
  take: (place: Place) => void,
  refuse: () => void,
): HTMLElement {
  const x = field("x", { inputmode: "decimal", unit: "m", value: "0" });
  const y = field("y", { inputmode: "decimal", unit: "m", value: "0" });
  const go = (): void => {
    const place: Place = [readNumber(x.input.value), readNumber(y.input.value)];
    if (place.some(Number.isNaN)) refuse();
    else take(place);
  };
  return fold(title, false, h("div", { class: "row" }, x.row, y.row), button(t("add-corner"), go));
}
