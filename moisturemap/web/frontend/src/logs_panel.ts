// Loggers and logs of machines on the page of drying: their curves and sums, and their files.

import { ask } from "./api";
import { announce } from "./announce";
import { bullets } from "./bullets";
import { dialog } from "./dialog";
import { button, field, fileButton, h, replace, section, table } from "./dom";
import { insist } from "./insist";
import { newKey } from "./keep";
import { curve, day, type LoggerSeries } from "./log_curve";
import { importLog, type LogKind } from "./log_import";
import type { KeptLogs, MachineLog } from "./log_types";
import { writeDepth } from "./lengths";
import { number } from "./numbers";
import { t, word } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

const FILES = ".csv,.txt,.tsv,.tab,.xlsx,.xlsm";

export class LogsPanel {
  readonly element = h("div", {});

  constructor(
    private readonly context: Context,
    private readonly changed: () => void,
  ) {}

  async load(): Promise<void> {
    this.fill(await ask<KeptLogs>(this.context.path("logs"), { patient: true }));
  }

  private fill(kept: KeptLogs): void {
    const add = (kind: LogKind): HTMLElement =>
      fileButton(t(`add-${kind}`), FILES, (file) => void this.open(kind, file));
    replace(
      this.element,
      section(
        t("logs"),
        h("p", { class: "words" }, t("logs-how")),
        ...kept.loggers.map((one) => this.logger(one)),
        kept.machine_logs.length ? this.machines(kept.machine_logs) : null,
        h("div", { class: "row" }, add("logger"), add("machine-log")),
      ),
    );
  }

  private logger(series: LoggerSeries): HTMLElement {
    const { unit } = this.context;
    const depth =
      series.depth_mm === null ? "" : t("at-depth", { depth: writeDepth(series.depth_mm, unit) });
    const where = [word("logger", series.place), series.room, depth].filter(Boolean).join(", ");
    const visits = this.context.project.visits.flatMap((one) =>
      one.started ? [new Date(one.started)] : [],
    );
    return h(
      "figure",
      { class: "log" },
      h("figcaption", {}, h("strong", {}, series.id), ` ${where}`),
      curve(series, visits, unit),
      button(
        t("take-out-log", { id: series.id }),
        () => void this.remove("logger", series.id),
        "plain",
      ),
    );
  }

  private machines(logs: MachineLog[]): HTMLElement {
    const cell = (value: number | null): string => (value === null ? "–" : number(value));
    const rows = logs.map((one) => [
      one.machine,
      cell(one.litres),
      cell(one.run_hours),
      cell(one.energy_kwh),
      one.began && one.ended ? `${day(one.began)} – ${day(one.ended)}` : "–",
    ]);
    const heads = [t("name"), t("litres"), t("hours-run"), "kWh", t("from-to")];
    return table(
      t("machine-logs"),
      heads,
      rows,
      (i) => void this.remove("machine", logs[i]!.machine),
    );
  }

  private async open(kind: LogKind, file: File): Promise<void> {
    const kept = await importLog(this.context, kind, file);
    if (!kept) return;
    announce(t("log-kept"));
    this.fill(kept);
    this.changed();
  }

  private async remove(kind: "logger" | "machine", id: string): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const why = field(t("why"), { hint: t("why-hint"), more: { maxlength: 120 } });
    const pressed = await dialog(
      t("take-out-log", { id }),
      [bullets([t("kept-in-record")]), why.row],
      [["ok", t("set-aside"), "danger"]],
      { accept: () => (why.input.value.trim() ? null : t("why-needed")) },
    );
    if (!pressed) return;
    const body = { kind, id, why: why.input.value.trim(), who: name };
    const [path, key] = [this.context.path("logs/remove"), newKey()];
    const left = await insist(t("logs"), () => ask<KeptLogs>(path, { body, key }));
    if (!left) return;
    this.fill(left[0]);
    this.changed();
  }
}
