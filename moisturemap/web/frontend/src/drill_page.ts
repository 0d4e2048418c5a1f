// The task "Drill plan": proposed holes, what people want otherwise, cautions, and the plan issued.

import type { FeatureLike } from "ol/Feature";

import { ask, Latest, Refused } from "./api";
import { announce } from "./announce";
import { button, dialog, field, fold, h, replace, section, table } from "./dom";
import { DrillIssue } from "./drill_issue";
import { settled, type DrillAnswer, type Hole } from "./drill_types";
import { dragPoints } from "./drag_points";
import type { Place } from "./geometry";
import { firstWrong } from "./field_checks";
import { newKey } from "./keep";
import { readNumber, writeLength } from "./lengths";
import { layerSwitches, legend } from "./legend";
import { drawMap } from "./map_layers";
import { number } from "./numbers";
import { olderNote } from "./older";
import { Progress } from "./progress";
import { holeSubject, photoBox } from "./photos";
import { t, word } from "./strings";
import { showPlan } from "./plan_source";
import type { Context, Task } from "./task";
import { askWho } from "./who";

export class DrillPage implements Task {
  private answer: DrillAnswer | null = null;
  private present = new Set<string>();
  private older: HTMLElement | null = null;
  private readonly latest = new Latest();
  private readonly progress: Progress;
  private readonly issuing: DrillIssue;

  constructor(private readonly context: Context) {
    this.progress = new Progress(context);
    this.issuing = new DrillIssue(context, () => this.load());
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
    this.progress.stop();
  }

