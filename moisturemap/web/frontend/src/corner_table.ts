// The corners of an outline or hole as numbers that can be typed, added and taken away.

import { button, h, table } from "./dom";
import { crossingWalls, round, type Place } from "./geometry";
import { readLength, typedLength, type LengthUnit } from "./lengths";
import { withCornerAfter } from "./plan_changes";
import type { Room } from "./plan_types";
import { t } from "./strings";

export function cornerTable(
  room: Room,
  which: number,
  ring: Place[],
  unit: LengthUnit,
  put: (room: Room) => void,
): HTMLElement {
  const set = (next: Place[] | null): void => {
    const rings = next
      ? room.rings.map((one, i) => (i === which ? next : one))
      : room.rings.filter((_, i) => i !== which);
    put({ ...room, rings });
  };
  const words = h("p", { class: "words", role: "status" });
  const box = (corner: number, axis: 0 | 1): HTMLElement => {
    const input = h("input", {
      value: typedLength(ring[corner]![axis], unit),
      inputmode: unit === "m" ? "decimal" : "text",
      "aria-label": t(axis === 0 ? "corner-x" : "corner-y", { number: corner + 1 }),
      onchange: () => {
        const value = readLength(input.value, unit);
        const place = [...ring[corner]!] as Place;
        place[axis] = value;
        const next = ring.map((one, i) => (i === corner ? round(place) : one));
        const crossing = Number.isNaN(value) ? null : crossingWalls(next);
        const bad = Number.isNaN(value)
          ? t(unit === "m" ? "not-a-place" : "not-a-place-ft", { value: input.value })
          : crossing && t("walls-cross", { one: crossing[0], other: crossing[1] });
        input.setAttribute("aria-invalid", String(Boolean(bad)));
        words.textContent = bad || "";
        words.classList.toggle("bad", Boolean(bad));
        if (!bad) set(next);
      },
    });
    return input;
  };
  const without = (corner: number): void => {
    const next = ring.filter((_, j) => j !== corner);
    const crossing = crossingWalls(next);
    if (!crossing) return set(next);
    words.textContent = t("walls-cross", { one: crossing[0], other: crossing[1] });
    words.classList.add("bad");
  };
  const rows = ring.map((_, i) => [
    String(i + 1),
    box(i, 0),
    box(i, 1),
    h(
      "div",
      { class: "row" },
      button("+", () => set(withCornerAfter(ring, i)), "plain", {
        "aria-label": t("add-corner-after", { number: i + 1 }),
      }),
      button("×", () => without(i), "plain", {
        "aria-label": t("remove-corner", { number: i + 1 }),
        disabled: ring.length <= 3,
      }),
    ),
  ]);
  const title = which === 0 ? t("outline") : t("hole-number", { number: which });
  return h(
    "div",
    {},
    table(title, [t("corner"), ...(unit === "m" ? ["x [m]", "y [m]"] : ["x", "y"]), ""], rows),
    words,
    which > 0 ? button(t("remove-hole"), () => set(null), "danger") : null,
  );
}
