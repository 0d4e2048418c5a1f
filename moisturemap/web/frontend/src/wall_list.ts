// The walls of a room by number; a typed length is obeyed.

import { announce } from "./announce";
import { dialog } from "./dialog";
import { field, h } from "./dom";
import { aboutWall, meant } from "./doubts";
import { crossingWalls, distance, type Place } from "./geometry";
import { readLength, writeLength, type LengthUnit } from "./lengths";
import type { Plan } from "./plan_types";
import { typedWall } from "./shared_walls";
import { t } from "./strings";

export function wallList(
  plan: Plan,
  index: number,
  unit: LengthUnit,
  change: (plan: Plan) => void,
): HTMLElement {
  const ring = plan.rooms[index]!.rings[0]!;
  const list = h("ol", { class: "walls" });
  const build = async (i: number, text: string, metres: number): Promise<Plan | string | null> => {
    const asked = aboutWall(text, metres, unit);
    const length = await meant(t("wall-number", { number: i + 1 }), text, asked);
    return length === null ? null : obey(plan, index, [i, readLength(length, unit)]);
  };
  ring.forEach((from, i) => {
    const now = writeLength(distance(from, ring[(i + 1) % ring.length]!), unit);
    const wall = field(t("wall-number", { number: i + 1 }), {
      value: now,
      onchange: (text) => {
        const metres = readLength(text, unit);
        if (!(metres > 0 && metres < 2000)) return wall.say(t("bad-length", { value: text }), true);
        if (text.trim() === now) return wall.say("");
        void build(i, text, metres).then((next) => {
          if (typeof next === "string") wall.say(next, true);
          else if (next) {
            change(next);
            tellFollowing(ring, next.rooms[index]!.rings[0]!, i, unit);
          } else wall.input.value = now;
        });
      },
    });
    list.append(h("li", {}, wall.row));
  });
  return h("div", {}, h("p", { class: "words" }, t("walls-hint")), list);
}

/** Name the other walls of the room that got another length: nothing changes in silence. */
function tellFollowing(before: Place[], now: Place[], typed: number, unit: LengthUnit): void {
  const length = (ring: Place[], i: number): number =>
    distance(ring[i]!, ring[(i + 1) % ring.length]!);
  const walls = now.flatMap((_, i) =>
    i === typed || Math.abs(length(now, i) - length(before, i)) < 0.001
      ? []
      : [`${t("wall-number", { number: i + 1 })}: ${writeLength(length(now, i), unit)}`],
  );
  if (walls.length) announce(t("walls-follow", { walls: walls.join(", ") }));
}

/** The plan with a wall of the typed length, words against it, or null when it is not wanted. */
async function obey(
  plan: Plan,
  index: number,
  [wall, length]: [number, number],
): Promise<Plan | string | null> {
  const typed = typedWall(plan, index, wall, length);
  if (!typed) return t("wall-cannot", { number: wall + 1 });
  let next = typed.alone;
  if (typed.rooms.length) {
    const rooms = typed.rooms.join(", ");
    const pressed = await dialog(
      t("wall-shared", { number: wall + 1, rooms }),
      [h("p", {}, t("wall-shared-how", { rooms }))],
      [
        ["move", t("wall-shared-move"), "main"],
        ["push", t("wall-shared-push")],
      ],
    );
    if (!pressed) return null;
    next = pressed === "move" ? typed.wallMoved : typed.restPushed;
  }
  for (const room of next.rooms)
    for (const ring of room.rings) {
      const crossing = crossingWalls(ring);
      const values = { room: room.name, one: crossing?.[0] ?? 0, other: crossing?.[1] ?? 0 };
      if (crossing) return t("walls-cross-in", values);
    }
  return next;
}
