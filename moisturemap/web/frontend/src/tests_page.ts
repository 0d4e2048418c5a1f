// The task "Tests": calibrated tests by method, each with its own fields, and the limits.

import Feature from "ol/Feature";
import { Point, type Geometry } from "ol/geom";

import { ask, Latest, Refused, Unreachable } from "./api";
import {
  announce,
  append,
  button,
  check,
  dialog,
  field,
  fold,
  h,
  hush,
  replace,
  section,
  select,
  table,
} from "./dom";
import type { Place } from "./geometry";
import { keep, kept, forget, newKey } from "./keep";
import { readNumber } from "./lengths";
import { nameTests } from "./map_layers";
import { number } from "./numbers";
import { spotStyle, testStyle } from "./map_style";
import { pointCollection } from "./collections";
import { photoBox } from "./photos";
import { t, word, type Key } from "./strings";
import { showPlan } from "./plan_source";
import type { Context, Task } from "./task";
import { askVerdict } from "./verdict";
import { askWho } from "./who";

interface TestField {
  name: string;
  kind: "number" | "time" | "flag" | "text";
  unit: string;
  meaning: string;
  low: number | null;
  high: number | null;
}

interface Method {
  key: string;
  label: string;
  synonyms: string[];
  units: string[];
  instrument_kinds: string[];
  required: string[][];
  fields: TestField[];
}

interface TestRow extends Record<string, unknown> {
  id: number;
  visit: string;
  hole: string;
  method: string;
  value: number | null;
  unit: string;
  x: number;
  y: number;
}

interface Limit {
  method: string;
  value: number;
  unit: string;
  source: string;
  room: string | null;
}

type Values = Record<string, string | boolean>;

export class TestsPage implements Task {
  private methods: Method[] = [];
  private tests: TestRow[] = [];
  private limits: Limit[] = [];
  private readonly verdict = h("div", { "aria-live": "polite" });
  private readonly verdicts = new Latest();
  private readonly rules = new Latest();

  constructor(private readonly context: Context) {}

  async start(): Promise<void> {
    const { context } = this;
    await showPlan(context);
    this.methods = (await ask<{ methods: Method[] }>("/api/test-methods")).methods;
    await this.load();
    if (kept<Values>(this.draftName())) this.form(null);
  }

  private draftName(): string {
    return `test:${this.context.project.id}`;
  }

  private async load(): Promise<void> {
    const answer = await ask<{ tests: TestRow[]; limits: Limit[] }>(this.context.path("tests"));
    this.tests = answer.tests;
    this.limits = answer.limits;
    this.draw();
    this.fill();
  }

  private draw(): void {
    const { view } = this.context;
    nameTests(
      view
        .collection(
          "tests",
          pointCollection(this.tests.filter((one) => one.x !== null && one.y !== null)),
          testStyle,
          78,
        )
        .getFeatures(),
    );
    view.onTap((_, features) => {
      const hit = features.find((one) => one.get("method") !== undefined);
      const test = hit && this.tests.find((one) => one.id === hit.get("id"));
      if (test) this.form(test);
    });
  }

  tables(): HTMLElement[] {
    return [this.table()];
  }

  private method(key: string): Method | undefined {
    return this.methods.find((one) => one.key === key || one.synonyms.includes(key));
  }

  private table(): HTMLElement {
    const rows = this.tests.map((one) => [
      one.hole || String(one.id),
      one.visit,
      this.method(one.method)?.label ?? one.method,
      one.value === null ? "–" : `${number(one.value)}\u00a0${one.unit}`,
    ]);
    return table(t("tests"), [t("hole"), t("visit"), t("method"), t("value")], rows, (i) =>
      this.form(this.tests[i]!),
    );
  }

  private fill(): void {
    const { panel, project } = this.context;
    if (!project.visits.length) {
      replace(
        panel,
        h("h1", {}, t("tests")),
        h("p", {}, t("visit-first")),
        button(t("to-readings"), () => this.context.go("readings"), "main"),
      );
      return;
    }
    replace(
      panel,
      h("h1", {}, t("tests")),
      h("p", {}, t("tests-how")),
      button(t("new-test"), () => this.form(null), "main"),
      this.tests.length ? this.table() : h("p", { class: "words" }, t("no-tests")),
      this.limitSection(),
      section(t("verdict"), this.verdict),
    );
    if (this.tests.length) void this.judge();
    else replace(this.verdict, h("p", { class: "words" }, t("no-verdict")));
  }