  private async load(): Promise<void> {
    this.progress.start();
    try {
      const answer = await this.latest.ask<DrillAnswer>(
        this.context.path(`drill?visit=${encodeURIComponent(this.context.visit ?? "")}`),
      );
      if (answer) this.answer = answer;
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      replace(
        this.context.panel,
        h("h1", {}, t("drill-plan")),
        h("p", { class: "refusal", role: "alert" }, error.message),
        button(t("to-readings"), () => this.context.go("readings"), "main"),
      );
      return;
    } finally {
      this.progress.stop();
    }
    if (!this.answer) return;
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
      if (!settled(hole)) return void this.moved(hole, to);
      announce(t("hole-settled", { hole: hole.hole }), "bad");
      this.draw(answer);
    });
  }

  private async moved(hole: Hole, to: Place): Promise<void> {
    const words = t("move-hole", { hole: hole.hole, x: to[0].toFixed(2), y: to[1].toFixed(2) });
    const why = field(t("why"), { hint: t("why-hole"), more: { maxlength: 200 } });
    const pressed = await dialog(words, [why.row], [["ok", t("move"), "main"]]);
    if (pressed)
      await this.send({ verdict: "moved", x: hole.x, y: hole.y, to, why: why.input.value.trim() });
    else this.draw(this.answer!);
  }

  private tapped(place: Place, features: FeatureLike[]): void {
    const hit = features.find(
      (one) => one.get("hole") !== undefined && one.get("purpose") !== undefined,
    );
    const hole = hit && this.answer!.holes.find((one) => one.hole === hit.get("hole"));
    if (hole) void this.hole(hole);
    else void this.want(place);
  }

  private async want(place: Place): Promise<void> {
    const x = field("x", { unit: "m", value: place[0].toFixed(2), inputmode: "decimal" });
    const y = field("y", { unit: "m", value: place[1].toFixed(2), inputmode: "decimal" });
    const why = field(t("why"), { hint: t("why-hole"), more: { maxlength: 200 } });
    const at = (): Place => [readNumber(x.input.value), readNumber(y.input.value)];
    const refuse = (): string | null =>
      firstWrong(
        [x, Number.isNaN(at()[0]) ? t("not-a-number") : null],
        [y, Number.isNaN(at()[1]) ? t("not-a-number") : null],
      );
    const pressed = await dialog(
      t("want-hole"),
      [h("p", {}, t("want-hole-how")), h("div", { class: "two" }, x.row, y.row), why.row],
      [["ok", t("pin-here"), "main"]],
      { accept: refuse, about: `${x.input.value} ${y.input.value}` },
    );
    if (pressed)
      await this.send({ verdict: "pinned", x: at()[0], y: at()[1], why: why.input.value.trim() });
  }

  /** An issued hole keeps its place; it may only be withdrawn, and its name is not given again. */
  private async issued(hole: Hole): Promise<void> {
    const why = field(t("why"), { hint: t("why-withdrawn"), more: { maxlength: 120 } });
    const content = [
      ...this.facts(hole),
      h("p", { class: "words" }, t("hole-settled", { hole: hole.hole })),
      hole.status === "issued" ? why.row : null,
      section(t("photos"), photoBox(this.context, holeSubject(hole))),
    ];
    const actions: [string, string, string?][] =
      hole.status === "issued" ? [["withdraw", t("withdraw-hole"), "danger"]] : [];
    const pressed = await dialog(`${hole.hole}, ${hole.room}`, content, actions, {
      accept: () => (why.input.value.trim() ? null : t("why-needed")),
    });
    const name = pressed && (await askWho());
    if (!name) return;
    const body = { hole: hole.hole, why: why.input.value.trim(), who: name };
    await ask(this.context.path("issued-holes/withdraw"), { body, key: newKey() });
    await this.load();
  }

  private async hole(hole: Hole): Promise<void> {
    if (settled(hole)) return this.issued(hole);
    const why = field(t("why"), { hint: t("why-hole"), more: { maxlength: 200 } });
    const x = field("x", { unit: "m", value: hole.x.toFixed(2), inputmode: "decimal" });
    const y = field("y", { unit: "m", value: hole.y.toFixed(2), inputmode: "decimal" });
    const at = (): Place => [readNumber(x.input.value), readNumber(y.input.value)];
    const actions: [string, string, string?][] = [
      ["moved", t("move")],
      ["rejected", t("reject-hole"), "danger"],
    ];
    if (hole.status === "proposed") actions.unshift(["pinned", t("keep-hole"), "main"]);
    const refuse = (value: string): string | null => {
      if (value === "rejected" && !why.input.value.trim()) return t("why-needed");
      return value === "moved" && at().some(Number.isNaN) ? t("not-a-number") : null;
    };
    const pressed = await dialog(
      `${hole.hole}, ${hole.room}`,
      [
        ...this.facts(hole),
        h("div", { class: "two" }, x.row, y.row),
        why.row,
        section(t("photos"), photoBox(this.context, holeSubject(hole))),
      ],
      actions,
      { accept: refuse, about: `${hole.x} ${hole.y}` },
    );
    if (pressed === "moved")
      await this.send({
        verdict: pressed,
        x: hole.x,
        y: hole.y,
        to: at(),
        why: why.input.value.trim(),
      });
    else if (pressed)
      await this.send({ verdict: pressed, x: hole.x, y: hole.y, why: why.input.value.trim() });
  }

  private facts(hole: Hole): HTMLElement[] {
    const depth =
      hole.depth_mm === null ? t("depth-unknown") : t("depth", { mm: number(hole.depth_mm) });
    return [
      h("p", {}, h("strong", {}, word("purpose", hole.purpose)), ": ", hole.why),
      h("p", {}, depth),
      h("p", {}, hole.set_out),
      hole.expected === null
        ? h("p")
        : h("p", { class: "words" }, t("expected", { value: number(hole.expected) })),
    ];
  }

  private async send(decision: Record<string, unknown>): Promise<void> {
    const name = await askWho();
    if (!name) return this.draw(this.answer!);
    try {
      await ask(this.context.path("holes"), { body: { ...decision, who: name }, key: newKey() });
      announce(t("replanned"));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      announce(error.message, "bad");
    }
    await this.load();
  }

  private fill(answer: DrillAnswer): void {
    replace(
      this.context.panel,
      h("h1", {}, t("drill-plan")),
      this.older,
      h("p", {}, answer.count_rule),
      this.table(),
      h("p", { class: "words" }, t("holes-how")),
      button(t("want-hole"), () => void this.want([0, 0])),
      this.decisions(answer),
      this.issuing.cautions(answer),
      this.issuing.issue(answer),
      fold(t("layers"), false, layerSwitches(this.context.view, this.present)),
      fold(
        t("what-it-misses"),
        answer.unmet.length > 0,
        h("ul", {}, ...answer.statements.map((one) => h("li", {}, one))),
      ),
    );
  }

  private table(): HTMLElement {
    const { holes } = this.answer!;
    const rows = holes.map((hole) => [
      hole.hole,
      `${hole.room}, ${word("purpose", hole.purpose)}`,
      hole.depth_mm === null ? "–" : `${number(hole.depth_mm)}\u00a0mm`,
      word("status", hole.status),
    ]);
    return table(
      t("holes"),
      [t("hole"), t("where-and-why"), t("depth-head"), t("state")],
      rows,
      (i) => void this.hole(holes[i]!),
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

  private decisions(answer: DrillAnswer): HTMLElement | null {
    if (!answer.decisions.length) return null;
    const list = h("ul", { class: "list tall" });
    answer.decisions.forEach((one, index) => {
      const place = `${one.x.toFixed(2)}, ${one.y.toFixed(2)}`;
      const words = t("hole-decision", {
        what: word("verdict", one.verdict),
        place,
        who: one.who,
        why: one.why,
      });
      list.append(
        h(
          "li",
          {},
          h(
            "span",
            { class: answer.unmet.includes(index) ? "bad" : null },
            words,
            answer.unmet.includes(index) ? ` – ${t("unmet")}` : "",
          ),
          button(t("take-back"), () => void this.withdraw(index), "plain"),
        ),
      );
    });
    return section(t("wishes"), list);
  }

  private async withdraw(index: number): Promise<void> {
    const name = await askWho();
    if (!name) return;
    await ask(this.context.path("holes/withdraw"), { body: { index, who: name }, key: newKey() });
    await this.load();
  }
}
