// The verdict on the floor, and everything it rests on.

import { bullets } from "./bullets";
import { Refused } from "./api";
import type { Latest } from "./api";
import { button, fold, h, table } from "./dom";
import { writeDepth } from "./lengths";
import { number, recorded, tested } from "./numbers";
import { olderNote } from "./older";
import { t, unitWord, word } from "./strings";
import type { Context } from "./task";

type Row = Record<string, unknown>;

interface VerdictAnswer {
  record: number;
  verdict: string;
  sentence: string;
  reasons: string[];
  /** What spoke against the floor until a later valid reading of the same place. */
  replaced: string[];
  next_steps: string[];
  tests: Row[];
  findings: Row[];
  coverage: Row[];
  checks: Row[];
  spots: Row[];
  rules: Row[];
  proof: string;
  scan: string;
  chance: string | null;
  statements: string[];
}

export async function askVerdict(context: Context, latest: Latest): Promise<HTMLElement | null> {
  try {
    const answer = await latest.ask<VerdictAnswer>(
      context.path(`verdict?visit=${encodeURIComponent(context.visit ?? "")}`),
      { patient: true },
    );
    if (!answer) return null;
    const older = await olderNote(context, answer.record);
    return h("div", {}, older, show(answer, context));
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    return h("p", { class: "refusal", role: "alert" }, error.message);
  }
}

function show(answer: VerdictAnswer, context: Context): HTMLElement {
  const findings = answer.findings.map((one) => [
    String(one.hole ?? ""),
    word("effect", String(one.effect)),
    String(one.sentence),
    String(one.document ?? ""),
  ]);
  const tests = h("ul", { class: "list tall judged" });
  for (const one of answer.tests) {
    const spread = one.uncertainty === null ? "" : ` ± ${number(one.uncertainty)}`;
    const limit = one.limit === null ? "" : `, ${t("limit").toLowerCase()} ${recorded(one.limit)}`;
    const depth =
      one.depth_mm === null ? "" : ` (${writeDepth(Number(one.depth_mm), context.unit)})`;
    tests.append(
      h(
        "li",
        {},
        h(
          "div",
          {},
          h(
            "strong",
            {},
            `${one.hole || one.test}${depth}: ${tested(one.value, one.limit)}${spread}\u00a0${unitWord(String(one.unit ?? ""))}${limit}`,
          ),
          h("p", {}, String(one.why ?? "")),
        ),
        h(
          "span",
          {},
          one.verdict === "not judged" && one.counts_against
            ? word("against", String(one.counts_against))
            : word("test-verdict", String(one.verdict)),
          h("br"),
          word("standing", String(one.standing)),
        ),
      ),
    );
  }
  const coverage = answer.coverage.map((one) => [
    String(one.sentence),
    one.met === true ? t("yes") : one.met === false ? t("no") : t("cannot-tell"),
    String(one.document ?? ""),
  ]);
  const checks = answer.checks.map((one) => [
    String(one.instrument),
    new Date(String(one.when)).toLocaleDateString(),
    String(one.sentence),
  ]);
  const checkHeads = [t("checked-instrument"), t("when"), t("what")];
  const off = answer.checks.some((one) => one.result !== "passed");
  return h(
    "div",
    {},
    h(
      "div",
      { class: `verdict ${answer.verdict.replace(/[: ]+/g, "-")}` },
      h("strong", {}, word("verdict", answer.verdict)),
      h("p", {}, answer.sentence),
      bullets(answer.reasons),
      answer.replaced.length
        ? fold(t("replaced", { n: answer.replaced.length }), false, bullets(answer.replaced))
        : null,
    ),
    answer.next_steps.length ? h("h3", {}, t("next-steps")) : null,
    answer.next_steps.length ? bullets(answer.next_steps) : null,
    answer.tests.length ? h("h3", {}, t("judged-tests")) : null,
    answer.tests.length ? tests : null,
    findings.length
      ? fold(
          t("findings"),
          true,
          table(
            t("findings"),
            [t("hole"), t("effect"), t("what"), t("document")],
            findings,
            undefined,
            true,
          ),
        )
      : null,
    coverage.length
      ? fold(
          t("coverage"),
          true,
          table(t("coverage"), [t("what"), t("kept"), t("document")], coverage, undefined, true),
        )
      : null,
    checks.length
      ? fold(t("checks"), off, table(t("checks"), checkHeads, checks, undefined, true))
      : null,
    answer.proof ? h("p", {}, answer.proof) : null,
    answer.scan ? h("p", { class: "words" }, answer.scan) : null,
    answer.chance ? fold(t("between-tests"), false, h("p", {}, answer.chance)) : null,
    fold(t("limits-of-use"), false, bullets(answer.statements)),
    button(t("on-to-report"), () => context.go("report"), "main wide"),
  );
}
