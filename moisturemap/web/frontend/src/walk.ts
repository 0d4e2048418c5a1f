// Walking the grid: one place at a time, one big field. Everything typed is kept on this device
// first and sent from there, so that a lost connection or a reload loses nothing. Several devices
// may share one walk: what one has read shows on the others.

import Feature from "ol/Feature";
import { MultiLineString, Point, type Geometry } from "ol/geom";

import { ask, Latest, Refused, Unreachable } from "./api";
import { announce } from "./announce";
import { button, dialog, fold, h, replace } from "./dom";
import type { Place } from "./geometry";
import { forget, keep, kept } from "./keep";
import { againstReading, doubtful } from "./walk_checks";
import { LiveMap } from "./live_map";
import { writeLength } from "./lengths";
import { stopStyle, wayStyle } from "./walk_style";
import { numberPad } from "./number_pad";
import { drained, post } from "./outbox";
import type { ReadingRow } from "./reading_row";
import { t } from "./strings";
import type { Context } from "./task";
import { chooseWalk } from "./walk_start";
import { walkedTable } from "./walk_table";
import {
  isRead,
  keyOf,
  manyNumbers,
  nextOpen,
  repeatOf,
  signs,
  walkName,
  withoutStop,
  withStop,
  type Stop,
  type WalkState,
} from "./walk_state";
import { askWho, who } from "./who";

/** How often it is asked what other devices of this walk have read [ms]. */
const LISTEN_MS = 4000;
/** A name means the same place on two devices when it lies no farther apart [m]. */
const ONE_PLACE_M = 0.05;
/** How long after the last reading the count in the list of tasks follows [ms]. */
const COUNT_MS = 1500;

interface Stored {
  readings: number[];
  also?: { label: string; raw: string }[];
}

export class Walk {
  private state: WalkState | null = null;
  /** Values of this walk that another device typed, by place. */
  private elsewhere = new Map<string, string>();
  private mine = new Set<number>();
  private heard = 0;
  private listening = 0;
  private counting = 0;
  /** The next key replaces what stands in the field: a refused number, or one stored before. */
  private fresh = false;
  /** A second reading that was asked about; stored when Store is pressed once more. */
  private asked = "";
  private readonly counted = h("p", { class: "words" });
  private readonly bar = h("progress", { "aria-label": t("progress") });
  private readonly say = h("p", { class: "say words", role: "status" });
  private readonly latest = new Latest();
  private readonly live: LiveMap;
  private readonly key: string;

  constructor(
    private readonly context: Context,
    private readonly instrument: string,
    private readonly done: (ended: boolean) => void,
  ) {
    this.key = walkName(context);
    this.live = new LiveMap(context);
  }

  static begun(context: Context): boolean {
    return kept(walkName(context)) !== null;
  }

  async start(): Promise<void> {
    if (!(await askWho())) return this.done(false);
    this.state = kept<WalkState>(this.key);
    this.listening = setInterval(() => void this.listen(), LISTEN_MS);
    if (this.state) {
      this.begin();
      return this.listen();
    }
    chooseWalk(this.context, this.latest, {
      show: (stops, way) => this.drawStops(stops, way),
      begin: (stops, way) => {
        this.put({ instrument: this.instrument, stops, at: 0, typed: {}, draft: "", way });
        this.begin();
        void this.listen(); // others may have read part of it already
      },
      cancel: () => void this.end(false),
    });
  }

  private begin(): void {
    this.draw();
    this.context.panel.scrollTo({ top: 0 });
    this.context.view.fit();
  }

  private put(state: WalkState): void {
    this.state = state;
    keep(this.key, state);
  }

