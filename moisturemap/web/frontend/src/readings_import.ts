// Readings from a file: first shown as they were understood, on the plan and in words; stored only
// when wanted.

import { ask, Latest, Refused } from "./api";
import { announce } from "./announce";
import { dialog } from "./dialog";
import { check, fold, h, replace, select, table } from "./dom";
import { formOf } from "./file_store";
import { fileSettings } from "./file_settings";
import { pointCollection } from "./collections";
import { newKey } from "./keep";
import { KeptImport } from "./kept_import";
import { postFile } from "./outbox";
import { readingStyle } from "./reading_style";
import { ready } from "./ready";
import { t, word } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

interface Preview {
  /** Why the file cannot be read as it is; "" when it can. */
  refusal: string;
  sheets?: string[];
  count: number;
  lowest: number | null;
  highest: number | null;
  full_scale: number;
  not_numeric: number;
  off_plan: number;
  /** In which other frame or unit the readings fit the plan better; "" where they fit. */
  doubt: string;
  notes: string[];
  headings: Record<string, string>;
  choices: string[];
  sample: string[][];
  points: { x: number; y: number; value: number | null; censored: string; raw: string }[];
}

/** What was chosen for a file. */
interface Chosen {
  options: Record<string, string>;
  columns: Record<string, string>;
}

const USUAL = {
  layout: "auto",
  origin_x: "0",
  origin_y: "0",
  rotate_deg: "0",
  mirror: "false",
};

const COLUMNS = ["x", "y", "value", "label", "room", "note"];

function pointKey(point: { x: number; y: number; value: number | null }): string {
  return `${point.x.toFixed(2)} ${point.y.toFixed(2)} ${point.value}`;
}

/** Why what was understood cannot be stored, or not yet; null when it can. */
function useless(preview: Preview | null, sure: boolean): string | null {
  if (!preview) return t("nothing-to-use");
  if (preview.doubt && !sure && preview.off_plan < preview.count) return t("frame-asked");
  return preview.count && preview.off_plan === preview.count ? t("all-off-plan") : null;
}

export class ReadingsImport {
  private readonly latest = new Latest();
  /** Readings the visit holds already. */
  private stored = new Set<string>();
  private readonly kept = new KeptImport<Chosen>("readings");

  constructor(
    private readonly context: Context,
    private readonly instrument: () => string,
    private readonly done: () => void,
  ) {}

  button(): HTMLElement {
    return this.kept.chooser(
      t("import-readings"),
      ".csv,.txt,.tsv,.tab,.xlsx,.xlsm",
      (file, before) => this.open(file, before),
    );
  }

