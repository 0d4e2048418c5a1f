// What can be drawn: a room, or a line, door or area of a kind.

import { button, h, section, select } from "./dom";
import type { PlanSketch } from "./plan_sketch";
import { LINE_KINDS } from "./plan_types";
import { t, word } from "./strings";

let kind = "interior-wall";

export function drawSection(begun: boolean, sketch: PlanSketch): HTMLElement {
  const kinds = LINE_KINDS.map((one): [string, string] => [one, word("kind", one)]);
  return section(
    t("draw"),
    begun ? null : h("p", {}, t("plan-start")),
    button(t("draw-room"), () => sketch.room(), begun ? "" : "main"),
    h(
      "div",
      { class: "row end" },
      select(t("line-kind"), kinds, kind, (chosen) => (kind = chosen)),
      button(t("draw-line"), () => sketch.line(kind)),
    ),
  );
}
