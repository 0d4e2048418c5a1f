// The panel of a chosen room: name, build-up, walls, corners and holes.

import type { FormActions } from "./chosen";
import { cornerTable } from "./corner_table";
import { button, field, fold, h, keptFold } from "./dom";
import type { LengthUnit } from "./lengths";
import type { Plan, Room } from "./plan_types";
import { slabForm } from "./slab_form";
import { t } from "./strings";
import { wallList } from "./wall_list";

export function roomForm(
  plan: Plan,
  index: number,
  unit: LengthUnit,
  actions: FormActions,
): HTMLElement {
  const room = plan.rooms[index]!;
  const put = (next: Room): void => {
    const rooms = plan.rooms.map((one, i) => (i === index ? next : one));
    (next.rings === room.rings ? actions.change : actions.reshape)({ ...plan, rooms });
  };
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
    slabForm(room.slab, unit, (slab) => put({ ...room, slab })),
    fold(t("walls"), true, wallList(plan, index, unit, actions)),
    keptFold(
      t("corners-and-holes"),
      h("p", { class: "words" }, t("corners-how")),
      ...room.rings.map((ring, i) => cornerTable(room, i, ring, unit, put)),
    ),
    h(
      "div",
      { class: "row" },
      button(t("add-hole"), actions.hole),
      button(t("remove-room"), actions.remove, "danger"),
    ),
  );
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