  /** Learn what other devices have read since it was last asked. */
  private async listen(): Promise<void> {
    if (!this.state || document.visibilityState !== "visible") return;
    const query = `visit=${encodeURIComponent(this.context.visit ?? "")}&after=${this.heard}`;
    let rows: ReadingRow[];
    try {
      rows = (await ask<{ readings: ReadingRow[] }>(this.context.path(`readings?${query}`)))
        .readings;
    } catch (error) {
      if (error instanceof Refused || error instanceof Unreachable) return; // asked again soon
      throw error;
    }
    if (!rows.length || !this.state) return;
    const first = this.heard === 0;
    this.heard = Math.max(this.heard, ...rows.map((row) => row.reading));
    const places = new Map(
      this.state.stops.map((stop) => [keyOf({ ...stop, repeat: repeatOf(stop) }), stop]),
    );
    const others = rows.filter((row) => {
      const stop = row.label && !this.mine.has(row.reading) && places.get(keyOf(row));
      return stop && Math.hypot(stop.x - row.x, stop.y - row.y) < ONE_PLACE_M;
    });
    const typed = this.typedKeys();
    for (const row of others) {
      const value = row.raw || String(row.value);
      const mine = typed.get(keyOf(row));
      if (mine === undefined) this.elsewhere.set(keyOf(row), value);
      else if (mine !== value && !first)
        announce(t("read-twice", { label: row.label, mine, others: value }), "bad");
    }
    if (others.length) this.shared();
  }

  private typedKeys(): Map<string, string> {
    const { stops, typed } = this.state!;
    return new Map(
      stops.flatMap((stop): [string, string][] => {
        const value = typed[stop.order];
        return value === undefined ? [] : [[keyOf({ ...stop, repeat: repeatOf(stop) }), value]];
      }),
    );
  }

  /** Show what others read, without taking the number from under the fingers. */
  private shared(): void {
    const state = this.state!;
    const stop = state.stops[state.at];
    const taken = stop && this.elsewhere.get(keyOf({ ...stop, repeat: repeatOf(stop) }));
    if (taken !== undefined && state.draft === "") {
      announce(t("read-elsewhere", { label: stop!.label, value: taken }));
      return this.move(nextOpen(state, this.elsewhere, state.at));
    }
    this.drawStops(state.stops, state.way ?? []);
    if (!stop) return this.drawEnd();
    this.tellCount();
  }

  private count(): number {
    const state = this.state!;
    return state.stops.filter((stop) => isRead(state, this.elsewhere, stop)).length;
  }

  private drawStops(stops: Stop[], way: Place[][]): void {
    const { view } = this.context;
    const line = new Feature<Geometry>(new MultiLineString(way));
    view.layer("way", way.length ? [line] : [], wayStyle, 55);
    const features = signs(this.state, this.elsewhere, stops).map(({ index, state }) => {
      const { x, y, label } = stops[index]!;
      const feature = new Feature<Geometry>(new Point([x, y]));
      feature.setProperties({ stop: index, label, state });
      return feature;
    });
    view.layer("stops", features, stopStyle, 65, stops.length > 400);
    view.onTap((place, found) => {
      if (!this.state) return;
      const hits = found.map((one) => one.get("stop") as number | undefined);
      const open = hits.filter((one) => one !== undefined).sort((a, b) => a - b);
      if (this.typedOnly()) this.pass(this.state.at);
      else if (open.length) this.move(open[0]!);
      else this.add(place);
    });
  }

  /** A reading at any place that was tapped: closer at anything suspicious. */
  private add(place: Place): void {
    const plan = this.context.view.roomAt(place);
    if (!plan) return announce(t("off-floor"), "bad");
    const [x, y] = [Math.round(place[0] * 100) / 100, Math.round(place[1] * 100) / 100];
    this.put({ ...withStop(this.state!, x, y, plan), draft: "" });
    this.draw();
    announce(t("place-added"));
  }

  /** What stands in the field and is not stored, or "". */
  private typedOnly(): string {
    const { stops, at, typed, draft } = this.state!;
    const stop = stops[at];
    return stop && draft !== (typed[stop.order] ?? "") ? draft : "";
  }

  /** Go to another place; a number that was typed and not stored is asked about first. */
  private pass(at: number): void {
    const value = this.typedOnly();
    if (value) this.complain(t("typed-not-stored", { value }));
    else this.move(at);
  }

