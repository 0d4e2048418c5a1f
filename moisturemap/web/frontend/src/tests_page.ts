// The task "Tests": calibrated tests, the holes they are for, limits, instruments, the verdict.

import Feature from "ol/Feature";
import { Point, type Geometry } from "ol/geom";

import { layerUndo } from "./layer_undo";
import { ask, Latest, Refused } from "./api";
import { pointCollection } from "./collections";
import { button, h, replace, section, table } from "./dom";
import { keptColours } from "./colours";
import { instrumentSection } from "./instruments";
import { legend } from "./legend";
import { limitSection } from "./limits";
import { drawMap, nameLayer, nameTests, signOfHole } from "./map_layers";
import type { MapAnswer } from "./map_types";
import { holeStyle, testStyle } from "./sign_style";
import { recorded } from "./numbers";
import { t, unitWord } from "./strings";
import { showPlan } from "./plan_source";
import type { Context, Task } from "./task";
import { boundSign } from "./test_fields";
import { inFront } from "./front";
import { TestForm } from "./test_form";
import { methodOf, type IssuedHole, type Limit, type Method, type TestRow } from "./test_types";
import { askVerdict } from "./verdict";
import { roomAirSection } from "./visit_form";

export class TestsPage implements Task {
  private methods: Method[] = [];
  private tests: TestRow[] = [];
  private limits: Limit[] = [];
  private holes: IssuedHole[] = [];
  private form: TestForm | null = null;
  /** The map below the tests, and what is drawn of it. */
  private mapped: [MapAnswer, Set<string>] | null = null;
  private readonly verdict = h("div", { "aria-live": "polite" });
  private readonly verdicts = new Latest();
  private readonly maps = new Latest();
  private readonly behind = inFront(async () => {
    if (!this.form) await this.context.refresh().then(() => this.load());
  });

  constructor(private readonly context: Context) {}

  async start(): Promise<void> {
    const { context } = this;
    await showPlan(context);
    this.methods = (
      await ask<{ methods: Method[] }>("/api/test-methods", { patient: true })
    ).methods;
    await this.load();
    if (context.project.readings) void this.mapBelow();
    if (context.project.visits.length && TestForm.begun()) this.open(null);
  }

  /** The map under tests and holes, so that whoever types sees what is tested. */
  private async mapBelow(): Promise<void> {
    const { context } = this;
    const query = `map?visit=${encodeURIComponent(context.visit ?? "")}&own_colours=${keptColours(context)}`;
    try {
      const answer = await this.maps.ask<MapAnswer>(context.path(query), { patient: true });
      if (!answer) return;
      this.mapped = [
        answer,
        drawMap(context.view, answer, ["readings", "sweeps", "tests", "holes"]),
      ];
      this.key();
      context.view.settle();
    } catch (error) {
      // Without a map the tests are typed all the same; the task "Map" says why there is none.
      if (!(error instanceof Refused)) throw error;
    }
  }

  private async load(): Promise<void> {
    const path = this.context.path;
    const [answer, issued] = await Promise.all([
      ask<{ tests: TestRow[]; limits: Limit[] }>(path("tests"), { patient: true }),
      ask<{ holes: IssuedHole[] }>(path("issued-holes"), { patient: true }),
    ]);
    this.tests = answer.tests;
    this.limits = answer.limits;
    this.holes = issued.holes;
    // A form opened while the answer was under way stays; what came is shown when it is left.
    if (this.form) return;
    this.draw();
    this.fill();
  }

  /** The tests on the plan, and the issued holes that wait for theirs. */
  private draw(): void {
    const { view } = this.context;
    const placed = this.tests.filter((one) => one.x !== null && one.y !== null);
    nameTests(view.collection("tests", pointCollection(placed), testStyle, 78).getFeatures());
    const tested = new Set(this.tests.map((one) => one.hole));
    const waiting = this.holes.filter((one) => !one.withdrawn && !tested.has(one.hole));
    const signs = waiting.map((one) => {
      const sign = new Feature<Geometry>(new Point([one.x, one.y]));
      sign.setProperties({ issued: one.hole, hole: one.hole, status: "issued" });
      return sign;
    });
    nameLayer("issued", view.layer("issued", signs, holeStyle, 77).getFeatures());
    this.key();
    view.onTap((_, features) => {
      const hit = features.find((one) => one.get("method") !== undefined);
      const test = hit && this.tests.find((one) => one.id === hit.get("id"));
      if (test) this.open(test);
    });
  }

  /** The legend, once the map has told which issued holes must not be drilled by now. */
  private key(): void {
    const { view } = this.context;
    const [answer, present] = this.mapped ?? [null, []];
    const barred = new Set(
      (answer?.layers.holes?.features ?? [])
        .filter(({ properties }) => properties.status === "blocked")
        .map(({ properties }) => properties.hole),
    );
    const holes = view.source("issued")?.getFeatures() ?? [];
    for (const one of holes) if (barred.has(one.get("hole"))) one.set("status", "blocked");
    const tests = view.source("tests")?.getFeatures().length ? ["tests"] : [];
    legend(view, answer, new Set([...present, ...holes.map(signOfHole), ...tests]));
  }

  tables(): HTMLElement[] {
    return [this.table()];
  }

  /** The tests, those entered last first. */
  private table(): HTMLElement {
    const latest = [...this.tests].reverse();
    const rows = latest.map((one) => [
      one.hole || String(one.id),
      one.visit,
      methodOf(this.methods, one.method)?.label ?? one.method,
      one.value === null
        ? "–"
        : `${boundSign(one.censored)}${recorded(one.value)}\u00a0${unitWord(one.unit)}`,
    ]);
    const heads = [t("hole"), t("visit"), t("method"), t("value")];
    return table(t("tests"), heads, rows, (i) => this.open(latest[i]!));
  }

  private fill(): void {
    const { panel, project } = this.context;
    if (!project.visits.length) {
      replace(
        panel,
        h("h1", {}, t("tests")),
        h("p", {}, t("visit-first")),
        button(t("to-readings"), () => this.context.go("readings"), "main"),
      );
      return;
    }
    const again = (): Promise<void> => this.context.refresh().then(() => this.load());
    replace(
      panel,
      h("h1", {}, t("tests")),
      h("p", {}, t("tests-how")),
      button(t("new-test"), () => this.open(null), "main"),
      this.tests.length ? this.table() : h("p", { class: "words" }, t("no-tests")),
      layerUndo(this.context, "tests", again),
      section(t("verdict"), this.verdict),
      limitSection(this.context, this.methods, this.limits, again),
      instrumentSection(this.context, again),
      roomAirSection(this.context, again),
    );
    if (this.tests.length) void this.judge();
    else replace(this.verdict, h("p", { class: "words" }, t("no-verdict")));
  }

  leave(): void {
    this.behind();
    this.verdicts.drop();
    this.maps.drop();
    this.form?.drop();
  }

  private async judge(): Promise<void> {
    replace(this.verdict, h("p", {}, t("one-moment")));
    const shown = await askVerdict(this.context, this.verdicts);
    if (shown) replace(this.verdict, shown);
  }

  private open(test: TestRow | null): void {
    this.form?.drop();
    this.form = new TestForm(this.context, this.methods, this.holes, test, (stored) => {
      this.form = null;
      if (stored) void this.context.refresh().then(() => this.load());
      else {
        this.draw();
        this.fill();
      }
    });
    this.form.draw();
  }
}
