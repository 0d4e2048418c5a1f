// What a file of readings leaves open: its units, layout and decimal mark, and where its frame lies.

import { check, field, fold, h, select } from "./dom";
import { readLength, readNumber, typedLength, type LengthUnit } from "./lengths";
import { t } from "./strings";

export function fileSettings(
  unit: LengthUnit,
  now: Record<string, string>,
  set: (name: string, value: string) => void,
): HTMLElement {
  const units: [string, string][] = [
    ["m", t("metres")],
    ["mm", t("millimetres")],
    ["cm", t("centimetres")],
    ["ft", t("feet")],
    ["in", t("inches")],
  ];
  const layouts: [string, string][] = [
    ["auto", t("layout-auto")],
    ["long", t("layout-long")],
    ["grid", t("layout-grid")],
  ];
  const decimals: [string, string][] = [
    ["", t("decimal-auto")],
    [".", "1.5"],
    [",", "1,5"],
  ];
  const origin = (axis: "x" | "y"): HTMLElement => {
    const box = field(t(axis === "x" ? "origin-x" : "origin-y"), {
      value: typedLength(Number(now[`origin_${axis}`] ?? 0), unit),
      unit: unit === "m" ? unit : undefined,
      onchange: (text) => {
        const metres = readLength(text, unit);
        box.say(Number.isNaN(metres) ? t("bad-length", { value: text }) : "", Number.isNaN(metres));
        if (!Number.isNaN(metres)) set(`origin_${axis}`, String(metres));
      },
    });
    return box.row;
  };
  const turn = field(t("turn-degrees"), {
    value: now.rotate_deg ?? "0",
    unit: "°",
    inputmode: "decimal",
    onchange: (text) => {
      const degrees = readNumber(text);
      turn.say(
        Number.isNaN(degrees) ? t("bad-number", { value: text }) : "",
        Number.isNaN(degrees),
      );
      if (!Number.isNaN(degrees)) set("rotate_deg", String(degrees));
    },
  });
  return h(
    "div",
    {},
    h(
      "div",
      { class: "two" },
      select(t("units-of-file"), units, now.coordinates ?? unit, (value) =>
        set("coordinates", value),
      ),
      select(t("layout"), layouts, now.layout ?? "auto", (value) => set("layout", value)),
      select(t("decimal-mark"), decimals, now.decimal ?? "", (value) => set("decimal", value)),
    ),
    unit === "ft" ? h("p", { class: "words" }, t("units-of-job-ft")) : null,
    fold(
      t("placement"),
      false,
      h("p", { class: "words" }, t("placement-how")),
      h(
        "div",
        { class: "two" },
        origin("x"),
        origin("y"),
        turn.row,
        check(t("mirror"), now.mirror === "true", (mirror) => set("mirror", String(mirror))),
      ),
    ),
  );
}
