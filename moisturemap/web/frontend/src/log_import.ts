// The file of a logger or of machines: shown as it was understood, asked where it sat, then kept.

import { announce } from "./announce";
import { Latest, Refused } from "./api";
import { bullets } from "./bullets";
import { dialog } from "./dialog";
import { check, field, fold, h, replace, select, table } from "./dom";
import { aboutMillimetres, settled } from "./doubts";
import { askAbout, firstWrong, type Field } from "./field_checks";
import { formOf } from "./file_store";
import { newKey } from "./keep";
import { readLength, readMillimetres } from "./lengths";
import { curve, type LoggerSeries } from "./log_curve";
import { machineWords, type KeptLogs, type MachineLog } from "./log_types";
import { postFile } from "./outbox";
import { ready } from "./ready";
import { t, word } from "./strings";
import type { Context } from "./task";
import { DEPTH } from "./usual";
import { askWho } from "./who";

export type LogKind = "logger" | "machine-log";

interface Understood {
  channels?: string[];
  columns?: Record<string, string[]>;
  sample?: string[][];
  series?: LoggerSeries | null;
  machines?: MachineLog[];
  notes: string[];
}

/** Ask for everything a file does not tell, and keep it; null when it was given up. */
export async function importLog(
  context: Context,
  kind: LogKind,
  file: File,
): Promise<KeptLogs | null> {
  const who = await askWho();
  return who ? new LogImport(context, kind, file).run(who) : null;
}

/** The zone the visits are written in, where they state one; else that of this device. */
function zoneOf(context: Context): string {
  const stated = context.project.visits.map((one) => /[+-]\d\d:\d\d$/.exec(one.started ?? "")?.[0]);
  const { timeZone } = Intl.DateTimeFormat().resolvedOptions();
  return stated.filter((one) => one && one !== "+00:00").at(-1) ?? timeZone;
}

class LogImport {
  private readonly latest = new Latest();
  private readonly given: Record<string, string>;
  private understood: Understood | null = null;
  private readonly words = h("div", { class: "preview", role: "status", "aria-live": "polite" });
  private readonly channels = h("div", {});
  private readonly name: Field;
  private readonly x: Field;
  private readonly y: Field;
  private readonly depth: Field;

  constructor(
    private readonly context: Context,
    private readonly kind: LogKind,
    private readonly file: File,
  ) {
    const unit = context.unit === "m" ? "m" : undefined;
    [this.x, this.y] = ["x", "y"].map((axis) => field(axis, { unit })) as [Field, Field];
    this.depth = field(t("depth"), {
      unit: context.unit === "m" ? "mm" : "in",
      inputmode: "decimal",
    });
    this.given = { zone: zoneOf(context), place: "hole" };
    this.name = field(t("name"), { hint: t(`${kind}-name-hint`), more: { maxlength: 40 } });
  }

  async run(who: string): Promise<KeptLogs | null> {
    const key = newKey();
    let kept: KeptLogs | null = null;
    const shown = dialog(
      t("log-of", { file: this.file.name }),
      [...(this.kind === "logger" ? this.whereAsked() : this.machineAsked()), this.words],
      [["ok", t("store"), "main"]],
      {
        accept: () => this.refusal(),
        sure: () =>
          settled(askAbout(this.depth, (one) => aboutMillimetres(one, this.context.unit, DEPTH))),
        send: async () => {
          const path = this.context.path(this.kind === "logger" ? "logs/logger" : "logs/machines");
          const arrived = (answer: KeptLogs): void => void (kept = answer);
          const sent = await postFile(path, this.said(who), [this.file, key], arrived);
          if (sent === "kept") announce(t("file-kept", { file: this.file.name }));
        },
        side: true,
        about: null,
      },
    );
    void this.look();
    await shown;
    this.latest.drop();
    return kept;
  }

  /** Settings both kinds of file have. */
  private ofFile(): HTMLElement {
    const zone = field(t("time-zone"), {
      value: this.given.zone ?? "",
      hint: t("time-zone-hint"),
      onchange: (text) => this.set("zone", text.trim()),
    });
    const decimals: [string, string][] = [
      ["", t("decimal-auto")],
      [".", "1.5"],
      [",", "1,5"],
    ];
    return h(
      "div",
      {},
      h(
        "div",
        { class: "two" },
        zone.row,
        select(t("decimal-mark"), decimals, "", (value) => this.set("decimal", value)),
      ),
      check(t("log-instead"), false, (on) => (this.given.instead = String(on))),
    );
  }

  private room(): HTMLElement {
    const rooms: [string, string][] = [
      ["", t("all-rooms")],
      ...this.context.project.rooms.map((room): [string, string] => [room, room]),
    ];
    return select(t("room"), rooms, "", (room) => (this.given.room = room));
  }