  leave(): void {
    this.verdicts.drop();
    this.rules.drop();
  }

  private async judge(): Promise<void> {
    replace(this.verdict, h("p", {}, t("one-moment")));
    const shown = await askVerdict(this.context, this.verdicts);
    if (shown) replace(this.verdict, shown);
  }

  private limitSection(): HTMLElement {
    const list = h("ul", { class: "list tall" });
    for (const limit of this.limits) {
      const words = t("limit-is", {
        where: limit.room || t("whole-floor"),
        value: number(limit.value),
        unit: limit.unit,
        method: this.method(limit.method)?.label ?? limit.method,
        source: limit.source,
      });
      list.append(h("li", {}, h("span", {}, words)));
    }
    return section(
      t("limits"),
      h("p", { class: "words" }, t("limits-how")),
      list,
      button(t("set-limit"), () => void this.setLimit()),
    );
  }

  private async setLimit(): Promise<void> {
    const name = await askWho();
    if (!name) return;
    let method = this.methods[0]!;
    let room = "";
    const unit = h("span", { class: "unit" }, method.units[0] ?? "");
    const value = field(t("limit-value"), { inputmode: "decimal" });
    value.row.append(unit);
    const source = field(t("limit-source"), {
      hint: t("limit-source-hint"),
      more: { maxlength: 120 },
    });
    const choices = this.methods.map((one): [string, string] => [one.key, one.label]);
    const rooms: [string, string][] = [
      ["", t("whole-floor")],
      ...this.context.project.rooms.map((one): [string, string] => [one, one]),
    ];
    const content = [
      select(t("method"), choices, method.key, (key) => {
        method = this.method(key)!;
        replace(unit, method.units[0] ?? "");
      }),
      value.row,
      source.row,
      select(t("where"), rooms, "", (chosen) => (room = chosen)),
    ];
    const bounds = (): string | null => {
      const result = method.fields.find((one) => one.name === "value");
      const typed = readNumber(value.input.value);
      if (Number.isNaN(typed)) return t("bad-number", { value: value.input.value });
      return typed <= 0 ? t("above-zero") : result ? against(result, value.input.value) : null;
    };
    const refuse = (): string | null =>
      bounds() ?? (source.input.value.trim() ? null : t("source-needed"));
    if (!(await dialog(t("set-limit"), content, [["ok", t("store"), "main"]], refuse))) return;
    const body = {
      method: method.key,
      value: readNumber(value.input.value),
      unit: method.units[0],
      source: source.input.value.trim(),
      room: room || null,
      who: name,
    };
    await ask(this.context.path("limit"), { method: "PUT", body, key: newKey() });
    await this.load();
  }

  /** The form of one test; what is typed is kept on this device until it is stored. */
  private form(test: TestRow | null): void {
    const draft = test ? null : kept<Values>(this.draftName());
    const values: Values = test ? valuesOf(test) : (draft ?? {});
    const method = this.method(String(values.method ?? "")) ?? this.methods[0]!;
    values.method = method.key;
    const remember = (): void => {
      if (!test) keep(this.draftName(), values);
    };
    const words = h("p", { class: "words", role: "status", "aria-live": "polite" });
    const tell = (): void => {
      const missing = this.missing(method, values);
      replace(
        words,
        missing.length ? t("still-missing", { what: missing.join(", ") }) : t("record-complete"),
      );
      clearTimeout(timer);
      timer = setTimeout(() => void this.examine(values, test, found), 500);
    };
    let timer = 0;
    const found = h("div", { role: "status", "aria-live": "polite" });
    const choices = this.methods.map((one): [string, string] => [one.key, one.label]);
    const required = new Set(method.required.flat().flatMap((one) => one.split("+")));
    const holes = h("div");
    if (!test) void this.offerHoles(holes, method, values, remember);
    const main = h("div", { class: "two" });
    const rest = h("div", { class: "two" });
    for (const one of method.fields)
      (required.has(one.name) || one.name === "hole" ? main : rest).append(
        this.input(one, method, values, () => {
          remember();
          tell();
        }),
      );
    replace(
      this.context.panel,
      h("h1", {}, test ? t("test-of", { hole: test.hole || test.id }) : t("new-test")),
      select(t("method"), choices, method.key, (key) => {
        values.method = key;
        delete values.unit;
        remember();
        if (test) Object.assign(test, { method: key });
        this.form(test);
      }),
      holes,
      this.placeForm(values, remember),
      main,
      fold(t("more-fields"), false, h("p", { class: "words" }, t("more-fields-how")), rest),
      words,
      found,
      test
        ? section(
            t("photos"),
            photoBox(this.context, {
              layer: "tests",
              row: String(test.id),
              note: t("test-of", { hole: test.hole || test.id }),
            }),
          )
        : null,
      h(
        "div",
        { class: "actions" },
        button(t("store"), () => void this.store(test, method, values), "main"),
        test ? button(t("set-aside"), () => void this.remove(test), "danger") : null,
        button(t("cancel"), () => this.leaveForm(), "plain"),
      ),
    );
    tell();
    this.context.panel.scrollTo({ top: 0 });
  }

