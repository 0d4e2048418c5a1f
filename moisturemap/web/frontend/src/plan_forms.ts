// Panels for the chosen room or line: names, build-up, wall lengths, corners.

import { announce } from "./announce";
import { button, check, dialog, field, fold, h, section, select, table } from "./dom";
import { crossingWalls, distance, round, type Place } from "./geometry";
import { readLength, readNumber, writeLength, type LengthUnit } from "./lengths";
import type { Line, Plan, Room, Slab } from "./plan_types";
import { typedWall } from "./shared_walls";
import { t, word } from "./strings";

export interface Chosen {
  what: "room" | "line";
  index: number;
  /** A corner of it that was tapped: ring and number. */
  corner?: [number, number];
}

export interface FormActions {
  change: (plan: Plan) => void;
  remove: () => void;
  leave: () => void;
  hole: () => void;
  corner: [number, number] | null;
  removeCorner: () => void;
}

const BASES = ["concrete", "cement screed", "calcium sulphate screed", "timber deck"];

export function roomForm(
  plan: Plan,
  index: number,
  unit: LengthUnit,
  actions: FormActions,
): HTMLElement {
  const room = plan.rooms[index]!;
  const put = (next: Room): void =>
    actions.change({ ...plan, rooms: plan.rooms.map((one, i) => (i === index ? next : one)) });
  const name = field(t("room-name"), {
    value: room.name,
    more: { maxlength: 80 },
    onchange: (text) => {
      const clean = text.trim();
      if (!clean) name.say(t("name-needed"), true);
      else if (plan.rooms.some((one, i) => i !== index && one.name === clean))
        name.say(t("name-taken", { name: clean }), true);
      else put({ ...room, name: clean });
    },
  });
  return h(
    "div",
    {},
    h(
      "div",
      { class: "row spread top" },
      h("h1", {}, room.name),
      button(t("done"), actions.leave, "main"),
    ),
    cornerBar(room, actions),
    name.row,
    buildUp(room.slab, (slab) => put({ ...room, slab })),
    fold(t("walls"), true, wallTable(plan, index, unit, actions.change)),
    fold(
      t("corners-and-holes"),
      false,
      h("p", { class: "words" }, t("corners-how")),
      ...room.rings.map((ring, i) => cornerTable(room, i, ring, put)),
    ),
    h(
      "div",
      { class: "row" },
      button(t("add-hole"), actions.hole),
      button(t("remove-room"), actions.remove, "danger"),
    ),
  );
}

function buildUp(slab: Slab, put: (slab: Slab) => void): HTMLElement {
  const thickness = field(t("thickness"), {
    value: slab.thickness_mm === null ? "" : String(slab.thickness_mm),
    unit: "mm",
    inputmode: "decimal",
    hint: t("thickness-hint"),
    onchange: (text) => {
      if (!text.trim()) return put({ ...slab, thickness_mm: null });
      const value = readNumber(text);
      if (value > 0 && value <= 2000) put({ ...slab, thickness_mm: value });
      else thickness.say(t("bad-thickness", { value: text }), true);
    },
  });
  const placed = field(t("placed"), {
    type: "date",
    value: slab.placed ?? "",
    onchange: (text) => put({ ...slab, placed: text || null }),
  });
  const pour = field(t("pour"), {
    value: slab.pour,
    hint: t("pour-hint"),
    onchange: (text) => put({ ...slab, pour: text.trim() }),
    more: { maxlength: 80 },
  });
  const bases = BASES.includes(slab.base) ? BASES : [slab.base, ...BASES];
  return section(
    t("build-up"),
    select(
      t("base"),
      bases.map((base) => [base, word("base", base)]),
      slab.base,
      (base) => put({ ...slab, base }),
    ),
    thickness.row,
    select(
      t("faces"),
      [
        ["1", t("faces-1")],
        ["2", t("faces-2")],
      ],
      String(slab.drying_faces),
      (faces) => put({ ...slab, drying_faces: Number(faces) }),
    ),
    choice("on", ["ground", "below-ground", "suspended"], slab.on, (on) => put({ ...slab, on })),
    check(t("heated"), slab.heated, (heated) => put({ ...slab, heated })),
    fold(t("more"), false, placed.row, pour.row, ...more(slab, put)),
  );
}

