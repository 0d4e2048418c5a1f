// Readings from a file: first shown as they were understood, on the plan and in words; stored only
// when wanted.

import { ask, Latest, Refused, Unreachable } from "./api";
import { announce } from "./announce";
import { append, check, dialog, field, fileButton, fold, h, replace, select, table } from "./dom";
import { pointCollection } from "./collections";
import { newKey } from "./keep";
import { readLength, readNumber } from "./lengths";
import { readingStyle } from "./reading_style";
import { t, word } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

interface Preview {
  count: number;
  lowest: number | null;
  highest: number | null;
  full_scale: number;
  not_numeric: number;
  off_plan: number;
  notes: string[];
  headings: Record<string, string>;
  choices: string[];
  sample: string[][];
  points: { x: number; y: number; value: number | null; censored: string; raw: string }[];
}

const COLUMNS = ["x", "y", "value", "label", "room", "note"];

function pointKey(point: { x: number; y: number; value: number | null }): string {
  return `${point.x.toFixed(2)} ${point.y.toFixed(2)} ${point.value}`;
}

export class ReadingsImport {
  private readonly latest = new Latest();
  /** Readings the visit holds already. */
  private stored = new Set<string>();

  constructor(
    private readonly context: Context,
    private readonly instrument: () => string,
    private readonly done: () => void,
  ) {}

  button(): HTMLElement {
    return fileButton(
      t("import-readings"),
      ".csv,.txt,.tsv,.tab,.xlsx,.xlsm",
      (file) => void this.open(file),
    );
  }

  private async open(file: File): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const options: Record<string, string> = {
      coordinates: "m",
      layout: "auto",
      origin_x: "0",
      origin_y: "0",
      rotate_deg: "0",
      mirror: "false",
    };
    const columns: Record<string, string> = {};
    const key = newKey();
    let preview: Preview | null = null;
    const words = h("div", { class: "preview", role: "status", "aria-live": "polite" });
    const chooser = h("div", { class: "two" });
    const form = (): FormData => {
      const data = new FormData();
      data.append("file", file);
      for (const [name, value] of Object.entries(options))
        if (value !== "") data.append(name, value);
      if (Object.keys(columns).length) data.append("columns", JSON.stringify(columns));
      return data;
    };
    const look = async (): Promise<void> => {
      try {
        const answer = await this.latest.ask<Preview>(this.context.path("readings/preview"), {
          form: form(),
        });
        if (!answer) return;
        preview = answer;
        this.show(words, chooser, answer, columns, look);
      } catch (error) {
        if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
        preview = null;
        replace(words, h("p", { class: "refusal" }, error.message));
      }
    };
    const set = (name: string, value: string): void => {
      options[name] = value;
      void look();
    };
    const shown = dialog(
      t("import-of", { file: file.name }),
      [this.settings(set), chooser, words],
      [["ok", t("store-readings"), "main"]],
      {
        accept: () => (preview ? null : t("nothing-to-use")),
        // The file stays in the dialogue until the program has said that it is stored.
        send: () => this.store(form(), name, key),
        side: true,
        about: null,
      },
    );
    void this.learn().then(look);
    const pressed = await shown;
    this.latest.drop();
    this.context.view.drop("preview");
    if (pressed) this.done();
  }

  /** Learn what the visit holds, so that a file chosen twice is told. */
  private async learn(): Promise<void> {
    const path = `readings?visit=${encodeURIComponent(this.context.visit ?? "")}`;
    try {
      const { readings } = await ask<{ readings: Preview["points"] }>(this.context.path(path));
      this.stored = new Set(readings.map(pointKey));
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
    }
  }

  private async store(data: FormData, name: string, key: string): Promise<void> {
    data.append("visit", this.context.visit!);
    data.append("instrument", this.instrument());
    data.append("who", name);
    const answer = await ask<{ stored: number }>(this.context.path("readings/file"), {
      form: data,
      key,
    });
    announce(t("stored-n", { n: answer.stored }));
  }

  private settings(set: (name: string, value: string) => void): HTMLElement {
    const units: [string, string][] = [
      ["m", t("metres")],
      ["mm", t("millimetres")],
      ["cm", t("centimetres")],
      ["ft", t("feet")],
      ["in", t("inches")],
    ];
    const layouts: [string, string][] = [
      ["auto", t("layout-auto")],
      ["long", t("layout-long")],
      ["grid", t("layout-grid")],
    ];
    const decimals: [string, string][] = [
      ["", t("decimal-auto")],
      [".", "1.5"],
      [",", "1,5"],
    ];
    const origin = (axis: "x" | "y"): HTMLElement => {
      const box = field(t(axis === "x" ? "origin-x" : "origin-y"), {
        value: "0",
        onchange: (text) => {
          const metres = readLength(text, this.context.unit);
          box.say(
            Number.isNaN(metres) ? t("bad-length", { value: text }) : "",
            Number.isNaN(metres),
          );
          if (!Number.isNaN(metres)) set(`origin_${axis}`, String(metres));
        },
      });
      return box.row;
    };
    const turn = field(t("turn-degrees"), {
      value: "0",
      unit: "°",
      inputmode: "decimal",
      onchange: (text) => {
        const degrees = readNumber(text);
        turn.say(
          Number.isNaN(degrees) ? t("bad-number", { value: text }) : "",
          Number.isNaN(degrees),
        );
        if (!Number.isNaN(degrees)) set("rotate_deg", String(degrees));
      },
    });
    return h(
      "div",
      {},
      h(
        "div",
        { class: "two" },
        select(t("units-of-file"), units, "m", (value) => set("coordinates", value)),
        select(t("layout"), layouts, "auto", (value) => set("layout", value)),
        select(t("decimal-mark"), decimals, "", (value) => set("decimal", value)),
      ),
      fold(
        t("placement"),
        false,
        h("p", { class: "words" }, t("placement-how")),
        h(
          "div",
          { class: "two" },
          origin("x"),
          origin("y"),
          turn.row,
          check(t("mirror"), false, (mirror) => set("mirror", String(mirror))),
        ),
      ),
    );
  }

  private show(
    words: HTMLElement,
    chooser: HTMLElement,
    preview: Preview,
    columns: Record<string, string>,
    look: () => Promise<void>,
  ): void {
    replace(chooser);
    if (preview.choices.length) {
      for (const name of COLUMNS) {
        const choices: [string, string][] = [
          ["", t("no-column")],
          ...preview.choices.map((choice): [string, string] => [choice, choice]),
        ];
        append(chooser, [
          select(word("column", name), choices, preview.headings[name] ?? "", (value) => {
            columns[name] = value;
            if (!value) delete columns[name];
            void look();
          }),
        ]);
      }
    }
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