  /** What the rules of the method say about the test as typed so far. */
  private async examine(values: Values, test: TestRow | null, found: HTMLElement): Promise<void> {
    if (!found.isConnected) return;
    const body = {
      visit: test?.visit ?? this.context.visit,
      fields: this.fieldsOf(values),
      who: "typing",
    };
    try {
      const answer = await this.rules.ask<{
        findings: { effect: string; sentence: string; document: string }[];
        result: number | null;
        how: string;
        unit: string;
      }>(this.context.path("tests/examine"), { body });
      if (!answer) return;
      const result =
        answer.how && answer.result !== null
          ? h(
              "p",
              {},
              t("result-so-far", {
                value: number(answer.result),
                unit: answer.unit,
                how: answer.how,
              }),
            )
          : null;
      const list = h(
        "ul",
        {},
        ...answer.findings.map((one) =>
          h(
            "li",
            { class: one.effect === "invalid" ? "bad" : "" },
            `${word("effect", one.effect)}: ${one.sentence}${one.document ? ` (${one.document})` : ""}`,
          ),
        ),
      );
      replace(found, result, answer.findings.length ? list : h("p", {}, t("no-findings")));
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      replace(found, h("p", { class: "bad" }, error.message));
    }
  }

  private fieldsOf(values: Values): Values {
    const method = this.method(String(values.method))!;
    const known = new Map(method.fields.map((one) => [one.name, one]));
    const fields: Values = { method: method.key };
    for (const [key, value] of Object.entries(values)) {
      if (value === "" || (key !== "x" && key !== "y" && !known.has(key))) continue;
      fields[key] = known.get(key)?.kind === "time" ? new Date(String(value)).toISOString() : value;
    }
    return fields;
  }

  /** Offer the holes of the drill plan: one choice fills name, place and depth. */
  private async offerHoles(
    box: HTMLElement,
    method: Method,
    values: Values,
    remember: () => void,
  ): Promise<void> {
    let holes: {
      hole: string;
      room: string;
      x: number;
      y: number;
      depth_mm: number | null;
      withdrawn: string;
    }[];
    try {
      holes = (await ask<{ holes: typeof holes }>(this.context.path("issued-holes"))).holes;
    } catch (error) {
      if (error instanceof Refused || error instanceof Unreachable) return; // typed by hand then
      throw error;
    }
    holes = holes.filter((one) => !one.withdrawn);
    if (!box.isConnected || !holes.length) return;
    const choices: [string, string][] = [
      ["", t("choose")],
      ...holes.map((one): [string, string] => [one.hole, `${one.hole}, ${one.room}`]),
    ];
    replace(
      box,
      select(t("planned-hole"), choices, String(values.hole ?? ""), (name) => {
        const hole = holes.find((one) => one.hole === name);
        if (!hole) return;
        Object.assign(values, { hole: hole.hole, x: String(hole.x), y: String(hole.y) });
        if (hole.depth_mm !== null && method.fields.some((one) => one.name === "depth_mm"))
          values.depth_mm = String(hole.depth_mm);
        remember();
        this.form(null);
      }),
    );
  }

  private leaveForm(): void {
    hush();
    forget(this.draftName());
    this.context.view.drop("asked");
    this.draw();
    this.fill();
  }

