// The task "Drying": visits on one scale, what changed, when it would be dry, where machines stand.

import type { StyleFunction } from "ol/style/Style";

import { Latest, Refused } from "./api";
import { bandStyle, changeStyle, unknownStyle, unsureStyle } from "./area_style";
import { bullets } from "./bullets";
import { keptColours } from "./colours";
import { depthSection } from "./depth_chart";
import { append, button, fold, h, replace, section, select } from "./dom";
import { airTable, areaTable, wetTable } from "./drying_tables";
import type { DryingAnswer, VisitMap } from "./drying_types";
import { bandWords, Hover } from "./hover";
import { changeLegend, visitLegend } from "./legend";
import { LogsPanel } from "./logs_panel";
import { Machines } from "./machines";
import { nameLayer, signOfThing } from "./map_layers";
import { writeArea } from "./lengths";
import { shown } from "./numbers";
import { noAnswer } from "./no_answer";
import { olderNote } from "./older";
import { showPlan } from "./plan_source";
import { Progress } from "./progress";
import { SideView } from "./side_view";
import { t } from "./strings";
import type { Context, Task } from "./task";
import { anomalyStyle, stagnantStyle, wetLineStyle } from "./thing_style";

/** What the plan shows of a visit, from the floor up. */
const VISIT_LAYERS: [name: Exclude<keyof VisitMap, "visit">, style: StyleFunction, z: number][] = [
  ["bands", bandStyle, 20],
  ["unsure", unsureStyle, 24],
  ["unknown", unknownStyle, 25],
  ["wet_line", wetLineStyle, 30],
];

/** Where water seems to come in still: before any map or move. */
function leakFirst(leak: DryingAnswer["leak"]): HTMLElement | null {
  if (!leak) return null;
  return h(
    "div",
    { class: "refusal", role: "alert" },
    h("p", {}, leak.sentence),
    bullets(leak.steps),
  );
}

export class DryingPage implements Task {
  private answer: DryingAnswer | null = null;
  private at = 0;
  private older: HTMLElement | null = null;
  private showChange = false;
  private beside: SideView | null = null;
  /** The visit on the left when two stand side by side. */
  private left = 0;
  private readonly latest = new Latest();
  private readonly progress: Progress;
  private readonly shown = h("p", { role: "status", "aria-live": "polite" });
  private machines: Machines | null = null;
  private readonly logs: LogsPanel;

  constructor(private readonly context: Context) {
    this.progress = new Progress(context, this.latest);
    this.logs = new LogsPanel(context, () => void this.start());
  }

  async start(): Promise<void> {
    const { context } = this;
    await showPlan(context);
    if (!context.project.readings) {
      replace(
        context.panel,
        h("h1", {}, t("drying")),
        h("p", {}, t("readings-first")),
        button(t("to-readings"), () => context.go("readings"), "main"),
      );
      return;
    }
    replace(context.panel, h("h1", {}, t("drying")), this.progress.element);
    const path = context.path(
      `drying?visit=${encodeURIComponent(context.visit ?? "")}&own_colours=${keptColours(context)}`,
    );
    const asked = this.latest.ask<DryingAnswer>(path, { patient: true });
    try {
      const answer = await this.progress.during(asked);
      if (!answer) return;
      this.answer = answer;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      return noAnswer(context, "drying", error);
    }
    this.at = this.answer.maps.length - 1;
    const machines = (this.machines = new Machines(context));
    [this.older] = await Promise.all([
      olderNote(context, this.answer.record),
      machines.load(),
      this.logs.load(),
    ]);
    this.fill(this.answer);
    this.draw();
    await machines.propose();
  }

  leave(): void {
    this.latest.drop();
    this.machines?.leave();
    this.beside?.remove();
    this.beside = null;
  }

  private draw(): void {
    const answer = this.answer!;
    const { view, unit } = this.context;
    const map = answer.maps[this.at]!;
    const signs = [
      ...answer.layers.things.features.map(({ properties }) => signOfThing(properties.standing)),
      ...answer.layers.areas.features.map(({ properties }) => String(properties.kind)),
    ];
    for (const name of ["dried", "rose", ...VISIT_LAYERS.map(([layer]) => layer)]) view.drop(name);
    if (this.showChange) {
      view.collection("dried", answer.layers.dried, changeStyle("dried"), 20, true);
      view.collection("rose", answer.layers.rose, changeStyle("rose"), 21, true);
      changeLegend(view, signs);
    } else {
      const first = this.beside ? answer.maps[this.left]! : map;
      for (const [name, style, z] of VISIT_LAYERS)
        view.collection(name, this.coloured(first)[name], style, z, true);
      this.beside?.show(
        VISIT_LAYERS.map(([name, style, z]) => [this.coloured(map)[name], style, z]),
        [first.visit, map.visit],
      );
      const visit = this.beside ? `${first.visit} | ${map.visit}` : map.visit;
      visitLegend(
        view,
        answer.levels,
        answer.colours,
        t("visit-legend", { visit, instrument: answer.instrument }),
        answer.wet_level,
        signs,
      );
    }
    const things = view.collection("anomalies", answer.layers.things, anomalyStyle, 69);
    nameLayer("anomalies", things.getFeatures());
    this.beside?.share("anomalies", anomalyStyle, 69);
    const areas = view.collection("areas", answer.layers.areas, stagnantStyle, 70);
    nameLayer("areas", areas.getFeatures());
    this.beside?.share("areas", stagnantStyle, 70);
    view.settle();
    const wet = answer.wet_areas.find((one) => one.visit === map.visit);
    this.shown.textContent = this.showChange
      ? shown(answer.change)
      : wet
        ? t("wet-area-on", {
            visit: map.visit,
            area: writeArea(wet.area_m2, unit),
            low: writeArea(wet.low_m2, unit),
            high: writeArea(wet.high_m2, unit),
          })
        : map.visit;
    if (this.machines) this.machines.beside = this.beside;
    this.machines?.draw();
    view.use(new Hover(view, this.showChange ? () => "" : bandWords(view, "bands")));
  }

