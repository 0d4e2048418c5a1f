// The task "Map": where it is wet, how sure that is, what disturbs the readings, and why.

import Feature, { type FeatureLike } from "ol/Feature";
import { Point, type Geometry } from "ol/geom";

import { ask, Latest, Refused } from "./api";
import { announce, button, dialog, field, fold, h, replace, section, table } from "./dom";
import { DrawTool } from "./draw_tool";
import type { Place } from "./geometry";
import { newKey } from "./keep";
import { legend, layerSwitches } from "./legend";
import { drawMap } from "./map_layers";
import { spotStyle } from "./map_style";
import type { MapAnswer, PlaceAnswer } from "./map_types";
import { number, sentence } from "./numbers";
import { Progress } from "./progress";
import { t, word } from "./strings";
import { showPlan } from "./plan_source";
import type { Context, Task } from "./task";
import { readNumber, writeArea, writeLength } from "./lengths";
import { askWho } from "./who";

export class MapPage implements Task {
  private answer: MapAnswer | null = null;
  /** Last entry of the record when the map came. */
  private head = 0;
  private readonly latest = new Latest();
  private readonly why = new Latest();
  private readonly detail = h("div", { class: "detail", "aria-live": "polite" });
  private readonly progress: Progress;

  constructor(private readonly context: Context) {
    this.progress = new Progress(context);
  }

  async start(): Promise<void> {
    const { context } = this;
    await showPlan(context);
    if (!context.project.rooms.length) return this.notYet(t("plan-first"), "plan", t("to-plan"));
    if (!context.project.readings)
      return this.notYet(t("readings-first"), "readings", t("to-readings"));
    await this.load();
  }

  leave(): void {
    this.latest.drop();
    this.why.drop();
    this.progress.stop();
  }

  private notYet(words: string, task: string, label: string): void {
    replace(
      this.context.panel,
      h("h1", {}, t("map")),
      h("p", {}, words),
      button(label, () => this.context.go(task), "main"),
    );
  }

  private async load(): Promise<void> {
    replace(this.context.panel, h("h1", {}, t("map")), this.progress.element);
    this.progress.start();
    try {
      const answer = await this.latest.ask<MapAnswer>(
        this.context.path(`map?visit=${encodeURIComponent(this.context.visit ?? "")}`),
      );
      if (!answer) return;
      this.answer = answer;
      this.head = (await ask<{ record: number }>(this.context.path("changes?most=1"))).record;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      replace(
        this.context.panel,
        h("h1", {}, t("map")),
        h("p", { class: "refusal", role: "alert" }, error.message),
        button(t("to-readings"), () => this.context.go("readings"), "main"),
      );
      return;
    } finally {
      this.progress.stop();
    }
    this.draw();
  }

  private draw(): void {
    const answer = this.answer!;
    const { view } = this.context;
    const present = drawMap(view, answer);
    legend(view, answer, present);
    this.context.view.settle();
    view.onTap((place, features) => void this.tapped(place, features));
    this.fill(present);
  }

  private fill(present: Set<string>): void {
    const answer = this.answer!;
    replace(
      this.context.panel,
      h("h1", {}, t("map")),
      h("p", { class: "words" }, answer.disclaimer),
      this.older(answer),
      this.detail,
      section(
        t("wet-zones"),
        h("p", {}, answer.statement),
        h("p", { class: "words" }, answer.wet_explanation),
        this.zones(),
      ),
      section(
        t("anomalies"),
        this.anomalies(),
        button(t("mark-anomaly"), () => void this.mark()),
      ),
      section(
        t("quality"),
        h("p", {}, answer.quality),
        ...answer.not_mapped.map((why) => h("p", { class: "refusal" }, why)),
      ),
      fold(t("layers"), false, layerSwitches(this.context.view, present)),
      fold(
        t("notes"),
        false,
        h(
          "ul",
          {},
          ...[...answer.anomaly_limits, ...answer.notes].map((note) => h("li", {}, note)),
        ),
      ),
      button(t("on-to-drill"), () => this.context.go("drill"), "main wide"),
    );
    replace(this.detail, this.hintOrNothing());
  }

  /** While others read on, a map may be of fewer readings than there are: it says so. */
  private older(answer: MapAnswer): HTMLElement | null {
    if (answer.record >= this.head) return null;
    return h("p", { class: "caution" }, t("older-record", { n: answer.record }));
  }

