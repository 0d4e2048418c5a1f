// The form of one test; what is typed is kept on this device until it is stored.

import type { FeatureLike } from "ol/Feature";

import { announce, hush } from "./announce";
import { ask, Refused, Unreachable } from "./api";
import { askWhy } from "./ask_why";
import { alone, button, fold, h, replace, section, select } from "./dom";
import { draftName, dropDraft, keepDraft, keptDraft } from "./drafts";
import { settled } from "./doubts";
import { renew } from "./focus";
import { instrumentForm } from "./instruments";
import { insist } from "./insist";
import { newKey } from "./keep";
import { post } from "./outbox";
import { photoBox } from "./photos";
import { t } from "./strings";
import type { Context } from "./task";
import { fieldLabel, filledFields, missingFields, valuesOf, wrongField } from "./test_fields";
import { testDoubts } from "./test_doubts";
import { testInput } from "./test_input";
import { testPlace } from "./test_place";
import { TestRules } from "./test_rules";
import {
  methodOf,
  type IssuedHole,
  type Method,
  type TestField,
  type TestRow,
  type Values,
} from "./test_types";
import { askWho } from "./who";

const NEW = "test:new";

export class TestForm {
  private method: Method;
  private readonly values: Values;
  private readonly rules: TestRules;
  private readonly words = h("p", { class: "words", role: "status", "aria-live": "polite" });
  /** Whether a tap on the plan moves the test. */
  private moving: boolean;
  private readonly key = newKey();
  private more: HTMLElement | null = null;
  private readonly draft: string;
  private readonly back: boolean;

  /** Whether a test was begun on this device and not stored. */
  static begun(): boolean {
    return keptDraft<Values>(draftName(NEW)) !== null;
  }

  constructor(
    private readonly context: Context,
    private readonly methods: Method[],
    private readonly holes: IssuedHole[],
    private readonly test: TestRow | null,
    private readonly done: (stored: boolean) => void,
  ) {
    this.moving = test === null;
    // What makes it not valid may be waiting in the fold.
    this.rules = new TestRules(context, () => this.more?.setAttribute("open", ""));
    this.draft = draftName(test ? `test:${test.id}` : NEW);
    const begun = keptDraft<Values>(this.draft);
    this.back = begun !== null;
    // A copy: what is typed changes nothing that is listed before it is stored.
    this.values = begun ?? (test ? valuesOf(test) : {});
    this.method = methodOf(methods, String(this.values.method ?? "")) ?? methods[0]!;
    this.values.method = this.method.key;
  }

  drop(): void {
    this.rules.drop();
    this.context.view.drop("asked");
  }

  private remember(): void {
    keepDraft(this.draft, this.title(), this.values);
  }

  draw(): void {
    const { test, method } = this;
    const required = new Set(method.required.flat().flatMap((one) => one.split("+")));
    const main = h("div", { class: "two" });
    const rest = h("div", { class: "two" });
    for (const one of method.fields)
      (required.has(one.name) || one.name === "hole" ? main : rest).append(this.input(one));
    const how = h("p", { class: "words" }, t("more-fields-how"));
    this.more = fold(t("more-fields"), this.more?.hasAttribute("open") ?? false, how, rest);
    const subject = { layer: "tests" as const, row: String(test?.id), note: this.title() };
    replace(
      this.context.panel,
      h("h1", {}, this.title()),
      this.back ? h("p", { class: "words", role: "status" }, t("draft-back")) : null,
      select(
        t("method"),
        this.methods.map((one): [string, string] => [one.key, one.label]),
        method.key,
        (key) => this.choose(key),
      ),
      this.holeChoice(),
      this.placeForm(),
      main,
      this.more,
      this.words,
      this.rules.element,
      test ? section(t("photos"), photoBox(this.context, subject)) : null,
      h(
        "div",
        { class: "actions" },
        button(
          t("store"),
          alone(() => this.store()),
          "main",
        ),
        test ? button(t("set-aside"), () => void this.remove(), "danger") : null,
        button(t("cancel"), () => this.leave(false), "plain"),
      ),
    );
    this.tell();
    this.context.panel.scrollTo({ top: 0 });
  }

  /** The test as it is sent. */
  private body(who: string): Record<string, unknown> {
    const fields = filledFields(this.method, this.values);
    return { visit: this.test?.visit ?? this.context.visit, fields, who };
  }

  private title(): string {
    return this.test ? t("test-of", { hole: this.test.hole || this.test.id }) : t("new-test");
  }

  private choose(key: string): void {
    this.method = methodOf(this.methods, key)!;
    this.values.method = key;
    delete this.values.unit;
    this.remember();
    this.draw();
  }

  private tell(): void {
    const missing = missingFields(this.method, this.values);
    replace(this.words, missing.length ? t("still-missing", { what: missing.join(", ") }) : "");
    if (missing.length || wrongField(this.method, this.values)) this.rules.clear();
    else this.rules.later(() => this.body("typing"));
  }