  private move(at: number): void {
    const state = this.state!;
    const stop = state.stops[at];
    this.fresh = stop !== undefined && state.typed[stop.order] !== undefined;
    this.put({ ...state, at, draft: stop ? (state.typed[stop.order] ?? "") : "" });
    this.draw();
  }

  private draw(): void {
    const { panel } = this.context;
    const state = this.state!;
    const stop = state.stops[state.at];
    this.drawStops(state.stops, state.way ?? []);
    if (!stop) return this.drawEnd();
    // Above the pad nothing comes or goes: a thumb that stays finds each key where it was.
    this.tell(stop.purpose === "repeat" ? t("repeat-why") : this.sweepWords(stop));
    const input = this.input(stop);
    this.tellCount();
    replace(
      panel,
      h(
        "div",
        { class: "walk" },
        h("h1", { class: "place", title: stop.room }, `${stop.label} · ${stop.room}`),
        input,
        this.say,
        this.pad(input),
        this.counted,
        this.bar,
        stop.purpose === "added" && state.typed[stop.order] === undefined
          ? button(t("drop-place"), () => this.dropStop(), "plain wide")
          : null,
        fold(t("keys"), false, h("p", {}, t("walk-keys"))),
        button(t("stop-walk"), () => void this.end(true), "plain wide"),
        this.live.element,
      ),
    );
    input.focus({ preventScroll: true });
    input.select();
  }

  private tellCount(): void {
    const { stops, at } = this.state!;
    const [n, of, stop] = [this.count(), stops.length, stops[at]!];
    const { unit } = this.context;
    const place = `x ${writeLength(stop.x, unit)}, y ${writeLength(stop.y, unit)}`;
    replace(this.counted, `${t("walk-progress", { at: at + 1, of, n })} · ${place}`);
    this.bar.max = of;
    this.bar.value = n;
  }

  private tell(words: string, bad = false): void {
    replace(this.say, words);
    this.say.classList.toggle("bad", bad);
  }

  private sweepWords(stop: Stop): string {
    if (stop.purpose !== "sweep") return "";
    const [sweep, at] = stop.label.split(".") as [string, string];
    const of = this.state!.stops.filter((one) => one.label.startsWith(`${sweep}.`)).length;
    return t("sweep-why", { sweep, at, of });
  }

  private input(stop: Stop): HTMLInputElement {
    const input = h("input", {
      class: "big",
      inputmode: "decimal",
      autocomplete: "off",
      value: this.state!.draft,
      "aria-label": t("reading-at", { label: stop.label, room: stop.room }),
      oninput: () => this.typed(input, input.value),
      onkeydown: (event) => this.onKey(event as KeyboardEvent, input.value),
      onpaste: (event) => {
        const numbers = manyNumbers((event as ClipboardEvent).clipboardData?.getData("text") ?? "");
        if (!numbers) return;
        event.preventDefault();
        void this.takeMany(numbers);
      },
    });
    return input;
  }

  private typed(input: HTMLInputElement, text: string): void {
    this.fresh = false;
    input.value = text;
    input.removeAttribute("aria-invalid");
    this.put({ ...this.state!, draft: text });
  }

  private pad(input: HTMLInputElement): HTMLElement {
    const at = this.state!.at;
    return numberPad({
      type: (sign) => this.typed(input, this.fresh ? sign : input.value + sign),
      wipe: () => this.typed(input, this.fresh ? "" : input.value.slice(0, -1)),
      full: () => this.take("FS"),
      back: () => this.pass(Math.max(0, at - 1)),
      skip: () => this.pass(at + 1),
      store: () => this.take(input.value),
    });
  }

  private drawEnd(): void {
    const { panel } = this.context;
    const state = this.state!;
    const open = nextOpen(state, this.elsewhere, 0);
    replace(
      panel,
      h("h1", {}, t("walk-done")),
      h("p", {}, t("walk-done-long", { n: this.count() })),
      open < state.stops.length ? button(t("to-skipped"), () => this.move(open), "wide") : null,
      button(t("finish"), () => void this.end(true), "main wide"),
      button(t("back"), () => this.move(state.stops.length - 1)),
      this.live.element,
    );
  }

