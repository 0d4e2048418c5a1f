// Walking the grid: one place at a time, one big field. Everything typed is kept on this device
// first and sent from there, so that a lost connection or a reload loses nothing.

import Feature from "ol/Feature";
import { LineString, Point, type Geometry } from "ol/geom";

import { Latest } from "./api";
import { announce, button, field, fold, h, replace, select } from "./dom";
import { forget, keep, kept } from "./keep";
import { LiveMap } from "./live_map";
import { readLength, readNumber, writeLength } from "./lengths";
import { stopStyle, wayStyle } from "./map_style";
import { drained, post } from "./outbox";
import type { ReadingRow } from "./readings_page";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho, who } from "./who";

interface Stop {
  order: number;
  purpose: string;
  label: string;
  x: number;
  y: number;
  room: string;
}

interface State {
  instrument: string;
  stops: Stop[];
  at: number;
  typed: Record<number, string>;
  draft: string;
}

const PAD = [
  "1",
  "2",
  "3",
  "back",
  "4",
  "5",
  "6",
  "skip",
  "7",
  "8",
  "9",
  "full",
  ".",
  "0",
  "⌫",
  "store",
];

export class Walk {
  private state: State | null = null;
  private readonly latest = new Latest();
  private readonly live: LiveMap;
  private readonly key: string;

  constructor(
    private readonly context: Context,
    private readonly instrument: string,
    private readonly done: (ended: boolean) => void,
  ) {
    this.key = Walk.name(context);
    this.live = new LiveMap(context);
  }

  private static name(context: Context): string {
    return `walk:${context.project.id}:${context.visit}`;
  }

  static begun(context: Context): boolean {
    return kept(Walk.name(context)) !== null;
  }

  async start(rows: ReadingRow[]): Promise<void> {
    if (!(await askWho())) return this.done(false);
    this.state = kept<State>(this.key);
    if (this.state) return this.draw();
    this.choose(rows);
  }

  /** Ask how close the places shall stand, and show the way before it is walked. */
  private choose(rows: ReadingRow[]): void {
    const { panel, unit } = this.context;
    const spacing = field(t("spacing"), {
      value: unit === "m" ? "1" : "3 ft",
      hint: t("spacing-hint"),
      onchange: () => void look(),
    });
    const rooms: [string, string][] = [
      ["", t("all-rooms")],
      ...this.context.project.rooms.map((room): [string, string] => [room, room]),
    ];
    let room = "";
    let stops: Stop[] = [];
    const words = h("div", { role: "status", "aria-live": "polite" });
    const look = async (): Promise<void> => {
      const metres = readLength(spacing.input.value, unit);
      if (!(metres >= 0.1 && metres <= 20))
        return spacing.say(t("bad-spacing", { value: spacing.input.value }), true);
      spacing.say("");
      const query = new URLSearchParams({ spacing: String(metres) });
      if (room) query.set("room", room);
      const answer = await this.latest.ask<{ stops: Stop[]; walk_m: number; limits: string[] }>(
        this.context.path(`walk?${query}`),
      );
      if (!answer) return;
      const read = new Set(rows.map((row) => `${row.x.toFixed(2)},${row.y.toFixed(2)}`));
      stops = answer.stops.filter(
        (stop) =>
          stop.purpose === "repeat" || !read.has(`${stop.x.toFixed(2)},${stop.y.toFixed(2)}`),
      );
      replace(
        words,
        h("p", {}, t("walk-size", { n: stops.length, length: writeLength(answer.walk_m, unit) })),
        fold(
          t("what-grid-misses"),
          false,
          h("ul", {}, ...answer.limits.map((limit) => h("li", {}, limit))),
        ),
      );
      this.drawStops(stops, 0);
    };
    const begin = (): void => {
      if (!stops.length) return announce(t("no-stops"), "bad");
      this.put({ instrument: this.instrument, stops, at: 0, typed: {}, draft: "" });
      this.draw();
    };
    replace(
      panel,
      h("h1", {}, t("walk")),
      spacing.row,
      select(t("where"), rooms, "", (value) => {
        room = value;
        void look();
      }),
      words,
      h(
        "div",
        { class: "actions" },
        button(t("start-walk"), begin, "main"),
        button(t("cancel"), () => void this.end(false), "plain"),
      ),
    );
    void look();
  }

  private put(state: State): void {
    this.state = state;
    keep(this.key, state);
  }

  private drawStops(stops: Stop[], at: number): void {
    const { view } = this.context;
    const way = new Feature<Geometry>(new LineString(stops.map((stop) => [stop.x, stop.y])));
    view.layer("way", stops.length > 1 ? [way] : [], wayStyle, 55);
    const features = stops.map((stop, index) => {
      const feature = new Feature<Geometry>(new Point([stop.x, stop.y]));
      feature.setProperties({
        stop: index,
        label: stop.label,
        state:
          index === at ? "now" : this.state?.typed[stop.order] !== undefined ? "read" : "to-read",
      });
      return feature;
    });
    view.layer("stops", features, stopStyle, 65, stops.length > 400);
    view.onTap((_, found) => {
      const index = found.find((one) => one.get("stop") !== undefined)?.get("stop") as
        number | undefined;
      if (index !== undefined && this.state) this.move(index);
    });
  }

