// The form of a drying machine: its kind, where it stands and which way it blows.

import { dialog } from "./dialog";
import { field, h, select } from "./dom";
import { againstLength, againstNumber, firstWrong, type Field } from "./field_checks";
import { readLength, readNumber, writeLength, type LengthUnit } from "./lengths";
import { t, word } from "./strings";

export interface Machine {
  id: number;
  machine: string;
  visit: string;
  kind: string;
  x: number;
  y: number;
  direction_deg: number | null;
  capacity: number | null;
  unit: string;
}

/** Ask about a machine; the button pressed and the machine as it was left, or null. */
export async function machineForm(
  title: string,
  machine: Omit<Machine, "id">,
  unit: LengthUnit,
  actions: [string, string, string?][],
): Promise<[string, Omit<Machine, "id">] | null> {
  const made = { ...machine };
  const name = field(t("name"), { value: made.machine, more: { maxlength: 40 } });
  const axis = (name: string, metres: number): Field => {
    const shown = unit === "m" ? metres.toFixed(2) : writeLength(metres, unit);
    const inputmode = unit === "m" ? "decimal" : "text";
    return field(name, { unit: unit === "m" ? "m" : undefined, value: shown, inputmode });
  };
  const [x, y] = [axis("x", made.x), axis("y", made.y)];
  const turn = field(t("blows"), {
    unit: "°",
    value: made.direction_deg === null ? "" : String(made.direction_deg),
    inputmode: "decimal",
    hint: t("blows-hint"),
  });
  const kinds: [string, string][] = [
    ["dehumidifier", word("machine", "dehumidifier")],
    ["air-mover", word("machine", "air-mover")],
  ];
  const refuse = (): string | null =>
    firstWrong(
      [name, name.input.value.trim() ? null : t("name-needed")],
      [x, againstLength(x, unit)],
      [y, againstLength(y, unit)],
      [turn, againstNumber(turn)],
    );
  const pressed = await dialog(
    title,
    [
      h(
        "div",
        { class: "two" },
        name.row,
        select(t("kind"), kinds, made.kind, (kind) => (made.kind = kind)),
      ),
      h("div", { class: "two" }, x.row, y.row),
      turn.row,
    ],
    actions,
    { accept: refuse },
  );
  if (!pressed) return null;
  // what is not typed over keeps its place
  const metres = (box: Field, before: number): number =>
    box.input.value === box.input.defaultValue ? before : readLength(box.input.value, unit);
  Object.assign(made, {
    machine: name.input.value.trim(),
    x: metres(x, machine.x),
    y: metres(y, machine.y),
    direction_deg: turn.input.value.trim() ? readNumber(turn.input.value) : null,
  });
  return [pressed, made];
}
