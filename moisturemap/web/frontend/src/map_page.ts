// The task "Map": where it is wet, how sure that is, what disturbs the readings, and why.

import type { FeatureLike } from "ol/Feature";

import { announce } from "./announce";
import { Latest, Refused } from "./api";
import { colourChoice, keptColours } from "./colours";
import { button, fold, h, replace, section } from "./dom";
import { renew } from "./focus";
import type { Place } from "./geometry";
import { bandWords, Hover } from "./hover";
import { legend, layerSwitches } from "./legend";
import { LiveMap } from "./live_map";
import { drawLayer, drawMap } from "./map_layers";
import { noAnswer } from "./no_answer";
import { olderNote } from "./older";
import { mapTables, zoneTable } from "./map_tables";
import type { MapAnswer } from "./map_types";
import { PlaceCard } from "./place_card";
import { showPlan } from "./plan_source";
import type { Collection } from "./plan_features";
import { Progress } from "./progress";
import { t } from "./strings";
import { walkSweeps } from "./sweep_walk";
import type { Context, Task } from "./task";
import { Things } from "./things";

/** A map that is at hand comes sooner than this [ms]. */
const SOON_MS = 100;
/** So does the first map of a few readings; drawing these alone meanwhile would put it off. */
const SOON_OF_FEW_MS = 1500;
const FEW_READINGS = 1000;
/** Visits whose map was seen: its quick map comes at once when they are corrected. */
const seen = new Set<string>();

export class MapPage implements Task {
  private answer: MapAnswer | null = null;
  /** Said where the record went on while the map was made. */
  private older: HTMLElement | null = null;
  private readonly latest = new Latest();
  private readonly place: PlaceCard;
  private readonly things: Things;
  private readonly progress: Progress;
  private readonly live: LiveMap;
  private present = new Set<string>();
  private readonly note = h("div", { role: "status" });
  private readonly switches = h("div");
  private readonly remarks = h("div", { role: "status" });

  constructor(private readonly context: Context) {
    this.progress = new Progress(context, this.latest);
    this.live = new LiveMap(context);
    this.place = new PlaceCard(context);
    this.things = new Things(context, { load: () => this.load(), draw: () => this.draw() });
  }

  async start(): Promise<void> {
    const { rooms, readings } = this.context.project;
    const plan = showPlan(this.context);
    if (rooms.length && readings) return this.load(plan);
    await plan;
    if (!rooms.length) return this.notYet(t("plan-first"), "plan", t("to-plan"));
    this.notYet(t("readings-first"), "readings", t("to-readings"));
  }

  leave(): void {
    this.latest.drop();
    this.live.drop();
    this.place.drop();
  }

  private notYet(words: string, task: string, label: string): void {
    replace(
      this.context.panel,
      h("h1", {}, t("map")),
      h("p", {}, words),
      button(label, () => this.context.go(task), "main"),
    );
  }

  /** Ask for the map, meanwhile for the plan below it where that is not shown yet. */
  private async load(plan: Promise<unknown> = Promise.resolve()): Promise<void> {
    replace(this.note);
    replace(this.context.panel, h("h1", {}, t("map")), this.note, this.progress.element);
    const first = !seen.has(this.visitPath());
    const soon = this.context.project.readings > FEW_READINGS ? SOON_MS : SOON_OF_FEW_MS;
    const sketched = setTimeout(
      () =>
        first &&
        void plan.then(
          () => this.sketch(),
          () => undefined,
        ),
      soon,
    );
    try {
      const [there] = await Promise.all([this.fetch(true), plan]);
      if (!there) return;
      seen.add(this.visitPath());
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      return noAnswer(this.context, "map", error);
    } finally {
      clearTimeout(sketched);
      this.live.drop();
    }
    this.place.rest();
    this.draw();
    this.things.resume();
    await this.follow();
  }

  private visitPath(): string {
    return this.context.path(this.context.visit ?? "");
  }

  /** The readings alone, while what disturbs them and how sure the map is are worked out. */
  private async sketch(): Promise<void> {
    if (await this.live.redraw())
      replace(this.note, h("p", { class: "caution" }, t("readings-alone")));
  }

  /** Ask for the map; false when another question has taken the place of this one. */
  private async fetch(quick: boolean): Promise<boolean> {
    const query = new URLSearchParams({
      visit: this.context.visit ?? "",
      own_colours: String(keptColours(this.context)),
      quick: String(quick),
    });
    const path = this.context.path(`map?${query}`);
    const answer = await this.progress.during(this.latest.ask<MapAnswer>(path, { patient: true }));
    if (!answer) return false;
    [this.answer, this.older] = [answer, null];
    return true;
  }

