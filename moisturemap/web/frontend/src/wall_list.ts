// The walls of a room by number; a typed length is obeyed.

import { announce } from "./announce";
import { beyondWords, carriedBy, unsettled, type Beyond, type Carried } from "./carried";
import type { FormActions } from "./chosen";
import { dialog } from "./dialog";
import { field, h } from "./dom";
import { aboutWall, meant } from "./doubts";
import { crossingWalls, distance, type Place } from "./geometry";
import { readLength, writeLength, type LengthUnit } from "./lengths";
import type { Plan } from "./plan_types";
import { retapedWords, type Retaped, type Tapes } from "./set_out_changes";
import { typedWall, wallEnd, type TypedWall } from "./shared_walls";
import { t } from "./strings";

/** A plan as it becomes, and what moves along with it. */
interface Obeyed {
  plan: Plan;
  along?: Carried | undefined;
}

/** What stands on the floor, and who knows how its holes are measured on another plan. */
interface Standing {
  beyond: Beyond | null;
  tapes: Tapes;
}

type Bent = (after: Plan, along?: Carried) => Promise<Retaped | null>;

export function wallList(
  plan: Plan,
  index: number,
  unit: LengthUnit,
  actions: Pick<FormActions, "change" | "beyond" | "tapes">,
): HTMLElement {
  const ring = plan.rooms[index]!.rings[0]!;
  const list = h("ol", { class: "walls" });
  const build = async (
    i: number,
    text: string,
    metres: number,
  ): Promise<Obeyed | string | null> => {
    const asked = aboutWall(text, metres, unit);
    const length = await meant(t("wall-number", { number: i + 1 }), text, asked);
    if (length === null) return null;
    const found = await actions.beyond(wallEnd(ring, i));
    return obey(plan, index, [i, readLength(length, unit)], {
      beyond: found,
      tapes: actions.tapes,
    });
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
            actions.change(next.plan, next.along);
            tellFollowing(ring, next.plan.rooms[index]!.rings[0]!, i, unit);
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
  { beyond, tapes }: Standing,
): Promise<Obeyed | string | null> {
  const typed = typedWall(plan, index, wall, length);
  if (!typed) return t("wall-cannot", { number: wall + 1 });
  const along = beyond ? carriedBy(beyond, typed.shift) : undefined;
  const bent: Bent = async (after, moved) => {
    const holes = beyond ? unsettled(plan, after, beyond.standing) : [];
    return holes.length ? tapes(after, holes, moved) : null;
  };
  let next: Obeyed = { plan: typed.alone };
  if (typed.rooms.length) {
    const pressed = await askShared(typed, wall, beyond, bent, along);
    if (!pressed) return null;
    next = pressed === "move" ? { plan: typed.wallMoved } : { plan: typed.restPushed, along };
  } else {
    const changed = await bent(typed.alone);
    const go: [string, string][] = [["go", t("wall-go-on")]];
    const title = t("wall-number", { number: wall + 1 });
    if (changed && !(await dialog(title, [retapedWords(changed)], go))) return null;
  }
  for (const room of next.plan.rooms)
    for (const ring of room.rings) {
      const crossing = crossingWalls(ring);
      const values = { room: room.name, one: crossing?.[0] ?? 0, other: crossing?.[1] ?? 0 };
      if (crossing) return t("walls-cross-in", values);
    }
  return next;
}

/** Whether a shared wall moves alone or the rest is pushed along; null for neither. */
async function askShared(
  typed: TypedWall,
  wall: number,
  beyond: Beyond | null,
  bent: Bent,
  along: Carried | undefined,
): Promise<string | null> {
  const rooms = typed.rooms.join(", ");
  const placed = beyond ? beyondWords(beyond) : "";
  const push = t(placed ? "wall-shared-push-all" : "wall-shared-push");
  const actions: [string, string, string?][] = [["move", t("wall-shared-move"), "main"]];
  if (beyond) actions.push(["push", push]);
  const moved = await bent(typed.wallMoved);
  const pushed = beyond && (await bent(typed.restPushed, along));
  return dialog(
    t("wall-shared", { number: wall + 1, rooms }),
    [
      h("p", {}, t("wall-shared-how", { rooms })),
      placed ? h("p", { class: "caution" }, t("wall-beyond", { placed })) : null,
      beyond ? null : h("p", { class: "bad" }, t("wall-beyond-unknown")),
      moved && retapedWords(moved, t("wall-shared-move")),
      pushed && retapedWords(pushed, push),
    ],
    actions,
  );
}