/** A choice that may stay open: "not stated" is an answer, too. */
function choice(
  what: "on" | "membrane" | "build_up",
  values: string[],
  chosen: string,
  put: (value: string) => void,
): HTMLElement {
  const options: [string, string][] = [["", t("not-stated")]];
  for (const value of values) options.push([value, word(what, value)]);
  return select(t(`slab-${what}`), options, chosen, put);
}

/** What is known of the layers below and of the covering's history. */
function more(slab: Slab, put: (slab: Slab) => void): HTMLElement[] {
  const day = (name: "covered" | "lifted" | "first_fault"): HTMLElement =>
    field(t(`slab-${name}`), {
      type: "date",
      value: slab[name] ?? "",
      onchange: (text) => put({ ...slab, [name]: text || null }),
    }).row;
  const builds = ["slab", "bonded", "floating", "timber"];
  const membranes = ["seen-intact", "drawing-only", "none", "damaged"];
  return [
    choice("build_up", builds, slab.build_up, (build_up) => put({ ...slab, build_up })),
    choice("membrane", membranes, slab.membrane, (membrane) => put({ ...slab, membrane })),
    day("covered"),
    day("lifted"),
    day("first_fault"),
  ];
}

/** What can be done with the corner that was tapped. */
function cornerBar(room: Room, actions: FormActions): HTMLElement | null {
  if (!actions.corner) return null;
  const [which, number] = actions.corner;
  return h(
    "div",
    { class: "row end corner-bar" },
    h("p", {}, t("corner-chosen", { number: number + 1 })),
    button(t("remove-this-corner"), actions.removeCorner, "danger", {
      disabled: (room.rings[which]?.length ?? 0) <= 3,
    }),
  );
}

function wallTable(
  plan: Plan,
  index: number,
  unit: LengthUnit,
  change: (plan: Plan) => void,
): HTMLElement {
  const ring = plan.rooms[index]!.rings[0]!;
  const list = h("ol", { class: "walls" });
  ring.forEach((from, i) => {
    const now = writeLength(distance(from, ring[(i + 1) % ring.length]!), unit);
    const wall = field(t("wall-number", { number: i + 1 }), {
      value: now,
      onchange: (text) => {
        const metres = readLength(text, unit);
        if (!(metres > 0 && metres < 2000)) return wall.say(t("bad-length", { value: text }), true);
        if (text.trim() === now) return wall.say("");
        void obey(plan, index, [i, metres]).then((next) => {
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

function cornerTable(
  room: Room,
  which: number,
  ring: Place[],
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
      value: String(ring[corner]![axis]),
      inputmode: "decimal",
      "aria-label": t(axis === 0 ? "corner-x" : "corner-y", { number: corner + 1 }),
      onchange: () => {
        const value = readNumber(input.value);
        const place = [...ring[corner]!] as Place;
        place[axis] = value;
        const next = ring.map((one, i) => (i === corner ? round(place) : one));
        const crossing = Number.isNaN(value) ? null : crossingWalls(next);
        const bad = Number.isNaN(value)
          ? t("not-a-place", { value: input.value })
          : crossing && t("walls-cross", { one: crossing[0], other: crossing[1] });
        input.setAttribute("aria-invalid", String(Boolean(bad)));
        words.textContent = bad || "";
        words.classList.toggle("bad", Boolean(bad));
        if (!bad) set(next);
      },
    });
    return input;
  };
  const after = (corner: number): Place[] => {
    const [a, b] = [ring[corner]!, ring[(corner + 1) % ring.length]!];
    const between = round([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
    return [...ring.slice(0, corner + 1), between, ...ring.slice(corner + 1)];
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
      button("+", () => set(after(i)), "plain", {
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
    table(title, [t("corner"), "x [m]", "y [m]", ""], rows),
    words,
    which > 0 ? button(t("remove-hole"), () => set(null), "danger") : null,
  );
}

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
    place[0].toFixed(3),
    place[1].toFixed(3),
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
    fold(t("places"), false, table(t("places"), [t("corner"), "x [m]", "y [m]"], rows)),
    button(t("remove-line"), actions.remove, "danger"),
  );
}