  /** Say where the record went on while the map was made; asked once it is drawn. */
  private async aged(): Promise<void> {
    const answer = this.answer!;
    const older = await olderNote(this.context, answer.record);
    if (!older || this.answer !== answer) return;
    this.older = older;
    replace(this.note, ...this.noted(answer));
  }

  /** What comes after the first sight: the whole map where that was a quick one, then the holes. */
  private async follow(): Promise<void> {
    try {
      if (this.answer!.quick) {
        if (!(await this.fetch(false))) return;
        if (this.things.marking) return await this.aged(); // drawn when that has ended
        renew(this.context.panel, () => this.draw());
        announce(t("whole-map-here"));
        void this.place.again();
      }
      await this.aged();
      await this.holes();
      await this.remarked();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      replace(
        this.note,
        this.quickly(),
        h("p", { class: "refusal" }, error.message),
        button(t("map-again"), () => void this.load()),
      );
    }
  }

  private async holes(): Promise<void> {
    const answer = this.answer!;
    const path = `map/holes?visit=${encodeURIComponent(this.context.visit ?? "")}`;
    const told = await this.latest.ask<{ holes: Collection }>(this.context.path(path), {
      patient: true,
    });
    if (!told || this.answer !== answer) return;
    answer.layers.holes = told.holes;
    if (this.things.marking) return;
    drawLayer(this.context.view, "holes", told.holes, this.present);
    this.signs();
  }

  /** What `check` warns of, first among the notes. */
  private async remarked(): Promise<void> {
    const path = `remarks?visit=${encodeURIComponent(this.context.visit ?? "")}`;
    const told = await this.latest.ask<{ remarks: string[] }>(this.context.path(path), {
      patient: true,
    });
    if (told)
      replace(this.remarks, ...told.remarks.map((one) => h("p", { class: "caution" }, one)));
  }

  private draw(): void {
    const answer = this.answer!;
    const { view } = this.context;
    this.present = drawMap(view, answer);
    view.onTap((place, features) => void this.tapped(place, features));
    view.stop();
    view.use(new Hover(view, bandWords(view, "bands")));
    this.fill();
    this.signs();
  }

  /** The legend and the switches of the layers there are. */
  private signs(): void {
    const { view } = this.context;
    legend(view, this.answer, this.present);
    view.settle();
    replace(this.switches, layerSwitches(view, this.present));
  }

  private fill(): void {
    const answer = this.answer!;
    replace(this.note, ...this.noted(answer));
    replace(
      this.context.panel,
      h("h1", {}, t("map")),
      h("p", { class: "words" }, answer.disclaimer),
      this.note,
      this.place.element,
      section(
        t("wet-zones"),
        h("p", {}, answer.statement),
        answer.wet_area ? h("p", {}, answer.wet_area) : null,
        answer.wet_explanation ? h("p", { class: "words" }, answer.wet_explanation) : null,
        ...answer.differing.map((one) => h("p", { class: "caution" }, one)),
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
      fold(t("layers"), false, this.switches, colourChoice(this.context)),
      fold(
        t("notes"),
        false,
        this.remarks,
        h(
          "ul",
          {},
          ...[...answer.anomaly_limits, ...answer.notes].map((note) => h("li", {}, note)),
        ),
      ),
      button(t("on-to-drill"), () => this.context.go("drill"), "main wide"),
    );
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

  private quickly(): HTMLElement | null {
    const { quick, record } = this.answer!;
    return quick ? h("p", { class: "caution" }, t("quick-map", { n: record })) : null;
  }

  /** A map may be a quick one, or while others read on of fewer readings than there are. */
  private noted(answer: MapAnswer): (HTMLElement | string)[] {
    if (answer.quick) return [this.quickly()!, this.progress.element];
    return this.older ? [this.older] : [];
  }

  private readonly explain = (place: Place): void => void this.place.explain(place);

  private zones(): HTMLElement | null {
    return zoneTable(this.answer!, this.context.unit, this.explain, true);
  }

  private async tapped(place: Place, features: FeatureLike[]): Promise<void> {
    const anomaly = features.find((one) => one.get("anomaly") && one.get("sentence") !== undefined);
    if (anomaly) return this.things.decide(anomaly.getProperties());
    await this.place.explain(place);
  }

  tables(): HTMLElement[] {
    return this.answer ? mapTables(this.answer, this.context.unit, this.explain) : [];
  }
}
