// The task "Source": questions nobody can measure, and where the water may come from.

import Feature from "ol/Feature";
import { Point, type Geometry } from "ol/geom";

import { ask, Latest, Refused } from "./api";
import { announce } from "./announce";
import { button, check, field, h, replace, section, select, table } from "./dom";
import { forget, keep, kept } from "./keep";
import { drawLayer, nameLayer } from "./map_layers";
import { writeDepth } from "./lengths";
import { number } from "./numbers";
import { post } from "./outbox";
import type { Collection } from "./plan_features";
import { showPlan } from "./plan_source";
import { holeStyle } from "./sign_style";
import { t, type Key } from "./strings";
import type { Context, Task } from "./task";
import { askWho } from "./who";

type Answer = string | number | string[];

interface Question {
  key: string;
  words: string;
  kind: string;
  choices: string[];
}

interface Asked {
  questions: Question[];
  answers: Record<string, Answer>;
}

interface Cause {
  cause: string;
  standing: string;
  words: string;
  why_for: string;
  why_against: string;
  cannot_be_told_from: string;
  who_confirms: string;
}

interface Step {
  rank: number;
  what: string;
  x: number | null;
  y: number | null;
  where: string;
  when: string;
  expected_pairs: number;
  burden: string;
  risk: string;
}

interface Found {
  sentence: string;
  cautions: string[];
  place: { name: string; room: string } | null;
  causes: Cause[];
  next_measurements: Step[];
  statements: string[];
  layers: Record<string, Collection>;
}

const STANDINGS: Record<string, Key> = {
  "points-to": "points-to",
  open: "still-open",
  against: "spoken-against",
  "not-looked-at": "not-looked-at",
};

export class SourcePage implements Task {
  private found: Found | null = null;
  private readonly result = h("div", { "aria-live": "polite" });
  private answers: Record<string, Answer> = {};
  private readonly latest = new Latest();

  constructor(private readonly context: Context) {}

  async start(): Promise<void> {
    const { context } = this;
    await showPlan(context);
    const asked = await ask<Asked>(context.path("questions"), { patient: true });
    this.answers = { ...(kept<Record<string, Answer>>(this.draft) ?? asked.answers) };
    replace(
      context.panel,
      h("h1", {}, t("source")),
      h("p", { class: "words" }, t("source-how")),
      section(t("questions"), ...asked.questions.map((one) => this.question(one))),
      button(t("weigh-causes"), () => void this.weigh(), "main"),
      this.result,
    );
  }

  leave(): void {
    this.latest.drop();
  }

  /** The tests the plan shows, as a table. */
  tables(): HTMLElement[] {
    const tests = this.found?.layers.tests?.features ?? [];
    if (!tests.length) return [];
    const rows = tests.map(({ properties: p }) => [
      String(p.hole ?? ""),
      writeDepth(Number(p.depth_mm), this.context.unit),
      `${number(Number(p.value))} ${String(p.unit ?? "")}`,
    ]);
    return [table(t("tests"), [t("hole"), t("depth-head"), t("value")], rows)];
  }

  /** The wet zones, the tests, and where a further hole is proposed. */
  private draw(found: Found): void {
    const { view } = this.context;
    this.found = found;
    const present = new Set<string>();
    for (const name of ["wet_line", "zones", "tests"])
      drawLayer(view, name, found.layers[name], present);
    const holed = found.next_measurements.filter((one) => one.x !== null && one.y !== null);
    const first = holed[0];
    const signs = first ? [new Feature<Geometry>(new Point([first.x!, first.y!]))] : [];
    for (const sign of signs) sign.setProperties({ hole: `${first!.rank}.`, status: "proposed" });
    nameLayer("holes", view.layer("holes", signs, holeStyle, 80).getFeatures());
  }