  private move(at: number): void {
    const state = this.state!;
    const stop = state.stops[at];
    this.put({ ...state, at, draft: stop ? (state.typed[stop.order] ?? "") : "" });
    this.draw();
  }

  private draw(): void {
    const { panel } = this.context;
    const state = this.state!;
    const stop = state.stops[state.at];
    this.drawStops(state.stops, state.at);
    const count = Object.keys(state.typed).length;
    if (!stop) {
      replace(
        panel,
        h("h1", {}, t("walk-done")),
        h("p", {}, t("walk-done-long", { n: count })),
        button(t("finish"), () => void this.end(true), "main wide"),
        button(t("back"), () => this.move(state.stops.length - 1)),
      );
      return;
    }
    const input = h("input", {
      class: "big",
      inputmode: "decimal",
      autocomplete: "off",
      value: state.draft,
      "aria-label": t("reading-at", { label: stop.label, room: stop.room }),
      oninput: () => this.put({ ...this.state!, draft: input.value }),
      onkeydown: (event) => this.onKey(event as KeyboardEvent, input.value),
    });
    const complaint = h("p", { class: "words bad", role: "alert", id: "walk-complaint" });
    const typed = (text: string): void => {
      input.value = text;
      this.put({ ...this.state!, draft: text });
    };
    const acts: Record<string, [string, () => void]> = {
      back: [t("back"), () => this.move(Math.max(0, state.at - 1))],
      skip: [t("skip-place"), () => this.move(state.at + 1)],
      full: [t("full-scale"), () => this.take("FS")],
      store: [t("store-next"), () => this.take(input.value)],
    };
    const pad = h("div", { class: "pad", role: "group", "aria-label": t("number-pad") });
    for (const sign of PAD) {
      const act = acts[sign];
      if (act) pad.append(button(act[0], act[1], sign === "store" ? "main small" : "small"));
      else
        pad.append(
          button(
            sign,
            () => typed(sign === "⌫" ? input.value.slice(0, -1) : input.value + sign),
            "",
            sign === "⌫" ? { "aria-label": t("wipe") } : {},
          ),
        );
    }
    const unit = this.context.unit;
    replace(
      panel,
      h(
        "div",
        { class: "walk" },
        h(
          "p",
          { class: "words" },
          t("walk-progress", { at: state.at + 1, of: state.stops.length, n: count }),
          ` · x ${writeLength(stop.x, unit)}, y ${writeLength(stop.y, unit)}`,
        ),
        h("progress", { max: state.stops.length, value: count, "aria-label": t("progress") }),
        h("h1", { class: "place" }, `${stop.label} · ${stop.room}`),
        stop.purpose === "repeat" ? h("p", { class: "words" }, t("repeat-why")) : null,
        input,
        complaint,
        pad,
        fold(t("keys"), false, h("p", {}, t("walk-keys"))),
        button(t("stop-walk"), () => void this.end(true), "plain wide"),
        this.live.element,
      ),
    );
    input.focus({ preventScroll: true });
    input.select();
  }

  private onKey(event: KeyboardEvent, value: string): void {
    const state = this.state!;
    if (event.key === "Enter") this.take(value);
    else if (event.key.toLowerCase() === "f") this.take("FS");
    else if (event.key.toLowerCase() === "s") this.move(state.at + 1);
    else if (event.key.toLowerCase() === "b") this.move(Math.max(0, state.at - 1));
    else return;
    event.preventDefault();
  }

  private complain(words: string): void {
    const place = document.getElementById("walk-complaint");
    if (place) place.textContent = words;
    this.context.panel.querySelector("input.big")?.setAttribute("aria-invalid", "true");
  }

  private against(text: string): string | null {
    if (text === "FS") return null;
    const value = readNumber(text);
    if (Number.isNaN(value)) return t("bad-number", { value: text });
    const scale = this.context.project.instruments.find(
      (one) => one.id === this.state!.instrument,
    )?.scale;
    if (scale && (value < scale[0] || value > scale[1]))
      return t("off-scale", { low: scale[0], high: scale[1] });
    return null;
  }

  private take(text: string): void {
    const state = this.state!;
    const stop = state.stops[state.at]!;
    const words = this.against(text.trim());
    if (words) return this.complain(words);
    const raw = text.trim() === "FS" ? "FS" : text.trim();
    const again = state.typed[stop.order] !== undefined;
    const reading = {
      x: stop.x,
      y: stop.y,
      raw,
      label: stop.label,
      room: stop.room,
      repeat: stop.purpose === "repeat" ? 2 : 0,
      time: new Date().toISOString(),
    };
    const body = {
      visit: this.context.visit,
      instrument: state.instrument,
      who: who(),
      instead_of: again,
      readings: [reading],
    };
    const stored = post(
      this.context.path("readings"),
      body,
      t("reading-at", { label: stop.label, room: stop.room }),
    );
    void stored.then(() => this.live.redraw());
    this.put({
      ...state,
      typed: { ...state.typed, [stop.order]: raw },
      at: state.at + 1,
      draft: "",
    });
    this.draw();
  }

  private async end(ended: boolean): Promise<void> {
    forget(this.key);
    this.leave();
    if (ended) await drained();
    this.done(true);
    if (ended) announce(t("walk-kept"));
  }

  leave(): void {
    this.latest.drop();
    this.live.drop();
    for (const name of ["way", "stops"]) this.context.view.drop(name);
  }
}
