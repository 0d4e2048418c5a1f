// Walking the grid: one place at a time, one big field. What is typed is kept on this device first, so
// that no lost connection or reload loses it. Several devices may share one walk and see its readings.

import { announce } from "./announce";
import { Latest } from "./api";
import { dialog } from "./dialog";
import { h, replace } from "./dom";
import type { Place } from "./geometry";
import { forget, keep, kept } from "./keep";
import { writeLength } from "./lengths";
import { LiveMap } from "./live_map";
import { drained, post } from "./outbox";
import { t } from "./strings";
import { scaleOf, type Context } from "./task";
import { againstReading, Doubt, sweepWords } from "./walk_checks";
import { showEnd } from "./walk_end";
import { WalkField } from "./walk_field";
import { WalkOthers, type Stored } from "./walk_others";
import { showPlace, WalkProgress } from "./walk_place";
import { comeClose, keepInSight, showWalk } from "./walk_plan";
import { chooseWalk } from "./walk_start";
import {
  keyOf,
  nextOpen,
  placesRead,
  readCount,
  readingAt,
  repeatOf,
  signs,
  typedOnly,
  walkName,
  withoutStop,
  withStop,
  type Stop,
  type WalkState,
} from "./walk_state";
import { walkedTable } from "./walk_table";
import { askWho, who } from "./who";

/** How often it is asked what other devices of this walk have read [ms]. */
const LISTEN_MS = 4000;
/** How long after the last reading the count in the list of tasks follows [ms]. */
const COUNT_MS = 1500;

