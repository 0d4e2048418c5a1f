// A changed wall moves what an issued hole is measured from: told before the plan is changed.

import { ask, isRefusal } from "./api";
import { unsettled, type Beyond } from "./carried";
import { dialog } from "./dialog";
import { h } from "./dom";
import { writeLength, type LengthUnit } from "./lengths";
import type { Plan } from "./plan_types";
import { t } from "./strings";
import type { Context } from "./task";

type Tapes = { from_a: string; distance_m: number }[];

interface Change {
  hole: string;
  before: Tapes;
  after: Tapes;
}

/** Distances in words; walls by their names, where the same ones are measured from only once. */
function tapeWords(tapes: Tapes, unit: LengthUnit): string {
  const words = tapes.map((one) => `${writeLength(one.distance_m, unit)} (${one.from_a})`);
  return words.join(", ") || t("no-tapes");
}

export function changeWords({ hole, before, after }: Change, unit: LengthUnit): string {
  return t("set-out-change", {
    hole,
    before: tapeWords(before, unit),
    after: tapeWords(after, unit),
  });
}

/** The issued holes that stand on the floor, as they were when a plan was opened. */
export class SetOutWatch {
  /** Null until they are known; then the program is asked about every wall. */
  private standing: Beyond["standing"] | null = null;

  constructor(private readonly context: Context) {}

  async load(): Promise<void> {
    const path = this.context.path("issued-holes");
    const { holes } = await ask<{ holes: { hole: string; room: string; withdrawn: string }[] }>(
      path,
      { patient: true },
    );
    this.standing = holes.filter((one) => !one.withdrawn);
  }

  /** Tell at once that a plan is wanted, or once it was asked where set-out distances change. */
  ask(before: Plan, after: Plan, answered: (wanted: boolean) => void): void {
    const holes = this.standing && unsettled(before, after, this.standing);
    if (holes === null || holes.length) void this.wanted(after, holes).then(answered);
    else answered(true);
  }

  private async wanted(after: Plan, holes: string[] | null): Promise<boolean> {
    let named = holes;
    const words: HTMLElement[] = [];
    const body = { plan: after, revision: "preview", who: "preview" };
    try {
      const path = this.context.path("plan/effect");
      const { set_out } = await ask<{ set_out: Change[] }>(path, { body });
      if (!set_out.length) return true;
      const list = set_out.map((one) => h("li", {}, changeWords(one, this.context.unit)));
      words.push(h("ul", {}, ...list));
      named = set_out.map((one) => one.hole);
    } catch (error) {
      if (!isRefusal(error)) throw error;
      if (!named) return true;
      words.push(h("p", {}, error.message));
    }
    words.unshift(h("p", { class: "bad" }, t("holes-unsettled", { holes: named.join(", ") })));
    const go: [string, string, string?][] = [["go", t("wall-go-on")]];
    return (await dialog(t("set-out-changes"), words, go, { about: null })) !== null;
  }
}