  private dropStop(): void {
    this.put({ ...withoutStop(this.state!, this.state!.at), draft: "" });
    this.draw();
  }

  private onKey(event: KeyboardEvent, value: string): void {
    const state = this.state!;
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Enter") this.take(value);
    else if (event.key.toLowerCase() === "f") this.take("FS");
    else if (event.key.toLowerCase() === "s") this.pass(state.at + 1);
    else if (event.key.toLowerCase() === "b") this.pass(Math.max(0, state.at - 1));
    else return;
    event.preventDefault();
  }

  /** Say what is wrong, and let the next key replace it: nobody on site wipes a field first. */
  private complain(words: string): void {
    this.tell(words, true);
    const input = this.context.panel.querySelector<HTMLInputElement>("input.big");
    if (!input) return;
    input.setAttribute("aria-invalid", "true");
    this.fresh = true;
    input.focus({ preventScroll: true });
    input.select();
  }

  private scale(): [number, number] | null {
    const { instruments } = this.context.project;
    return instruments.find((one) => one.id === this.state!.instrument)?.scale ?? null;
  }

  /** Several numbers at once: for the places to come, after a question. */
  private async takeMany(numbers: string[]): Promise<void> {
    const bad = numbers.map((one) => againstReading(one, this.scale())).find(Boolean);
    if (bad) return this.complain(bad);
    const words = t("many-numbers", { n: numbers.length });
    const shown = h("p", {}, numbers.join(" · "));
    if (!(await dialog(words, [shown], [["ok", t("store"), "main"]]))) return;
    for (const one of numbers) if (this.state!.stops[this.state!.at]) this.take(one);
  }

  private take(text: string): void {
    const state = this.state!;
    const stop = state.stops[state.at]!;
    const raw = text.trim();
    const words = againstReading(raw, this.scale());
    if (words) return this.complain(words);
    const asked = `${stop.order} ${raw}`;
    const question = this.asked === asked ? null : doubtful(state, stop, raw, this.scale());
    if (question) {
      this.asked = asked;
      return this.complain(question);
    }
    const reading = {
      x: stop.x,
      y: stop.y,
      raw,
      label: stop.label,
      room: stop.room,
      repeat: repeatOf(stop),
      time: new Date().toISOString(),
    };
    const body = {
      visit: this.context.visit,
      instrument: state.instrument,
      who: who(),
      instead_of: state.typed[stop.order] !== undefined,
      readings: [reading],
    };
    const what = t("reading-at", { label: stop.label, room: stop.room });
    void post<Stored>(this.context.path("readings"), body, what).then((stored) =>
      this.stored(stored, reading),
    );
    const typed = { ...state.typed, [stop.order]: raw };
    this.fresh = false;
    const next = nextOpen({ ...state, typed }, this.elsewhere, state.at + 1);
    this.put({ ...state, typed, at: next, draft: "" });
    this.draw();
  }

  private stored(stored: Stored, reading: { label: string; raw: string }): void {
    for (const one of stored.readings) this.mine.add(one);
    clearTimeout(this.counting);
    this.counting = setTimeout(() => void this.context.refresh(), COUNT_MS);
    if (stored.also?.length) {
      const others = stored.also.map((one) => one.raw).join(", ");
      announce(t("read-twice", { label: reading.label, mine: reading.raw, others }), "bad");
    }
    void this.live.redraw();
  }

  private async end(ended: boolean): Promise<void> {
    forget(this.key);
    this.leave();
    if (ended) await drained();
    this.done(true);
    if (ended) announce(t("walk-kept"));
  }

  table(): HTMLElement {
    return walkedTable(this.state, this.elsewhere);
  }

  leave(): void {
    clearInterval(this.listening);
    clearTimeout(this.counting);
    this.latest.drop();
    this.live.drop();
    for (const name of ["way", "stops"]) this.context.view.drop(name);
  }
}
