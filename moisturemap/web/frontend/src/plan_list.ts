// What is on the plan, as a list to choose from and as tables.

import { button, h, section, table } from "./dom";
import { area, type Place } from "./geometry";
import { writeArea, type LengthUnit } from "./lengths";
import type { Chosen } from "./chosen";
import { placeHead, writePlace } from "./place_words";
import type { Plan, Room } from "./plan_types";
import { t, word } from "./strings";

function sizeOf(room: Room, unit: LengthUnit): string {
  const [outline, ...holes] = room.rings;
  const net = area(outline ?? []) - holes.reduce((sum, hole) => sum + area(hole), 0);
  return writeArea(net, unit);
}

export function planTables({ rooms, lines }: Plan, unit: LengthUnit): HTMLElement[] {
  return [
    table(
      t("rooms"),
      [t("room"), t("area"), `${t("corners")}: ${placeHead(unit)}`],
      rooms.map((room) => [room.name, sizeOf(room, unit), places(room.rings[0]!, unit)]),
    ),
    table(
      t("lines"),
      [t("kind"), t("name"), `${t("places")}: ${placeHead(unit)}`],
      lines.map((line) => [word("kind", line.kind), line.name, places(line.places, unit)]),
    ),
  ];
}

/** Places one after the other, in the unit of the page. */
function places(all: Place[], unit: LengthUnit): string {
  return all.map((one) => `(${writePlace(one, unit)})`).join(" ");
}

/** The rooms and lines to choose from; null when there are none. */
export function planList(
  { rooms, lines }: Plan,
  unit: LengthUnit,
  choose: (chosen: Chosen) => void,
): HTMLElement | null {
  if (!rooms.length && !lines.length) return null;
  const item = (name: string, words: string, chosen: Chosen): HTMLElement =>
    h(
      "li",
      {},
      button(name, () => choose(chosen), "link"),
      h("span", {}, words),
    );
  return section(
    t("on-the-plan"),
    h(
      "ul",
      { class: "list" },
      ...rooms.map((room, index) => item(room.name, sizeOf(room, unit), { what: "room", index })),
      ...lines.map((line, index) => {
        const kind = word("kind", line.kind);
        return item(line.name || kind, kind, { what: "line", index });
      }),
    ),
  );
}
