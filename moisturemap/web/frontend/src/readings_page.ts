// The task "Readings": a visit, its readings from a file or walked one by one, corrections.

import { placeHead, writePlace } from "./place_words";
import { ask } from "./api";
import { pointCollection } from "./collections";
import { append, button, h, replace, section, select, table } from "./dom";
import { meterForm } from "./meter_form";
import { showPlan } from "./plan_source";
import { correctReading } from "./reading_form";
import { reading, type ReadingRow } from "./reading_row";
import { readingStyle, setSpacing } from "./reading_style";
import { layerUndo } from "./layer_undo";
import { ReadingsImport } from "./readings_import";
import { t } from "./strings";
import type { Context, Task, VisitInfo } from "./task";
import { visitFacts, visitForm } from "./visit_form";
import { Walk } from "./walk";
import { inFront } from "./front";
import { askWho } from "./who";

const SHOWN = 500;

export class ReadingsPage implements Task {
  private rows: ReadingRow[] = [];
  private walk: Walk | null = null;
  private instrument = "";
  private readonly behind = inFront(async () => {
    if (!this.walk) await this.afterImport();
  });

  constructor(private readonly context: Context) {
    const relative = context.project.instruments.filter((one) => one.kind === "relative");
    this.instrument = (relative.at(-1) ?? context.project.instruments[0])?.id ?? "";
  }

  async start(): Promise<void> {
    const { context } = this;
    const reached = await showPlan(context);
    if (Walk.begun(context) && !reached) return this.openWalk();
    await this.load();
    if (Walk.begun(context)) this.openWalk();
  }

  leave(): void {
    this.behind();
    this.walk?.leave();
  }

  tables(): HTMLElement[] {
    const stored = this.table(this.rows.length);
    return this.walk ? [this.walk.table(), stored] : [stored];
  }

  private async load(): Promise<void> {
    if (this.context.visit) {
      const query = `readings?visit=${encodeURIComponent(this.context.visit)}`;
      const path = this.context.path(query);
      this.rows = (await ask<{ readings: ReadingRow[] }>(path, { patient: true })).readings;
    }
    // A walk begun while the answer was under way goes on.
    if (this.walk) return;
    this.drawRows();
    this.fill();
  }

  private drawRows(): void {
    const { view } = this.context;
    setSpacing(view.rooms.getExtent() ?? [0, 0, 1, 1], this.rows.length);
    view.collection(
      "readings",
      pointCollection(this.rows),
      readingStyle,
      60,
      this.rows.length > 400,
    );
    view.onTap((_, features) => {
      const hit = features.find((one) => one.get("reading") !== undefined);
      const row = hit && this.rows.find((one) => one.reading === hit.get("reading"));
      if (row) void this.correct(row);
    });
  }

  private fill(): void {
    const { project, panel } = this.context;
    if (project.rooms.length === 0) {
      replace(
        panel,
        h("h1", {}, t("readings")),
        h("p", {}, t("plan-first")),
        button(t("to-plan"), () => this.context.go("plan"), "main"),
      );
      return;
    }
    replace(
      panel,
      h("h1", {}, t("readings")),
      h("p", { class: "words" }, t("relative-always")),
      this.visits(),
    );
    if (!this.context.visit) return;
    append(panel, [this.instruments()]);
    if (!this.instrument) return;
    append(panel, [
      this.ways(),
      this.rows.length
        ? section(
            t("read-so-far", { n: this.rows.length }),
            layerUndo(this.context, "readings", () => this.afterImport()),
            this.table(SHOWN),
          )
        : layerUndo(this.context, "readings", () => this.afterImport(), true),
    ]);
    if (this.rows.length >= 5)
      append(panel, [button(t("on-to-map"), () => this.context.go("map"), "main wide")]);
  }

  private visits(): HTMLElement {
    const { project, visit } = this.context;
    const current = project.visits.find((one) => one.id === visit) ?? null;
    const words = current
      ? t("visit-is", { visit: current.id, operator: current.operator || t("nobody-named") })
      : t("visit-first");
    return section(
      t("visit"),
      h("p", {}, words),
      current ? h("p", { class: "words" }, visitFacts(this.context, current)) : null,
      h(
        "div",
        { class: "row" },
        button(t("new-visit"), () => void this.visit(null), current ? "" : "main"),
        current ? button(t("change-visit"), () => void this.visit(current), "plain") : null,
      ),
    );
  }

  private async visit(visit: VisitInfo | null): Promise<void> {
    const name = await askWho();
    if (name && (await visitForm(this.context, name, visit))) this.context.reopen();
  }

  private instruments(): HTMLElement {
    const list = this.context.project.instruments.filter((one) => one.kind === "relative");
    const choices = list.map((one): [string, string] => [
      one.id,
      one.scale ? `${one.id} (${one.scale[0]}–${one.scale[1]})` : one.id,
    ]);
    return section(
      t("meter"),
      choices.length
        ? select(t("meter-used"), choices, this.instrument, (id) => (this.instrument = id))
        : h("p", {}, t("meter-first")),
      button(t("new-meter"), () => void this.newMeter(), choices.length ? "" : "main"),
    );
  }

  private async newMeter(): Promise<void> {
    if (!(await meterForm(this.context))) return;
    await this.context.refresh();
    this.context.reopen();
  }

  private ways(): HTMLElement {
    const bring = new ReadingsImport(
      this.context,
      () => this.instrument,
      () => void this.afterImport(),
    );
    return section(
      t("take-readings"),
      h(
        "div",
        { class: "row" },
        button(t("walk"), () => this.openWalk(), "main"),
        bring.button(),
      ),
      h("p", { class: "words" }, t("ways-how")),
    );
  }

  private async afterImport(): Promise<void> {
    await this.context.refresh();
    await this.load();
  }

  private openWalk(): void {
    this.walk = new Walk(this.context, this.instrument, (ended) => {
      this.walk = null;
      if (ended) void this.context.refresh().then(() => this.load());
    });
    void this.walk.start();
  }

  private table(most: number): HTMLElement {
    const heads = [
      t("number"),
      t("room"),
      placeHead(this.context.unit),
      t("relative-reading"),
      t("note"),
    ];
    const rows = this.rows.slice(-most).reverse();
    const cells = rows.map((row) => [
      row.label || String(row.reading),
      row.room,
      writePlace([row.x, row.y], this.context.unit),
      reading(row),
      row.note,
    ]);
    const told = heads.map((_, k) => k === 0 || cells.some((row) => row[k] !== ""));
    const only = <T>(row: T[]): T[] => row.filter((_, k) => told[k]);
    const box = table(
      t("readings-table"),
      only(heads),
      cells.map(only),
      (i) => void this.correct(rows[i]!),
    );
    if (this.rows.length > most)
      box.prepend(h("p", { class: "words" }, t("last-shown", { n: most })));
    return box;
  }

  private async correct(row: ReadingRow): Promise<void> {
    if (await correctReading(this.context, row)) await this.afterImport();
  }
}