  private hintOrNothing(): HTMLElement {
    const x = field("x", { unit: "m", inputmode: "decimal" });
    const y = field("y", { unit: "m", inputmode: "decimal" });
    const look = (): void => {
      const place: Place = [readNumber(x.input.value), readNumber(y.input.value)];
      if (!place.some(Number.isNaN)) void this.explain(place);
      else x.say(t("not-a-number"), true);
    };
    return h(
      "div",
      {},
      h("p", {}, t("tap-map")),
      fold(
        t("place-by-numbers"),
        false,
        h("div", { class: "row end" }, x.row, y.row, button(t("show"), look)),
      ),
    );
  }

  private zones(quiet = true): HTMLElement | null {
    const zones = this.answer!.layers.zones?.features ?? [];
    if (!zones.length) return null;
    const unit = this.context.unit;
    const rows = zones.map(({ properties: p }) => [
      String(p.zone),
      String(p.room),
      writeArea(Number(p.area_m2), unit),
      `${writeArea(Number(p.area_low_m2), unit)} – ${writeArea(Number(p.area_high_m2), unit)}`,
      number(p.peak),
    ]);
    return table(
      t("wet-zones"),
      [t("zone"), t("room"), t("area"), t("area-range"), t("peak")],
      rows,
      (i) => {
        const p = zones[i]!.properties;
        void this.explain([Number(p.peak_x), Number(p.peak_y)]);
      },
      quiet,
    );
  }

  private anomalies(): HTMLElement {
    const found = this.answer!.layers.anomalies?.features ?? [];
    const list = h("ul", { class: "list tall" });
    for (const { properties: p } of found) {
      const decided = p.decision ? h("span", {}, word("verdict", String(p.decision))) : null;
      list.append(
        h(
          "li",
          {},
          button(
            `${p.anomaly} ${word("anomaly", String(p.kind))}`,
            () => void this.decide(p),
            "link",
          ),
          decided,
        ),
      );
    }
    this.answer!.decisions.anomalies.forEach((one, index) => {
      if (one.verdict !== "dismissed" && one.verdict !== "marked") return;
      const words = t(one.verdict === "dismissed" ? "dismissed-by" : "marked-by", {
        kind: word("anomaly", one.kind),
        who: one.who,
        why: one.why,
      });
      list.append(
        h(
          "li",
          {},
          h("span", {}, words),
          button(t("take-back"), () => void this.withdraw(index), "plain"),
        ),
      );
    });
    return list.childElementCount ? list : h("p", {}, t("no-anomalies"));
  }

  private async tapped(place: Place, features: FeatureLike[]): Promise<void> {
    const anomaly = features.find((one) => one.get("anomaly") && one.get("sentence") !== undefined);
    if (anomaly) return this.decide(anomaly.getProperties());
    await this.explain(place);
  }

  private async explain(place: Place): Promise<void> {
    const mark = new Feature<Geometry>(new Point(place));
    this.context.view.layer("asked", [mark], spotStyle, 95);
    const query = new URLSearchParams({
      x: String(place[0]),
      y: String(place[1]),
      visit: this.context.visit ?? "",
    });
    const told = await this.why.ask<PlaceAnswer>(this.context.path(`place?${query}`));
    if (!told) return;
    const unit = this.context.unit;
    const rows = told.readings.map((one) => [
      one.label || String(one.reading),
      writeLength(one.distance_m, unit),
      one.censored === "above" ? "≥ " + number(one.value) : number(one.value),
      word("flag", one.flag),
    ]);
    replace(
      this.detail,
      h(
        "section",
        { class: "card" },
        h(
          "div",
          { class: "row spread" },
          h("h2", {}, told.room || t("off-plan")),
          button("×", () => this.close(), "plain", { "aria-label": t("close") }),
        ),
        told.value === null
          ? null
          : h(
              "p",
              {},
              h("span", { class: "value" }, number(told.value)),
              " ",
              t("relative-reading"),
            ),
        told.value === null
          ? null
          : h("p", {}, t("interval", { low: number(told.low), high: number(told.high) })),
        ...told.sentences.map((one) => h("p", {}, one)),
        fold(
          t("nearest"),
          false,
          table(t("nearest"), [t("number"), t("away"), t("value"), t("state")], rows),
        ),
      ),
    );
    this.context.panel.scrollTo({ top: 0 });
  }

