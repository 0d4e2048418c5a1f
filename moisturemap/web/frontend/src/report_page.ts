// The task "Report": documents, the figure, the data, photographs, and the record of changes.

import { ask, askFile, Latest, Refused, saveFile, Unreachable } from "./api";
import { announce } from "./announce";
import { alone, button, check, field, fold, h, replace, section, select, table } from "./dom";
import { keep, kept } from "./keep";
import { drawMap } from "./map_layers";
import { legend } from "./legend";
import type { MapAnswer } from "./map_types";
import { JOB, photoBox } from "./photos";
import { language, LANGUAGES, t } from "./strings";
import { showPlan } from "./plan_source";
import type { Context, Task } from "./task";
import { askWho } from "./who";

interface Changes {
  head: { number: number; hash: string };
  count: number;
  entries: { number: number; made: string; who: string; why: string; what: string }[];
}

interface Issued {
  fid: number;
  name: string;
  issued: string;
  who: string;
  record_number: number;
  changes_since: number;
}

/** What an issued report was made from, and whether the data are still those. */
function issuedRow(one: Issued): string[] {
  const { record_number: n, changes_since: count } = one;
  const since = count ? t("issued-older", { n: count, entry: n }) : t("issued-current", { n });
  return [one.name, new Date(one.issued).toLocaleString(), one.who, since];
}

export class ReportPage implements Task {
  private readonly files = h("div");
  private readonly changes = h("div");
  private readonly busy = h("p", { role: "status", "aria-live": "polite" });
  private entries: Changes | null = null;
  private readonly maps = new Latest();

  constructor(private readonly context: Context) {}

  async start(): Promise<void> {
    const { context } = this;
    await showPlan(context);
    replace(
      context.panel,
      h("h1", {}, t("report")),
      context.project.readings || context.project.tests
        ? this.writing()
        : h("p", {}, t("readings-first")),
      this.busy,
      this.files,
      section(
        t("photos"),
        h("p", { class: "words" }, t("photos-how")),
        photoBox(context, JOB, () => void this.showChanges()),
      ),
      this.changes,
    );
    await Promise.all([this.showChanges(), this.showIssued()]);
    if (context.project.readings) await this.showMap();
  }

  leave(): void {
    this.maps.drop();
  }

  private query(): string {
    return `visit=${encodeURIComponent(this.context.visit ?? "")}`;
  }

  private async showMap(): Promise<void> {
    try {
      const path = this.context.path(`map?${this.query()}`);
      const answer = await this.maps.ask<MapAnswer>(path, { patient: true });
      if (!answer) return;
      const present = drawMap(this.context.view, answer);
      legend(this.context.view, answer, present);
      this.context.view.settle();
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      announce(error.message, "bad");
    }
  }