  private whereAsked(): HTMLElement[] {
    const places = ["hole", "air", "surface"].map((one): [string, string] => [
      one,
      word("logger", one),
    ]);
    const place = select(t("where-it-sat"), places, "hole", (value) => {
      this.given.place = value;
      this.depth.row.hidden = value !== "hole";
    });
    return [
      h("div", { class: "two" }, this.name.row, place),
      h("div", { class: "two" }, this.room(), this.depth.row),
      h("div", { class: "two" }, this.x.row, this.y.row),
      this.channels,
      this.ofFile(),
    ];
  }

  private machineAsked(): HTMLElement[] {
    this.name.input.addEventListener("change", () =>
      this.set("machine", this.name.input.value.trim()),
    );
    return [h("div", { class: "two" }, this.name.row, this.room()), this.ofFile()];
  }

  private set(name: string, value: string): void {
    this.given[name] = value;
    void this.look();
  }

  private said(who = ""): Record<string, string> {
    const given: Record<string, string> = { ...this.given, who };
    if (this.kind === "logger") {
      given.id = this.name.input.value.trim();
      given.x = this.metres(this.x);
      given.y = this.metres(this.y);
      const depth = this.depth.input.value.trim();
      if (given.place === "hole" && depth)
        given.depth_mm = String(readMillimetres(depth, this.context.unit));
    }
    return Object.fromEntries(Object.entries(given).filter(([, value]) => value));
  }

  /** A length in metres as it is sent; "" where none was typed. */
  private metres(one: Field): string {
    const text = one.input.value.trim();
    return text && String(readLength(text, this.context.unit));
  }

  private against(one: Field): string | null {
    return this.metres(one) === "NaN" ? t("bad-length", { value: one.input.value }) : null;
  }

  private againstDepth(): string | null {
    const [text, unit] = [this.depth.input.value.trim(), this.context.unit];
    const mm = readMillimetres(text, unit);
    if (!text || (mm >= 1 && mm <= 5000)) return null;
    if (Number.isNaN(mm)) return t("bad-length", { value: text });
    const [low, high] = unit === "m" ? [1, 5000] : ["1/16", "196"];
    return t("out-of-bounds", { low, high });
  }

  private refusal(): string | null {
    if (!this.understood || (this.kind === "logger" && !this.understood.series))
      return t("nothing-to-use");
    if (this.kind === "machine-log") return null;
    const hole = this.given.place === "hole";
    const needed = (one: Field): string | null =>
      hole && !one.input.value.trim() ? t("hole-needs-place") : null;
    return firstWrong(
      [this.name, this.name.input.value.trim() ? null : t("name-needed")],
      [this.x, needed(this.x) ?? this.against(this.x)],
      [this.y, needed(this.y) ?? this.against(this.y)],
      [this.depth, needed(this.depth) ?? this.againstDepth()],
    );
  }

  private async look(): Promise<void> {
    const complain = (why: Error): void => {
      this.understood = null;
      replace(this.words, h("p", { class: "refusal" }, why.message));
    };
    this.understood = null;
    ready(this.words, false);
    replace(this.words, h("p", {}, t("reading-file")));
    try {
      const path = `logs/${this.kind === "logger" ? "logger" : "machines"}/preview`;
      const answer = await this.latest.ask<Understood>(this.context.path(path), {
        form: formOf(this.file, this.said()),
        patient: complain,
      });
      if (answer) this.show(answer);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      complain(error);
    }
  }

  private show(answer: Understood): void {
    this.understood = answer;
    ready(this.words, true);
    if (answer.channels?.length && !this.channels.childElementCount) {
      const choices: [string, string][] = [
        ["", t("choose")],
        ...answer.channels.map((one): [string, string] => [one, one]),
      ];
      replace(
        this.channels,
        select(t("channel"), choices, "", (value) => this.set("channel", value)),
      );
    }
    const { series } = answer;
    const columns = Object.entries(answer.columns ?? {})
      .filter(([, heads]) => heads.length)
      .map(([what, heads]) => `${word("log-column", what)}: ${heads.join(", ")}`);
    replace(
      this.words,
      series
        ? h(
            "p",
            {},
            t("log-read", {
              n: series.recorded,
              from: local(series.began),
              to: local(series.ended),
            }),
          )
        : null,
      this.kind === "logger" && !series ? h("p", { class: "caution" }, t("choose-channel")) : null,
      answer.machines ? bullets(answer.machines.map(machineWords)) : null,
      bullets([...columns, ...answer.notes]),
      series ? curve(series, [], this.context.unit) : null,
      answer.sample?.length
        ? fold(
            t("as-in-file"),
            false,
            table(t("as-in-file"), answer.sample[0]!, answer.sample.slice(1)),
          )
        : null,
    );
  }
}

function local(moment: string): string {
  return new Date(moment).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