export class Walk {
  private state: WalkState | null = null;
  private readonly others = new WalkOthers();
  private listening = 0;
  private counting = 0;
  private field: WalkField | null = null;
  private readonly doubt = new Doubt();
  private readonly progress = new WalkProgress();
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
    void chooseWalk(this.context, this.latest, {
      show: (stops, way) => this.drawStops(stops, way),
      begin: (stops, way, laid) => {
        this.put({ instrument: this.instrument, laid, stops, at: 0, typed: {}, draft: "", way });
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
    comeClose(this.context.view, this.state!.stops, this.state!.at);
  }

  private put(state: WalkState): void {
    this.state = state;
    keep(this.key, state);
  }

  /** Learn what other devices have read since it was last asked. */
  private async listen(): Promise<void> {
    if (!this.state || document.visibilityState !== "visible") return;
    const news = await this.others.ask(this.context, () => this.state);
    for (const { label, mine, theirs } of news.twice)
      announce(t("read-twice", { label, mine, others: theirs }), "bad");
    if (news.some) this.shared();
  }

  /** Show what others read, without taking the number from under the fingers. */
  private shared(): void {
    const state = this.state!;
    const stop = state.stops[state.at];
    const taken = stop && this.others.values.get(keyOf({ ...stop, repeat: repeatOf(stop) }));
    if (taken !== undefined && state.draft === "") {
      announce(t("read-elsewhere", { label: stop!.label, value: taken }));
      return this.move(nextOpen(state, this.others.values, state.at));
    }
    this.drawStops(state.stops, state.way ?? []);
    if (!stop) return this.drawEnd();
    this.tellCount();
  }

  private drawStops(stops: Stop[], way: Place[][]): void {
    showWalk(this.context.view, way, stops, signs(this.state, this.others.values, stops));
    this.context.view.onTap((place, found) => {
      if (!this.state) return;
      const hits = found.map((one) => one.get("stop") as number | undefined);
      const open = hits.filter((one) => one !== undefined).sort((a, b) => a - b);
      if (typedOnly(this.state)) this.pass(this.state.at);
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

  /** Go to another place; a number that was typed and not stored is asked about first. */
  private pass(at: number): void {
    const value = typedOnly(this.state!);
    if (value) this.complain(t("typed-not-stored", { value }));
    else this.move(at);
  }

  private move(at: number): void {
    const state = this.state!;
    const stop = state.stops[at];
    this.put({ ...state, at, draft: stop ? (state.typed[stop.order] ?? "") : "" });
    this.draw();
  }

  private draw(): void {
    const state = this.state!;
    const stop = state.stops[state.at];
    this.drawStops(state.stops, state.way ?? []);
    if (!stop) return this.drawEnd();
    keepInSight(this.context.view, [stop.x, stop.y]);
    // Above the pad nothing comes or goes: a thumb that stays finds each key where it was.
    this.tell(stop.purpose === "repeat" ? t("repeat-why") : sweepWords(state.stops, stop));
    const field = new WalkField({
      label: t("reading-at", { label: stop.label, room: stop.room }),
      value: state.draft,
      // the next key replaces what was stored before
      fresh: state.typed[stop.order] !== undefined && state.draft === state.typed[stop.order],
      changed: (draft) => this.put({ ...this.state!, draft }),
      take: (text) => this.take(text),
      takeMany: (numbers) => void this.takeMany(numbers),
      back: () => this.pass(Math.max(0, this.state!.at - 1)),
      skip: () => this.pass(this.state!.at + 1),
    });
    this.field = field;
    this.tellCount();
    showPlace(this.context.panel, `${stop.label} · ${stop.room}`, stop.room, {
      field,
      say: this.say,
      progress: this.progress,
      drop:
        stop.purpose === "added" && state.typed[stop.order] === undefined
          ? () => this.dropStop()
          : null,
      stop: () => void this.end(true),
      live: this.live.element,
    });
    field.focus();
  }

  private tellCount(): void {
    const { stops, at } = this.state!;
    const { x, y } = stops[at]!;
    const [east, north] = [x, y].map((one) => writeLength(one, this.context.unit));
    const place = `x ${east}, y ${north}`;
    this.progress.tell(at, stops.length, readCount(this.state!, this.others.values), place);
  }

  private tell(words: string, bad = false): void {
    replace(this.say, words);
    this.say.classList.toggle("bad", bad);
  }

  private drawEnd(): void {
    const state = this.state!;
    const open = nextOpen(state, this.others.values, 0);
    const { values } = this.others;
    showEnd(this.context.panel, [readCount(state, values), placesRead(state, values)], {
      skipped: open < state.stops.length ? () => this.move(open) : null,
      finish: () => void this.end(true),
      back: () => this.move(state.stops.length - 1),
      live: this.live.element,
    });
  }

  private dropStop(): void {
    this.put({ ...withoutStop(this.state!, this.state!.at), draft: "" });
    this.draw();
  }

  /** Say what is wrong, and let the next key replace it: nobody on site wipes a field first. */
  private complain(words: string): void {
    this.tell(words, true);
    this.field?.refuse();
  }

  private scale(): [number, number] | null {
    return scaleOf(this.context, this.state!.instrument);
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
    const words = this.doubt.against(state, stop, raw, this.scale());
    if (words) return this.complain(words);
    const reading = readingAt(stop, raw, new Date());
    const body = {
      visit: this.context.visit,
      instrument: state.instrument,
      who: who(),
      instead_of: state.typed[stop.order] !== undefined,
      readings: [reading],
      walk: state.laid,
    };
    const [what, name] = [t("reading-at", { ...stop }), `${stop.room} ${stop.label}`];
    const sent = post<Stored>(this.context.path("readings"), body, what);
    void sent.then((stored) => this.stored(stored, name, raw));
    const typed = { ...state.typed, [stop.order]: raw };
    const next = nextOpen({ ...state, typed }, this.others.values, state.at + 1);
    this.put({ ...state, typed, at: next, draft: "" });
    this.draw();
  }

  private stored(stored: Stored, label: string, mine: string): void {
    this.others.sent(stored.readings);
    clearTimeout(this.counting);
    this.counting = setTimeout(() => void this.context.refresh(), COUNT_MS);
    if (stored.also?.length) {
      const others = stored.also.map((one) => one.raw).join(", ");
      announce(t("read-twice", { label, mine, others }), "bad");
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
    return walkedTable(this.state, this.others.values, this.context.unit);
  }

  leave(): void {
    clearInterval(this.listening);
    clearTimeout(this.counting);
    this.latest.drop();
    this.live.drop();
    for (const name of ["way", "stops"]) this.context.view.drop(name);
  }
}