  private placeForm(values: Values, remember: () => void): HTMLElement {
    const x = field("x", {
      unit: "m",
      inputmode: "decimal",
      value: String(values.x ?? ""),
      onchange: (text) => set("x", text),
    });
    const y = field("y", {
      unit: "m",
      inputmode: "decimal",
      value: String(values.y ?? ""),
      onchange: (text) => set("y", text),
    });
    const set = (axis: "x" | "y", text: string): void => {
      values[axis] = text;
      remember();
      show();
    };
    const show = (): void => {
      const place: Place = [readNumber(String(values.x ?? "")), readNumber(String(values.y ?? ""))];
      if (place.some(Number.isNaN)) return;
      this.context.view.layer("asked", [new Feature<Geometry>(new Point(place))], spotStyle, 95);
    };
    this.context.view.onTap((place) => {
      values.x = x.input.value = place[0].toFixed(3);
      values.y = y.input.value = place[1].toFixed(3);
      remember();
      show();
    });
    show();
    return h(
      "div",
      {},
      h("p", { class: "words" }, t("tap-test-place")),
      h("div", { class: "row" }, x.row, y.row),
    );
  }

  private input(one: TestField, method: Method, values: Values, changed: () => void): HTMLElement {
    const text = label(one);
    const put = (value: string | boolean): void => {
      values[one.name] = value;
      changed();
    };
    if (one.name === "unit")
      return select(
        text,
        method.units.map((unit) => [unit, unit]),
        String(values.unit ?? method.units[0]),
        put,
      );
    if (one.name === "instrument") return this.instruments(text, method, values, put);
    if (one.kind === "flag") return check(text, values[one.name] === true, put);
    const type = one.kind === "time" ? "datetime-local" : "text";
    const box = field(text, {
      type,
      unit: one.kind === "number" ? unitOf(one, method, values) : undefined,
      inputmode: one.kind === "number" ? "decimal" : undefined,
      value: String(values[one.name] ?? ""),
      hint: word("field", one.name) === one.name ? one.meaning : "",
      oninput: (typed) => {
        const bad = one.kind === "number" && typed.trim() !== "" ? against(one, typed) : null;
        box.say(bad ?? "", bad !== null);
        put(typed);
      },
    });
    return box.row;
  }

  private instruments(
    text: string,
    method: Method,
    values: Values,
    put: (value: string) => void,
  ): HTMLElement {
    const fitting = this.context.project.instruments.filter((one) =>
      method.instrument_kinds.includes(one.kind),
    );
    const choices: [string, string][] = [
      ["", t("choose")],
      ...fitting.map((one): [string, string] => [one.id, one.id]),
    ];
    const row = select(text, choices, String(values.instrument ?? ""), put);
    append(row, [button(t("new-probe"), () => void this.newProbe(method, values), "plain")]);
    return row;
  }