  private close(): void {
    this.context.view.drop("asked");
    replace(this.detail, this.hintOrNothing());
  }

  private async decide(p: Record<string, unknown>): Promise<void> {
    const why = field(t("why"), { hint: t("why-anomaly"), more: { maxlength: 200 } });
    const title = `${p.anomaly} ${word("anomaly", String(p.kind))}`;
    const actions: [string, string, string?][] = [
      ["accepted", t("accept"), "main"],
      ["dismissed", t("dismiss"), "danger"],
    ];
    const content = [
      h("p", {}, sentence(String(p.sentence ?? ""))),
      h("p", { class: "caution" }, t("anomaly-caution")),
      why.row,
    ];
    const pressed = await dialog(title, content, actions, (value) =>
      value === "dismissed" && !why.input.value.trim() ? t("why-needed") : null,
    );
    if (!pressed) return;
    await this.send({
      verdict: pressed,
      kind: p.kind,
      places: [p.at],
      why: why.input.value.trim(),
    });
  }

  private async send(decision: Record<string, unknown>): Promise<void> {
    const name = await askWho();
    if (!name) return;
    await ask(this.context.path("anomalies"), { body: { ...decision, who: name }, key: newKey() });
    announce(t("decision-stored"));
    await this.load();
  }

  private async withdraw(index: number): Promise<void> {
    const name = await askWho();
    if (!name) return;
    await ask(this.context.path("anomalies/withdraw"), {
      body: { index, who: name },
      key: newKey(),
    });
    await this.load();
  }

  private async mark(): Promise<void> {
    const kinds: [string, string, string?][] = [
      ["line", t("mark-line")],
      ["spot", t("mark-spot")],
      ["mesh", t("mark-mesh")],
    ];
    const kind = await dialog(t("mark-anomaly"), [h("p", {}, t("mark-how"))], kinds);
    if (!kind) return;
    const { view, panel, unit } = this.context;
    view.onTap(null);
    const tool = new DrawTool({
      view,
      unit,
      title: word("anomaly", kind),
      shape: kind === "line" ? "line" : kind === "spot" ? "point" : "area",
      refuse: () => null,
      done: (places) => void this.marked(kind, places),
    });
    replace(panel, tool.element);
  }

  private async marked(kind: string, places: Place[] | null): Promise<void> {
    this.draw();
    if (!places) return;
    const why = field(t("what-is-it"), { hint: t("what-is-it-hint"), more: { maxlength: 200 } });
    const pressed = await dialog(t("mark-anomaly"), [why.row], [["ok", t("store"), "main"]], () =>
      why.input.value.trim() ? null : t("why-needed"),
    );
    if (pressed) await this.send({ verdict: "marked", kind, places, why: why.input.value.trim() });
  }

  tables(): HTMLElement[] {
    const answer = this.answer;
    if (!answer) return [];
    const zones = this.zones(false);
    const anomalies = (answer.layers.anomalies?.features ?? []).map(({ properties: p }) => [
      String(p.anomaly),
      word("anomaly", String(p.kind)),
      String(p.room),
      sentence(String(p.sentence)),
    ]);
    const readings = (answer.layers.readings?.features ?? [])
      .slice(0, 2000)
      .map(({ properties: p }) => [
        String(p.label || p.reading),
        String(p.room),
        `${number(p.x)}, ${number(p.y)}`,
        number(p.value),
        word("flag", String(p.flag)),
        String(p.reason ?? ""),
      ]);
    const areas = new Map<string, number>();
    for (const { properties: p } of answer.layers.bands?.features ?? []) {
      const band = `${number(p.low)} – ${number(p.high)}`;
      areas.set(band, (areas.get(band) ?? 0) + Number(p.area_m2));
    }
    const bands = [...areas].map(([band, area]) => [band, writeArea(area, this.context.unit)]);
    return [
      ...(zones ? [zones] : []),
      table(t("bands-table"), [sentence(t("relative-reading")), t("area")], bands),
      table(t("anomalies"), [t("number"), t("kind"), t("room"), t("what")], anomalies),
      table(
        t("readings-table"),
        [
          t("number"),
          t("room"),
          t("place-m"),
          sentence(t("relative-reading")),
          t("state"),
          t("reason"),
        ],
        readings,
      ),
    ];
  }
}