  private writing(): HTMLElement {
    // Kept with each letter: the page may be opened anew while somebody types.
    const name = `title-block:${this.context.project.id}`;
    const block = (): Record<string, string> => kept(name) ?? {};
    const remember = (line: string, text: string): void => keep(name, { ...block(), [line]: text });
    const us = this.context.project.units === "us" || this.context.unit !== "m";
    const options = {
      format: "pdf",
      paper: us ? "Letter" : "A4",
      units: us ? "us" : "metric",
      language: language(),
      issue: false,
    };
    const lines = (["client", "author", "address"] as const).map(
      (line) =>
        field(t(line), {
          value: block()[t(line)] ?? "",
          more: { maxlength: 200 },
          oninput: (text) => remember(t(line), text),
        }).row,
    );
    const write = async (): Promise<void> => {
      const who = await askWho();
      if (!who) return;
      const filled = Object.fromEntries(Object.entries(block()).filter(([, text]) => text.trim()));
      const written = await this.fetch(t("writing-report"), `report?${this.query()}`, {
        ...options,
        title_block: filled,
        who,
      });
      if (!options.issue || !written) return;
      // One press issues one document: the next is asked for anew.
      options.issue = false;
      issue.querySelector("input")!.checked = false;
      await Promise.all([this.showIssued(), this.showChanges()]);
    };
    const issue = check(t("issue-report"), false, (on) => (options.issue = on));
    return h(
      "div",
      {},
      section(
        t("document"),
        h("p", {}, t("report-how")),
        h(
          "div",
          { class: "two" },
          select(
            t("format"),
            [
              ["pdf", "PDF"],
              ["docx", t("format-docx")],
              ["html", "HTML"],
            ],
            "pdf",
            (format) => (options.format = format),
          ),
          select(
            t("paper"),
            [
              ["A4", "A4"],
              ["Letter", "Letter"],
            ],
            options.paper,
            (paper) => (options.paper = paper),
          ),
          select(
            t("report-units"),
            [
              ["metric", t("units-metric")],
              ["us", t("units-us")],
            ],
            options.units,
            (units) => (options.units = units),
          ),
          select(t("report-language"), LANGUAGES, options.language, (code) => {
            options.language = code;
          }),
          ...lines,
        ),
        issue,
        h("p", { class: "words" }, t("issue-report-how")),
        button(t("write-report"), alone(write), "main"),
      ),
      section(
        t("figure"),
        h("p", { class: "words" }, t("figure-how")),
        h(
          "div",
          { class: "row" },
          ...["png", "svg", "pdf"].map((format) =>
            button(
              format.toUpperCase(),
              () =>
                void this.fetch(
                  t("drawing-figure"),
                  `figure?format=${format}&units=${options.units}&language=${options.language}&${this.query()}`,
                ),
              "",
              { "aria-label": `${t("figure")} ${format.toUpperCase()}` },
            ),
          ),
        ),
      ),
      section(
        t("data"),
        h("p", { class: "words" }, t("data-how")),
        button(t("save-data"), () => void this.fetch(t("one-moment"), `data?${this.query()}`)),
      ),
    );
  }

  private async fetch(words: string, rest: string, body?: unknown): Promise<boolean> {
    this.busy.className = "";
    replace(this.busy, words);
    try {
      const { blob, name } = await askFile(
        this.context.path(rest),
        body === undefined ? {} : { body },
      );
      saveFile(blob, name);
      replace(this.busy, t("file-saved", { name }));
      return true;
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      this.busy.className = "refusal";
      replace(this.busy, error.message);
      return false;
    }
  }

  private async showIssued(): Promise<void> {
    const { documents } = await ask<{ documents: Issued[] }>(this.context.path("documents"), {
      patient: true,
    });
    if (!documents.length) return;
    const rows = documents.map(issuedRow);
    replace(
      this.files,
      table(
        t("issued"),
        [t("name"), t("when"), t("who"), t("issued-state")],
        rows,
        (i) => void this.fetch(t("one-moment"), `documents/${documents[i]!.fid}`),
      ),
    );
  }

  private async showChanges(): Promise<void> {
    this.entries = await ask<Changes>(this.context.path("changes"), { patient: true });
    replace(
      this.changes,
      fold(
        t("changes"),
        false,
        h("p", {}, t("changes-how", { n: this.entries.count })),
        h(
          "p",
          { class: "words" },
          t("head-is", { number: this.entries.head.number, hash: this.entries.head.hash }),
        ),
        this.changeTable(50),
      ),
    );
  }

  private changeTable(most: number): HTMLElement {
    const rows = (this.entries?.entries ?? [])
      .slice(0, most)
      .map((one) => [
        String(one.number),
        new Date(one.made).toLocaleString(),
        one.who,
        one.what,
        one.why,
      ]);
    return table(
      t("changes"),
      [t("number"), t("when"), t("who"), t("what"), t("why")],
      rows,
      undefined,
      true,
    );
  }

  tables(): HTMLElement[] {
    return [this.changeTable(200)];
  }
}