  private async newProbe(method: Method, values: Values): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const id = field(t("meter-name"), { more: { maxlength: 60 } });
    const serial = field(t("serial"), { more: { maxlength: 60 } });
    const certificate = field(t("certificate"), { more: { maxlength: 120 } });
    const uncertainty = field(t("uncertainty"), {
      unit: method.units[0],
      inputmode: "decimal",
      hint: t("uncertainty-hint"),
    });
    const refuse = (): string | null =>
      !id.input.value.trim()
        ? t("name-needed")
        : uncertainty.input.value.trim() && Number.isNaN(readNumber(uncertainty.input.value))
          ? t("bad-number", { value: uncertainty.input.value })
          : null;
    const pressed = await dialog(
      t("new-probe"),
      [id.row, serial.row, certificate.row, uncertainty.row],
      [["ok", t("store"), "main"]],
      refuse,
    );
    if (!pressed) return;
    const body = {
      id: id.input.value.trim(),
      kind: method.instrument_kinds[0],
      serial: serial.input.value.trim(),
      certificate: certificate.input.value.trim(),
      uncertainty: uncertainty.input.value.trim() ? readNumber(uncertainty.input.value) : null,
      who: name,
    };
    await ask(this.context.path("instruments"), { body, key: newKey() });
    values.instrument = body.id;
    keep(this.draftName(), values);
    await this.context.refresh();
    this.context.reopen();
  }

  private missing(method: Method, values: Values): string[] {
    const filled = (name: string): boolean => String(values[name] ?? "").trim() !== "";
    const groups = [["hole"], ...method.required, ["x"], ["y"]];
    return groups
      .filter((group) => !group.some((one) => one.split("+").every(filled)))
      .map((group) =>
        group.map((one) => one.split("+").map(name).join(" + ")).join(` ${t("or")} `),
      );
  }

  private async store(test: TestRow | null, method: Method, values: Values): Promise<void> {
    const bad = wrongField(method, values);
    if (bad) {
      announce(bad, "bad");
      this.context.panel.querySelector<HTMLInputElement>("[aria-invalid=true]")?.focus();
      return;
    }
    const name = await askWho();
    if (!name) return;
    const body = {
      visit: test?.visit ?? this.context.visit,
      fields: this.fieldsOf(values),
      who: name,
    };
    try {
      if (test) await this.correct(test, body);
      else await ask(this.context.path("tests"), { body, key: newKey() });
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      announce(error.message, "bad");
      return;
    }
    announce(t("test-stored"));
    forget(this.draftName());
    this.context.view.drop("asked");
    await this.context.refresh();
    await this.load();
  }

  private async why(title: string): Promise<string | null> {
    const why = field(t("why"), { hint: t("why-hint"), more: { maxlength: 200 } });
    const pressed = await dialog(
      title,
      [h("p", {}, t("kept-in-record")), why.row],
      [["ok", t("go-on"), "main"]],
      () => (why.input.value.trim() ? null : t("why-needed")),
    );
    return pressed ? why.input.value.trim() : null;
  }

  private async correct(test: TestRow, body: unknown): Promise<void> {
    const why = await this.why(t("correct"));
    if (why)
      await ask(this.context.path(`tests/${test.id}?why=${encodeURIComponent(why)}`), {
        method: "PUT",
        body,
        key: newKey(),
      });
  }

  private async remove(test: TestRow): Promise<void> {
    const name = await askWho();
    const why = name && (await this.why(t("set-aside")));
    if (!name || !why) return;
    await ask(this.context.path(`tests/${test.id}`), {
      method: "DELETE",
      body: { why, who: name },
      key: newKey(),
    });
    await this.context.refresh();
    await this.load();
  }
}

/** The first field that cannot be right, in words; null when all can. */
function wrongField(method: Method, values: Values): string | null {
  for (const axis of ["x", "y"]) {
    const typed = String(values[axis] ?? "");
    if (typed.trim() && Number.isNaN(readNumber(typed)))
      return `${axis}: ${t("bad-number", { value: typed })}`;
  }
  for (const one of method.fields) {
    const typed = String(values[one.name] ?? "");
    const bad = one.kind === "number" && typed.trim() ? against(one, typed) : null;
    if (bad) return `${label(one)}: ${bad}`;
  }
  return null;
}

function name(field: string): string {
  return word("field", field).replaceAll("_", " ");
}

function label(one: TestField): string {
  const key = `field-${one.name}` as Key;
  const known = word("field", one.name);
  return known === one.name
    ? one.name
        .replace(/_(c|pct|mm|g|cm2|bar)$/, "")
        .replaceAll("_", " ")
        .replace(/^./, (c) => c.toUpperCase())
    : t(key);
}

function unitOf(one: TestField, method: Method, values: Values): string {
  if (one.unit !== "as unit") return one.unit.replace(/^C$/, "°C");
  return String(values.unit ?? method.units[0] ?? "");
}

function against(one: TestField, typed: string): string | null {
  const value = readNumber(typed);
  if (Number.isNaN(value)) return t("bad-number", { value: typed });
  if ((one.low !== null && value < one.low) || (one.high !== null && value > one.high))
    return t("out-of-bounds", { low: one.low ?? "–", high: one.high ?? "–" });
  return null;
}

function valuesOf(test: TestRow): Values {
  const values: Values = {};
  for (const [key, value] of Object.entries(test)) {
    if (value === null || ["id", "test", "visit", "source", "row", "room"].includes(key)) continue;
    if (typeof value === "boolean") values[key] = value;
    else if (typeof value === "string" && /^\d{4}-\d\d-\d\dT/.test(value)) {
      const local = new Date(value);
      values[key] = new Date(local.getTime() - local.getTimezoneOffset() * 60_000)
        .toISOString()
        .slice(0, 16);
    } else values[key] = String(value);
  }
  return values;
}