  private coloured(map: VisitMap): VisitMap {
    for (const feature of map.bands.features)
      feature.properties.colour ??= this.answer!.colours[Number(feature.properties.step)] ?? "#ccc";
    return map;
  }

  /** Two visits side by side on one scale; what moves one plan moves the other. */
  private pairing(answer: DryingAnswer, redraw: () => void): HTMLElement {
    const choices = answer.maps.map((one, i): [string, string] => [String(i), one.visit]);
    const choice = select(t("left-visit"), choices, String(this.left), (index) => {
      this.left = Number(index);
      this.draw();
    });
    choice.hidden = true;
    const toggle = button(
      t("side-by-side"),
      () => {
        if (this.beside) this.beside.remove();
        this.beside = this.beside ? null : new SideView(this.context.view);
        choice.hidden = this.beside === null;
        toggle.setAttribute("aria-pressed", String(this.beside !== null));
        redraw();
      },
      "",
      { "aria-pressed": "false" },
    );
    return h("div", { class: "spaced" }, toggle, choice);
  }

  private slider(answer: DryingAnswer): HTMLElement {
    const last = answer.maps.length - 1;
    const input = h("input", {
      type: "range",
      min: 0,
      max: last,
      step: 1,
      value: this.at,
      "aria-label": t("visit-shown"),
      "aria-valuetext": answer.maps[this.at]!.visit,
      oninput: () => {
        this.at = Number(input.value);
        input.setAttribute("aria-valuetext", answer.maps[this.at]!.visit);
        show(false);
      },
    });
    const toggle = button(
      t("show-change"),
      () => {
        show(!this.showChange);
      },
      "",
      { "aria-pressed": "false" },
    );
    const show = (change: boolean): void => {
      this.showChange = change && !this.beside;
      toggle.disabled = this.beside !== null;
      toggle.setAttribute("aria-pressed", String(this.showChange));
      this.draw();
    };
    const ticks = h(
      "div",
      { class: "limits" },
      ...answer.maps.map((one) => h("span", {}, one.visit)),
    );
    return section(
      t("visits"),
      last > 0 ? h("div", { class: "slider" }, input, ticks) : null,
      this.shown,
      last > 0
        ? h(
            "div",
            { class: "row" },
            toggle,
            this.pairing(answer, () => show(false)),
          )
        : null,
    );
  }

  private fill(answer: DryingAnswer): void {
    replace(
      this.context.panel,
      h("h1", {}, t("drying")),
      leakFirst(answer.leak),
      this.older,
      h("p", { class: "words" }, t("relative-always")),
      this.slider(answer),
      answer.level_words ? h("p", { class: "words" }, answer.level_words) : null,
      ...answer.differing.map((one) => h("p", { class: "caution" }, one)),
    );
    const { leak, areas, features } = answer;
    const told = [leak?.sentence, ...(leak?.steps ?? [])];
    const below = [...areas, ...features].map((one) => one.sentence);
    const rest = answer.statements.filter((one) => ![...told, ...below].includes(one));
    append(this.context.panel, [
      section(t("what-visits-show"), bullets(rest)),
      answer.areas.length
        ? section(t("areas"), bullets(answer.areas.map((one) => String(one.sentence))))
        : null,
      this.machines?.element ?? null,
      depthSection(answer.depths, this.context.unit),
      this.logs.element,
      wetTable(answer, this.context.unit),
      answer.features.length
        ? fold(
            t("pipes-or-leaks"),
            false,
            bullets(answer.features.map((one) => String(one.sentence))),
          )
        : null,
      airTable(answer, this.context.unit),
      fold(t("notes"), false, bullets(answer.notes)),
    ]);
  }

  tables(): HTMLElement[] {
    const answer = this.answer;
    if (!answer) return [];
    const wet = wetTable(answer, this.context.unit);
    return [
      ...(wet ? [wet] : []),
      areaTable(answer, this.context.unit),
      ...(this.machines ? [this.machines.table()] : []),
    ];
  }
}
