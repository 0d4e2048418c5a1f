// Laying out a walk: how close the places stand, where, from which corner, in which direction.

import { ask, Latest, Refused, Unreachable } from "./api";
import { announce } from "./announce";
import { bullets } from "./bullets";
import { button, field, fold, h, replace, select } from "./dom";
import type { Place } from "./geometry";
import { readLength, typedLength, writeLength } from "./lengths";
import { t } from "./strings";
import type { Context } from "./task";
import { placesOf, type Laid, type Stop } from "./walk_state";

const CORNERS = ["bottom-left", "bottom-right", "top-left", "top-right"];

interface Layout {
  stops: Stop[];
  walk_m: number;
  way: Place[][];
  /** What the plan does not tell of the way. */
  way_words: string[];
  limits: string[];
}

export interface WalkStart {
  show: (stops: Stop[], way: Place[][]) => void;
  begin: (stops: Stop[], way: Place[][], laid: Laid) => void;
  cancel: () => void;
}

/** How the visit is walked already, on another device; null where nobody does or it cannot be asked. */
async function begun(context: Context): Promise<Laid | null> {
  const visit = encodeURIComponent(context.visit ?? "");
  try {
    const answer = await ask<{ walk: Laid | null }>(context.path(`walk/begun?visit=${visit}`));
    return answer.walk;
  } catch (error) {
    if (error instanceof Refused || error instanceof Unreachable) return null;
    throw error;
  }
}

export async function chooseWalk(context: Context, latest: Latest, on: WalkStart): Promise<void> {
  const { panel, unit } = context;
  const joined = await begun(context);
  const spacing = field(t("spacing"), {
    value: joined ? typedLength(joined.spacing, unit) : unit === "m" ? "1" : "3 ft",
    hint: t(unit === "m" ? "spacing-hint" : "spacing-hint-ft"),
    onchange: () => look(),
  });
  const chosen = {
    room: joined?.room ?? "",
    start: joined?.start ?? CORNERS[0]!,
    rows: joined?.rows ?? "long",
  };
  let metres = joined?.spacing ?? Number.NaN;
  const start = spacing.input.value;
  let laid: Layout = { stops: [], walk_m: 0, way: [], way_words: [], limits: [] };
  const words = h("div", { role: "status", "aria-live": "polite" });
  /** Whether the places laid out are those of what is typed now. */
  let ready = Promise.resolve(false);
  const look = (): void => void (ready = layOut());
  const layOut = async (): Promise<boolean> => {
    const typed = spacing.input.value;
    const wide = joined && typed === start ? joined.spacing : readLength(typed, unit);
    if (!(wide >= 0.1 && wide <= 20)) {
      spacing.say(t(unit === "m" ? "bad-spacing" : "bad-spacing-ft", { value: typed }), true);
      return false;
    }
    spacing.say("");
    const query = new URLSearchParams({
      spacing: String(wide),
      start: chosen.start,
      rows: chosen.rows,
      visit: context.visit ?? "",
    });
    if (chosen.room) query.set("room", chosen.room);
    const answer = await latest.ask<Layout>(context.path(`walk?${query.toString()}`), {
      patient: true,
    });
    if (!answer) return false;
    [laid, metres] = [answer, wide];
    const size = {
      n: laid.stops.length,
      places: placesOf(laid.stops),
      length: writeLength(answer.walk_m, unit),
    };
    const limits = bullets(answer.limits);
    replace(
      words,
      h("p", {}, t("walk-size", size)),
      ...answer.way_words.map((one) => h("p", { class: "say" }, one)),
      fold(t("what-grid-misses"), false, limits),
    );
    on.show(laid.stops, laid.way);
    return true;
  };
  const put = (what: keyof typeof chosen) => (value: string) => {
    chosen[what] = value;
    look();
  };
  const rooms: [string, string][] = [
    ["", t("all-rooms")],
    ...context.project.rooms.map((room): [string, string] => [room, room]),
  ];
  const begin = async (): Promise<void> => {
    if (!(await ready)) return;
    if (laid.stops.length) on.begin(laid.stops, laid.way, { spacing: metres, ...chosen });
    else announce(t("no-stops"), "bad");
  };
  replace(
    panel,
    h("h1", {}, t("walk")),
    joined
      ? h("p", { class: "say" }, t("walk-joined", { spacing: writeLength(joined.spacing, unit) }))
      : null,
    spacing.row,
    select(t("where"), rooms, chosen.room, put("room")),
    fold(
      t("walk-how"),
      false,
      select(
        t("start-corner"),
        CORNERS.map((one) => [one, t(`corner-${one}` as "corner-top-left")]),
        chosen.start,
        put("start"),
      ),
      select(
        t("rows-along"),
        [
          ["long", t("rows-long")],
          ["short", t("rows-short")],
        ],
        chosen.rows,
        put("rows"),
      ),
    ),
    words,
    h(
      "div",
      { class: "actions" },
      button(t("start-walk"), () => void begin(), "main"),
      button(t("cancel"), on.cancel, "plain"),
    ),
  );
  look();
}
