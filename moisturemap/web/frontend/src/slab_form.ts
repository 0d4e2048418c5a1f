// The build-up of a room's floor: base, thickness, what lies below, and its dates.

import { field, fold, section, select } from "./dom";
import { aboutMillimetres, meant } from "./doubts";
import { readMillimetres, readNumber, writeMillimetres, type LengthUnit } from "./lengths";
import type { Slab } from "./plan_types";
import { t, word } from "./strings";
import { isUsual, THICKNESS, type Range } from "./usual";

/** What a floor is made of; plain "concrete" is what the program takes where nothing is stated. */
const BASES = [
  "concrete",
  "concrete slab",
  "cement screed",
  "calcium sulphate screed",
  "timber deck",
];

/** Thicknesses that are stored [mm]. */
const POSSIBLE: Range = [1, 2000];

/** A thickness in the unit of the job; one that may be in another unit is asked about. */
function thicknessField(
  slab: Slab,
  system: LengthUnit,
  put: (thickness: number | null) => void,
): HTMLElement {
  const take = async (text: string): Promise<void> => {
    if (!text.trim()) return put(null);
    const refuse = (): void =>
      thickness.say(t(us ? "bad-thickness-ft" : "bad-thickness", { value: text }), true);
    const asked = aboutMillimetres(readNumber(text), system, THICKNESS);
    const another = asked !== null && asked.meanings.length > 1;
    if (!isUsual(readMillimetres(text, system), POSSIBLE) && !another) return refuse();
    const typed = await meant(t("thickness"), text, asked);
    if (typed === null) thickness.input.value = before;
    else if (isUsual(readMillimetres(typed, system), POSSIBLE)) put(readMillimetres(typed, system));
    else refuse();
  };
  const us = system === "ft";
  const before = slab.thickness_mm === null ? "" : writeMillimetres(slab.thickness_mm, system);
  const thickness = field(t("thickness"), {
    value: before,
    unit: us ? "in" : "mm",
    inputmode: "decimal",
    hint: t(us ? "thickness-hint-ft" : "thickness-hint"),
    onchange: (text) => void take(text),
  });
  return thickness.row;
}

export function slabForm(slab: Slab, system: LengthUnit, put: (slab: Slab) => void): HTMLElement {
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
    thicknessField(slab, system, (thickness_mm) => put({ ...slab, thickness_mm })),
    select(
      t("faces"),
      [
        ["1", t("faces-1")],
        ["2", t("faces-2")],
      ],
      String(slab.drying_faces),
      (faces) => put({ ...slab, drying_faces: Number(faces) }),
    ),
    choice("on", ["ground", "below-ground", "suspended"], slab.on, (on) =>
      put({ ...slab, on: on as Slab["on"] }),
    ),
    select(
      t("heated"),
      [
        ["", t("not-stated")],
        ["yes", t("heated-yes")],
        ["no", t("heated-no")],
      ],
      slab.heated === null || slab.heated === undefined ? "" : slab.heated ? "yes" : "no",
      (said) => put({ ...slab, heated: said === "" ? null : said === "yes" }),
    ),
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