  /** Issued holes that can be chosen: one choice fills name, place and depth. */
  private holeChoice(): HTMLElement | null {
    const standing = this.holes.filter((one) => !one.withdrawn);
    if (this.test || !standing.length) return null;
    const choices: [string, string][] = [
      ["", t("choose")],
      ...standing.map((one): [string, string] => [one.hole, `${one.hole}, ${one.room}`]),
    ];
    return select(t("planned-hole"), choices, String(this.values.hole ?? ""), (name) =>
      this.take(standing.find((one) => one.hole === name)),
    );
  }

  private take(hole: IssuedHole | undefined): void {
    if (!hole) return;
    Object.assign(this.values, { hole: hole.hole, x: String(hole.x), y: String(hole.y) });
    if (hole.depth_mm !== null && this.method.fields.some((one) => one.name === "depth_mm"))
      this.values.depth_mm = String(hole.depth_mm);
    this.remember();
    this.draw();
  }

  private placeForm(): HTMLElement {
    return testPlace(this.context, this.values, {
      moving: this.moving,
      move: () => this.move(),
      took: (features) => this.tookHole(features),
      changed: () => {
        this.remember();
        this.tell();
      },
    });
  }

  /** Whether the tap was on an issued hole, which a new test then is in. */
  private tookHole(features: FeatureLike[]): boolean {
    const sign = features.find((one) => one.get("issued") !== undefined);
    const hole = sign && this.holes.find((one) => one.hole === sign.get("issued"));
    if (!hole || this.test) return false;
    this.take(hole);
    return true;
  }

  private move(): void {
    this.moving = true;
    this.draw();
  }

  private input(one: TestField): HTMLElement {
    const put = (value: string | boolean): void => {
      this.values[one.name] = value;
      this.remember();
      // the unit stands beside the result, too
      if (one.name === "unit") renew(this.context.panel, () => this.draw());
      else this.tell();
    };
    if (one.name === "instrument") return this.instruments(fieldLabel(one), put);
    return testInput(one, this.method, this.values, this.context.unit, put);
  }

  private instruments(text: string, put: (value: string) => void): HTMLElement {
    const kinds = this.method.instrument_kinds;
    const fitting = this.context.project.instruments.filter((one) => kinds.includes(one.kind));
    const choices: [string, string][] = [
      ["", t("choose")],
      ...fitting.map((one): [string, string] => [one.id, one.id]),
    ];
    const row = select(text, choices, String(this.values.instrument ?? ""), put);
    const add = async (): Promise<void> => {
      const made = await instrumentForm(this.context, null, kinds);
      if (!made) return;
      this.values.instrument = made;
      this.remember();
      this.draw();
    };
    row.append(button(t("new-probe"), () => void add(), "plain"));
    return row;
  }

  private leave(stored: boolean): void {
    hush();
    dropDraft(this.draft);
    this.drop();
    this.done(stored);
  }

  private async store(): Promise<void> {
    const bad = wrongField(this.method, this.values);
    if (bad) {
      announce(bad, "bad");
      this.context.panel.querySelector<HTMLInputElement>("[aria-invalid=true]")?.focus();
      return;
    }
    const name = await askWho();
    if (!name || !(await this.sure())) return;
    const body = this.body(name);
    try {
      if (this.test && !(await this.correct(this.test, body))) return;
      if (!this.test) await ask(this.context.path("tests"), { body, key: this.key });
    } catch (error) {
      if (error instanceof Unreachable && !this.test) return this.later(body);
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      announce(error.message, "bad");
      return;
    }
    this.leave(true);
    announce(t("test-stored"));
  }

  /** Ask about what is possible and hardly meant; what was meant is in the form afterwards. */
  private async sure(): Promise<boolean> {
    const { unit, view, panel } = this.context;
    const before = this.test ? valuesOf(this.test) : {};
    const sure = await settled(
      testDoubts(this.method, this.values, before, unit, (one) => view.roomAt(one)),
    );
    this.remember();
    renew(panel, () => this.draw());
    return sure;
  }

  /** Keep a new test on this device until the program is back; it is stored once. */
  private later(body: unknown): void {
    const what = `${this.title()} ${String(this.values.hole ?? "")}`;
    void post(this.context.path("tests"), body, what, "POST", this.key).then(() =>
      this.context.reopen(),
    );
    this.leave(false);
    announce(t("test-waits"));
  }

  private async correct(test: TestRow, body: unknown): Promise<boolean> {
    const why = await askWhy(t("correct"), `test ${test.id}`);
    if (!why) return false;
    const path = this.context.path(
      `tests/${test.id}?why=${encodeURIComponent(why)}&seen=${test.seen}`,
    );
    const key = newKey();
    return (await insist(this.title(), () => ask(path, { method: "PUT", body, key }))) !== null;
  }

  private async remove(): Promise<void> {
    const name = await askWho();
    const why = name && (await askWhy(t("set-aside"), `test ${this.test!.id}`));
    if (!name || !why) return;
    const body = { why, who: name, seen: this.test!.seen };
    const path = this.context.path(`tests/${this.test!.id}`);
    const key = newKey();
    if (await insist(this.title(), () => ask(path, { method: "DELETE", body, key })))
      this.leave(true);
  }
}
