// Panels for the chosen room or line: names, build-up, wall lengths, corners.

import { button, check, field, fold, h, section, select, table } from "./dom";
import { crossingWalls, distance, round, setWallLength, type Place } from "./geometry";
import { readLength, readNumber, writeLength, type LengthUnit } from "./lengths";
import type { Line, Plan, Room, Slab } from "./plan_types";
import { t, word } from "./strings";

export interface Chosen {
  what: "room" | "line";
  index: number;
}

export interface FormActions {
  change: (plan: Plan) => void;
  remove: () => void;
  leave: () => void;
  hole: () => void;
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
    name.row,
    buildUp(room.slab, (slab) => put({ ...room, slab })),
    fold(t("walls"), true, wallTable(room, unit, put)),
    fold(
      t("corners-and-holes"),
      false,
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

function wallTable(room: Room, unit: LengthUnit, put: (room: Room) => void): HTMLElement {
  const ring = room.rings[0]!;
  const list = h("ol", { class: "walls" });
  ring.forEach((from, i) => {
    const to = ring[(i + 1) % ring.length]!;
    const wall = field(t("wall-number", { number: i + 1 }), {
      value: writeLength(distance(from, to), unit),
      onchange: (text) => {
        const metres = readLength(text, unit);
        if (!(metres > 0 && metres < 2000)) return wall.say(t("bad-length", { value: text }), true);
        const next = setWallLength(ring, i, metres);
        const crossing = crossingWalls(next);
        if (crossing) wall.say(t("walls-cross", { one: crossing[0], other: crossing[1] }), true);
        else put({ ...room, rings: [next, ...room.rings.slice(1)] });
      },
    });
    list.append(h("li", {}, wall.row));
  });
  return h("div", {}, h("p", { class: "words" }, t("walls-hint")), list);
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
        const bad = Number.isNaN(value) || crossingWalls(next) !== null;
        input.setAttribute("aria-invalid", String(bad));
        if (!bad) set(next);
      },
    });
    return input;
  };
  const rows = ring.map((_, i) => [
    String(i + 1),
    box(i, 0),
    box(i, 1),
    button("×", () => set(ring.filter((__, j) => j !== i)), "plain", {
      "aria-label": t("remove-corner", { number: i + 1 }),
      disabled: ring.length <= 3,
    }),
  ]);
  const title = which === 0 ? t("outline") : t("hole-number", { number: which });
  return h(
    "div",
    {},
    table(title, [t("corner"), "x [m]", "y [m]", ""], rows),
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
    hint: t("line-name-hint"),
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
