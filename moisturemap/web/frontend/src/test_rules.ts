// What the rules of its method say about a test as typed so far: the verdict's own rules.

import { Latest, Refused } from "./api";
import { h, replace } from "./dom";
import { number } from "./numbers";
import { t, word } from "./strings";
import type { Context } from "./task";

interface Examined {
  findings: { effect: string; sentence: string; document: string }[];
  result: number | null;
  how: string;
  unit: string;
}

/** How long nothing is typed before the rules are asked [ms]. */
const PAUSE_MS = 500;

export class TestRules {
  readonly element = h("div", { role: "status", "aria-live": "polite" });
  private readonly latest = new Latest();
  private timer = 0;

  constructor(
    private readonly context: Context,
    /** Called when the test is not valid as typed. */
    private readonly invalid: () => void,
  ) {}

  drop(): void {
    clearTimeout(this.timer);
    this.latest.drop();
  }

  clear(): void {
    this.drop();
    replace(this.element);
  }

  /** Ask about the test when the typing pauses. */
  later(body: () => Record<string, unknown>): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.examine(body()), PAUSE_MS);
  }

  private async examine(body: Record<string, unknown>): Promise<void> {
    if (!this.element.isConnected) return;
    const complain = (why: Error): void =>
      replace(this.element, h("p", { class: "bad" }, why.message));
    try {
      const path = this.context.path("tests/examine");
      const answer = await this.latest.ask<Examined>(path, { body, patient: complain });
      if (answer) this.show(answer);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      complain(error);
    }
  }

  private show({ findings, result, how, unit }: Examined): void {
    const invalid = findings.some((one) => one.effect === "invalid");
    if (invalid) this.invalid();
    const items = findings.map((one) => {
      const document = one.document ? ` (${one.document})` : "";
      const words = `${word("effect", one.effect)}: ${one.sentence}${document}`;
      return h("li", { class: one.effect === "invalid" ? "bad" : "" }, words);
    });
    replace(
      this.element,
      h("p", { class: invalid ? "bad" : "" }, t(invalid ? "not-valid-so-far" : "valid-so-far")),
      how && result !== null
        ? h("p", {}, t("result-so-far", { value: number(result), unit, how }))
        : null,
      items.length ? h("ul", {}, ...items) : null,
    );
  }
}
