// The task "Map": where it is wet, how sure that is, what disturbs the readings, and why.

import type { FeatureLike } from "ol/Feature";

import { ask, Latest, Refused } from "./api";
import { colourChoice, keptColours } from "./colours";
import { button, fold, h, replace, section, table } from "./dom";
import type { Place } from "./geometry";
import { bandWords, Hover } from "./hover";
import { legend, layerSwitches } from "./legend";
import { writeArea } from "./lengths";
import { drawMap } from "./map_layers";
import type { MapAnswer } from "./map_types";
import { number, sentence } from "./numbers";
import { PlaceCard } from "./place_card";
import { showPlan } from "./plan_source";
import { Progress } from "./progress";
import { t, word } from "./strings";
import { walkSweeps } from "./sweep_walk";
import type { Context, Task } from "./task";
import { Things } from "./things";

export class MapPage implements Task {
  private answer: MapAnswer | null = null;
  /** Last entry of the record when the map came. */
  private head = 0;
  private readonly latest = new Latest();
  private readonly place: PlaceCard;
  private readonly things: Things;
  private readonly progress: Progress;

  constructor(private readonly context: Context) {
    this.progress = new Progress(context);
    this.place = new PlaceCard(context);
    this.things = new Things(context, { load: () => this.load(), draw: () => this.draw() });
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
    this.place.drop();
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
        this.context.path(
          `map?visit=${encodeURIComponent(this.context.visit ?? "")}&own_colours=${keptColours(this.context)}`,
        ),
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
    view.stop();
    view.use(new Hover(view, bandWords(view, "bands")));
    this.fill(present);
  }

  private fill(present: Set<string>): void {
    const answer = this.answer!;
    replace(
      this.context.panel,
      h("h1", {}, t("map")),
      h("p", { class: "words" }, answer.disclaimer),
      this.older(answer),
      this.place.element,
      section(
        t("wet-zones"),
        h("p", {}, answer.statement),
        h("p", { class: "words" }, answer.wet_explanation),
        this.zones(),
      ),
      section(
        t("anomalies"),
        this.things.list(answer),
        button(t("mark-anomaly"), () => void this.things.mark()),
      ),
      this.sweeps(),
      section(
        t("quality"),
        h("p", {}, answer.quality),
        ...answer.not_mapped.map((why) => h("p", { class: "refusal" }, why)),
      ),
      fold(
        t("layers"),
        false,
        layerSwitches(this.context.view, present),
        colourChoice(this.context),
      ),
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
    this.place.rest();
  }

  /** What settles the contested: short rows of readings, walked like any other place. */
  private sweeps(): HTMLElement | null {
    const sweeps = this.answer!.layers.sweeps;
    if (!sweeps?.features.length) return null;
    const words = sweeps.features.map(({ properties: p }) =>
      h("li", {}, h("strong", {}, `${p.sweep}. `), String(p.sentence)),
    );
    return section(
      t("sweeps"),
      h("p", { class: "words" }, t("sweeps-how")),
      h("ul", {}, ...words),
      button(
        t("walk-sweeps"),
        () => void walkSweeps(this.context, this.answer!.instrument, sweeps),
        "wide",
      ),
    );
  }

  /** While others read on, a map may be of fewer readings than there are: it says so. */
  private older(answer: MapAnswer): HTMLElement | null {
    if (answer.record >= this.head) return null;
    return h("p", { class: "caution" }, t("older-record", { n: answer.record }));
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
        void this.place.explain([Number(p.peak_x), Number(p.peak_y)]);
      },
      quiet,
    );
  }

  private async tapped(place: Place, features: FeatureLike[]): Promise<void> {
    const anomaly = features.find((one) => one.get("anomaly") && one.get("sentence") !== undefined);
    if (anomaly) return this.things.decide(anomaly.getProperties());
    await this.place.explain(place);
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
