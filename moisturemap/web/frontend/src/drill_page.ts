// The task "Drill plan": proposed holes, what people want otherwise, cautions, and the plan issued.

import type { FeatureLike } from "ol/Feature";

import { bullets } from "./bullets";
import { announce } from "./announce";
import { Latest, Refused } from "./api";
import { button, fold, h, replace, table } from "./dom";
import { dragPoints } from "./drag_points";
import { DrillIssue } from "./drill_issue";
import { settled, type DrillAnswer, type Hole } from "./drill_types";
import type { Place } from "./geometry";
import { HoleForms } from "./hole_forms";
import { HoleWishes } from "./hole_wishes";
import { layerSwitches, legend } from "./legend";
import { writeDepth, writeLength } from "./lengths";
import { drawMap } from "./map_layers";
import { noAnswer } from "./no_answer";
import { olderNote } from "./older";
import { showPlan } from "./plan_source";
import { Progress } from "./progress";
import { t, word } from "./strings";
import type { Context, Task } from "./task";

export class DrillPage implements Task {
  private answer: DrillAnswer | null = null;
  private present = new Set<string>();
  private older: HTMLElement | null = null;
  private readonly latest = new Latest();
  private readonly progress: Progress;
  private readonly issuing: DrillIssue;
  private readonly forms: HoleForms;
  private readonly wishes: HoleWishes;

  constructor(private readonly context: Context) {
    this.progress = new Progress(context, this.latest);
    this.issuing = new DrillIssue(context, () => this.load());
    this.wishes = new HoleWishes(context, () => this.load());
    this.forms = new HoleForms(context, this.wishes, () => this.load());
  }

  async start(): Promise<void> {
    const { context } = this;
    await showPlan(context);
    if (!context.project.readings) {
      replace(
        context.panel,
        h("h1", {}, t("drill-plan")),
        h("p", {}, t("readings-first")),
        button(t("to-readings"), () => context.go("readings"), "main"),
      );
      return;
    }
    replace(context.panel, h("h1", {}, t("drill-plan")), this.progress.element);
    await this.load();
  }

  leave(): void {
    this.latest.drop();
  }

  private async load(): Promise<void> {
    const path = this.context.path(`drill?visit=${encodeURIComponent(this.context.visit ?? "")}`);
    const asked = this.latest.ask<DrillAnswer>(path, { patient: true });
    try {
      const answer = await this.progress.during(asked);
      if (!answer) return;
      this.answer = answer;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      return noAnswer(this.context, "drill-plan", error);
    }
    this.older = await olderNote(this.context, this.answer.record);
    this.draw(this.answer);
  }

  private draw(answer: DrillAnswer): void {
    const { view } = this.context;
    view.stop();
    this.present = drawMap(view, answer.map, ["readings"], true);
    legend(view, answer.map, this.present);
    this.context.view.settle();
    view.onTap((place, features) => this.tapped(place, features));
    this.letMove(answer);
    this.fill(answer);
  }

  /** Holes can be dragged; where one is let go, it is wanted. */
  private letMove(answer: DrillAnswer): void {
    dragPoints(this.context.view, "holes", (sign, to) => {
      const hole = answer.holes.find((one) => one.hole === sign.get("hole"));
      if (!hole) return;
      if (!settled(hole)) return void this.move(hole, to);
      announce(t("hole-settled", { hole: hole.hole }), "bad");
      this.draw(answer);
    });
  }

  private async move(hole: Hole, to: Place): Promise<void> {
    if (!(await this.forms.moved(hole, to))) this.draw(this.answer!);
  }

  private tapped(place: Place, features: FeatureLike[]): void {
    const hit = features.find(
      (one) => one.get("hole") !== undefined && one.get("purpose") !== undefined,
    );
    const hole = hit && this.answer!.holes.find((one) => one.hole === hit.get("hole"));
    if (hole) void this.forms.open(hole);
    else void this.forms.want(place);
  }

  private fill(answer: DrillAnswer): void {
    replace(
      this.context.panel,
      h("h1", {}, t("drill-plan")),
      this.older,
      ...answer.blocked.map((one) => h("p", { class: "refusal", role: "alert" }, one)),
      ...answer.warnings.map((one) => h("p", { class: "caution" }, one)),
      h("p", {}, answer.count_rule),
      this.table(),
      h("p", { class: "words" }, t(answer.holes.every(settled) ? "holes-settled" : "holes-how")),
      button(t("want-hole"), () => void this.forms.want([0, 0])),
      this.wishes.list(answer),
      this.issuing.cautions(answer),
      this.issuing.issue(answer),
      fold(t("layers"), false, layerSwitches(this.context.view, this.present)),
      fold(t("what-it-misses"), answer.unmet.length > 0, bullets(answer.statements)),
    );
  }

  private table(): HTMLElement {
    const { holes } = this.answer!;
    const rows = holes.map((hole) => [
      hole.hole,
      `${hole.room}, ${word("purpose", hole.purpose)}`,
      hole.depth_mm === null ? "–" : writeDepth(hole.depth_mm, this.context.unit),
      word("status", hole.status),
    ]);
    return table(
      t("holes"),
      [t("hole"), t("where-and-why"), t("depth-head"), t("state")],
      rows,
      (i) => void this.forms.open(holes[i]!),
    );
  }

  tables(): HTMLElement[] {
    if (!this.answer) return [];
    const unit = this.context.unit;
    const rows = this.answer.holes.map((hole) => [
      hole.hole,
      hole.room,
      `${writeLength(hole.x, unit)}, ${writeLength(hole.y, unit)}`,
      hole.set_out,
      word("purpose", hole.purpose),
      hole.why,
    ]);
    return [
      table(
        t("holes"),
        [t("hole"), t("room"), t("place"), t("set-out"), t("purpose"), t("what")],
        rows,
      ),
    ];
  }
}