  private question(one: Question): HTMLElement {
    const given = this.answers[one.key];
    if (one.kind === "choice")
      return select(
        one.words,
        [["", t("not-known")], ...one.choices.map((c): [string, string] => [c, plain(c)])],
        typeof given === "string" ? given : "",
        (value) => this.answer(one.key, value),
      );
    if (one.kind === "several") {
      const chosen = new Set(Array.isArray(given) ? given : []);
      const boxes = one.choices.map((choice) =>
        check(plain(choice), chosen.has(choice), (on) => {
          if (on) chosen.add(choice);
          else chosen.delete(choice);
          this.answer(one.key, [...chosen]);
        }),
      );
      return h("fieldset", {}, h("legend", {}, one.words), ...boxes);
    }
    const dated = one.kind === "date" || one.kind === "date-or-none";
    const none = one.kind === "date-or-none" && given === "none";
    const box = field(one.words, {
      type: dated ? "date" : one.kind === "hours" ? "number" : "text",
      value: none ? "" : String(given ?? ""),
      unit: one.kind === "hours" ? "h" : undefined,
      more: one.kind === "hours" ? { min: 0, max: 10000 } : { maxlength: 200 },
      onchange: (text) => this.answer(one.key, one.kind === "hours" && text ? Number(text) : text),
    });
    if (one.kind !== "date-or-none") return box.row;
    const never = check(t("none-of-that"), none, (on) => {
      if (on) box.input.value = "";
      this.answer(one.key, on ? "none" : "");
    });
    return h("div", {}, box.row, never);
  }

  /** An empty answer is one that is not known. */
  private answer(key: string, value: Answer): void {
    if (value === "" || (Array.isArray(value) && !value.length)) delete this.answers[key];
    else this.answers[key] = value;
    // until they are weighed they wait on this device, so that leaving the task loses nothing
    keep(this.draft, this.answers);
  }

  private get draft(): string {
    return `source-answers:${this.context.project.id}`;
  }

  private async weigh(): Promise<void> {
    const { context } = this;
    if (!context.project.read_only) {
      const name = await askWho();
      if (name === null) return;
      const body = { answers: this.answers, who: name };
      await post(context.path("answers"), body, t("questions"), "PUT");
      forget(this.draft);
    }
    replace(this.result, h("p", { role: "status" }, t("weighing")));
    try {
      const found = await this.latest.ask<Found>(context.path("investigation"), { patient: true });
      if (!found) return;
      this.show(found);
      this.result.scrollIntoView({ block: "start" });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      replace(this.result, h("div", { class: "refusal", role: "alert" }, error.message));
      announce(error.message, "bad");
    }
  }

  private show(found: Found): void {
    this.draw(found);
    const standing = (one: Cause): string => t(STANDINGS[one.standing] ?? "still-open");
    replace(
      this.result,
      section(
        t("before-anything"),
        h("ul", { class: "cautions" }, ...found.cautions.map((text) => h("li", {}, text))),
      ),
      section(
        t("source"),
        found.place ? h("p", { class: "words" }, `${found.place.name}, ${found.place.room}`) : null,
        h("p", {}, h("strong", {}, found.sentence)),
        table(
          t("causes"),
          [t("cause"), t("standing")],
          found.causes.map((one) => [
            one.words,
            lines(standing(one), [
              [t("speaks-for"), one.why_for],
              [t("speaks-against"), one.why_against],
              [t("not-told-from"), one.cannot_be_told_from],
            ]),
          ]),
        ),
      ),
      section(
        t("measure-next"),
        table(
          t("measure-next"),
          [t("what"), t("where")],
          found.next_measurements.slice(0, 8).map((one) => [
            `${one.rank}. ${one.what}`,
            lines(`${one.where}, ${one.when}`, [
              [t("pairs"), String(one.expected_pairs)],
              [t("burden"), one.burden],
              [t("risk"), one.risk],
            ]),
          ]),
        ),
      ),
      h("ul", { class: "words" }, ...found.statements.map((text) => h("li", {}, text))),
    );
  }
}

/** A first line, and named ones below it: a panel beside the plan is too narrow for columns. */
function lines(first: string, more: [string, string][]): HTMLElement {
  const said = more.filter(([, text]) => text);
  return h(
    "div",
    {},
    h("strong", {}, first),
    ...said.map(([name, text]) => h("p", {}, h("span", { class: "words" }, name), ` ${text}`)),
  );
}

function plain(word: string): string {
  return word.replace(/-/g, " ");
}