  private async open(file: File, before?: Chosen): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const options: Record<string, string> = {
      ...USUAL,
      coordinates: this.context.unit,
      ...before?.options,
    };
    const columns: Record<string, string> = { ...before?.columns };
    const title = t("import-of", { file: file.name });
    await this.kept.keep(file, title, { options, columns });
    const key = newKey();
    let preview: Preview | null = null;
    let sure = false;
    let waits = false;
    const sheets = h("div");
    const words = h("div", { class: "preview", role: "status", "aria-live": "polite" });
    const chooser = h("div", { class: "two" });
    const chosen = (): Record<string, string> => {
      const given = Object.entries(options).filter(([, value]) => value !== "");
      if (Object.keys(columns).length) given.push(["columns", JSON.stringify(columns)]);
      return Object.fromEntries(given);
    };
    const wait = (say: HTMLElement): void => {
      preview = null;
      sure = false;
      delete options.twice;
      ready(words, false);
      replace(words, say);
    };
    const complain = (why: Error): void => wait(h("p", { class: "refusal" }, why.message));
    const look = async (): Promise<void> => {
      this.kept.choose(file, title, { options, columns });
      wait(h("p", {}, t("reading-file")));
      try {
        const answer = await this.latest.ask<Preview>(this.context.path("readings/preview"), {
          form: formOf(file, { ...chosen(), visit: this.context.visit ?? "" }),
          patient: complain,
        });
        if (!answer) return;
        if (answer.sheets?.length && !sheets.childElementCount)
          sheets.append(this.sheetChoice(answer.sheets, options.sheet ?? "", set));
        this.columnChoices(chooser, answer, columns, look);
        if (answer.refusal) return complain(new Error(answer.refusal));
        preview = answer;
        ready(words, true);
        this.show(words, answer, {
          twice: (twice) => (options.twice = String(twice)),
          sure: (given) => (sure = given),
        });
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        complain(error);
      }
    };
    const set = (name: string, value: string): void => {
      options[name] = value;
      void look();
    };
    const shown = dialog(
      title,
      [words, sheets, chooser, fileSettings(this.context.unit, options, set)],
      [["ok", t("store-readings"), "main"]],
      {
        accept: () => useless(preview, sure),
        // The file stays in the dialogue until the program has it, or this device keeps it.
        send: async () => void (waits = await this.store([file, key], chosen(), name)),
        side: true,
        about: null,
        given: () => void this.kept.drop(),
      },
    );
    wait(h("p", {}, t("reading-file")));
    void this.learn().then(look);
    const pressed = await shown;
    this.latest.drop();
    this.context.view.drop("preview");
    this.context.view.fit();
    if (pressed && !waits) this.done();
  }

  /** Learn what the visit holds, so that a file chosen twice is told. */
  private async learn(): Promise<void> {
    const path = `readings?visit=${encodeURIComponent(this.context.visit ?? "")}`;
    try {
      const patient = true;
      const { readings } = await ask<{ readings: Preview["points"] }>(this.context.path(path), {
        patient,
      });
      this.stored = new Set(readings.map(pointKey));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
    }
  }

  /** Store the file; true where it waits on this device for the program to come back. */
  private async store(
    file: [File, string],
    chosen: Record<string, string>,
    who: string,
  ): Promise<boolean> {
    let waits = false;
    const visit = this.context.visit!;
    const fields = { ...chosen, visit, instrument: this.instrument(), who };
    const arrived = (answer: { stored: number; left_out: number }): void => {
      const known = answer.left_out ? ` ${t("n-left-out", { n: answer.left_out })}` : "";
      announce(t("stored-n", { n: answer.stored }) + known);
      if (waits) this.done();
    };
    waits = (await postFile(this.context.path("readings/file"), fields, file, arrived)) === "kept";
    if (waits) announce(t("file-kept", { file: file[0].name }));
    return waits;
  }

  private sheetChoice(
    names: string[],
    now: string,
    set: (name: string, value: string) => void,
  ): HTMLElement {
    const choices = names.map((one): [string, string] => [one, one]);
    return select(t("sheet"), [["", t("choose")], ...choices], now, (name) => set("sheet", name));
  }

  /** One choice of a heading for each column; drawn anew only for other headings. */
  private columnChoices(
    chooser: HTMLElement,
    { choices, headings }: Preview,
    columns: Record<string, string>,
    look: () => Promise<void>,
  ): void {
    const present = (name: string): string => columns[name] ?? headings?.[name] ?? "";
    const same = chooser.dataset.choices === JSON.stringify(choices);
    chooser.dataset.choices = JSON.stringify(choices);
    if (same && choices.length) {
      chooser.querySelectorAll("select").forEach((one, i) => (one.value = present(COLUMNS[i]!)));
      return;
    }
    const offered = choices.map((choice): [string, string] => [choice, choice]);
    const change = (name: string, value: string): void => {
      columns[name] = value;
      if (!value) delete columns[name];
      void look();
    };
    replace(
      chooser,
      ...(choices.length ? COLUMNS : []).map((name) =>
        select(word("column", name), [["", t("no-column")], ...offered], present(name), (value) =>
          change(name, value),
        ),
      ),
    );
  }

  private show(
    words: HTMLElement,
    preview: Preview,
    ticked: Record<"twice" | "sure", (ticked: boolean) => void>,
  ): void {
    const range =
      preview.lowest === null
        ? ""
        : t("range-read", { low: preview.lowest, high: preview.highest ?? preview.lowest });
    const twice = preview.points.filter((one) => this.stored.has(pointKey(one))).length;
    const remarks = [
      twice ? t("n-stored-before", { n: twice }) : "",
      preview.full_scale ? t("n-full-scale", { n: preview.full_scale }) : "",
      preview.not_numeric ? t("n-not-numeric", { n: preview.not_numeric }) : "",
      preview.off_plan ? t("n-off-plan", { n: preview.off_plan }) : "",
      ...preview.notes,
    ].filter(Boolean);
    const bad = [t("n-off-plan", { n: preview.off_plan }), t("n-stored-before", { n: twice })];
    replace(
      words,
      h("p", {}, h("strong", {}, t("n-understood", { n: preview.count })), " ", range),
      remarks.length
        ? h(
            "ul",
            {},
            ...remarks.map((remark) =>
              h("li", { class: bad.includes(remark) ? "bad" : "" }, remark),
            ),
          )
        : null,
      preview.doubt ? h("p", { class: "caution" }, preview.doubt) : null,
      preview.doubt ? check(t("frame-sure"), false, ticked.sure) : null,
      twice ? check(t("store-twice", { n: twice }), false, ticked.twice) : null,
      preview.sample.length
        ? fold(
            t("as-in-file"),
            false,
            table(t("as-in-file"), preview.sample[0]!, preview.sample.slice(1)),
          )
        : null,
    );
    this.context.view.collection(
      "preview",
      pointCollection(preview.points),
      readingStyle,
      62,
      true,
    );
    this.context.view.fit();
  }
}
