// The panel of a chosen line: its name, length and places.

import type { FormActions } from "./chosen";
import { button, field, fold, h, table } from "./dom";
import { distance } from "./geometry";
import { writeLength, type LengthUnit } from "./lengths";
import type { Line, Plan } from "./plan_types";
import { t, word } from "./strings";

export function lineForm(
  plan: Plan,
  index: number,
  unit: LengthUnit,
  actions: FormActions,
): HTMLElement {
  const line = plan.lines[index]!;
  const put = (next: Line): void =>
    actions.change({ ...plan, lines: plan.lines.map((one, i) => (i === index ? next : one)) });
  const name = field(t("name"), {
    value: line.name,
    hint: line.kind === "known-service" ? t("line-name-hint") : "",
    more: { maxlength: 80 },
    onchange: (text) => put({ ...line, name: text.trim() }),
  });
  let total = 0;
  line.places.slice(1).forEach((place, i) => (total += distance(line.places[i]!, place)));
  const rows = line.places.map((place, i) => [
    String(i + 1),
    unit === "m" ? place[0].toFixed(3) : writeLength(place[0], unit),
    unit === "m" ? place[1].toFixed(3) : writeLength(place[1], unit),
  ]);
  return h(
    "div",
    {},
    h(
      "div",
      { class: "row spread top" },
      h("h1", {}, word("kind", line.kind)),
      button(t("done"), actions.leave, "main"),
    ),
    name.row,
    line.shape === "line"
      ? h("p", {}, t("line-length", { length: writeLength(total, unit) }))
      : null,
    line.kind === "known-service" ? h("p", { class: "caution" }, t("service-caution")) : null,
    fold(
      t("places"),
      false,
      table(t("places"), [t("corner"), ...(unit === "m" ? ["x [m]", "y [m]"] : ["x", "y"])], rows),
    ),
    button(t("remove-line"), actions.remove, "danger"),
  );
}
