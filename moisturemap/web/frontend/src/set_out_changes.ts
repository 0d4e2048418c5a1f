// A changed wall moves what an issued hole is measured from: told before the plan is changed.

import { ask, isRefusal } from "./api";
import { unsettled, type Beyond, type Carried } from "./carried";
import { dialog } from "./dialog";
import { h } from "./dom";
import { writeLength, type LengthUnit } from "./lengths";
import type { Plan } from "./plan_types";
import { t } from "./strings";
import type { Context } from "./task";

type Distances = { from_a: string; distance_m: number }[];

interface Change {
  hole: string;
  before: Distances;
  after: Distances;
}

/** Holes with other distances from the walls on another plan, with old and new in words. */
export interface Retaped {
  holes: string[];
  words: HTMLElement[];
}

/** What a plan changes for issued holes that may be concerned; null for nothing. */
export type Tapes = (
  after: Plan,
  holes: string[] | null,
  along?: Carried,
) => Promise<Retaped | null>;

/** How holes are measured anew, under what makes them so. */
export function retapedWords({ holes, words }: Retaped, how = ""): HTMLElement {
  const told = t("holes-unsettled", { holes: holes.join(", ") });
  return h("div", {}, h("p", { class: "bad" }, how ? `${how}: ${told}` : told), ...words);
}

/** Distances in words; walls by their names, where the same ones are measured from only once. */
function tapeWords(tapes: Distances, unit: LengthUnit): string {
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

  readonly tapes: Tapes = async (after, holes, along) => {
    const carried = along ? [along] : [];
    const body = { plan: after, revision: "preview", who: "preview", carried };
    try {
      const path = this.context.path("plan/effect");
      const { set_out } = await ask<{ set_out: Change[] }>(path, { body });
      if (!set_out.length) return null;
      const list = set_out.map((one) => h("li", {}, changeWords(one, this.context.unit)));
      return { holes: set_out.map((one) => one.hole), words: [h("ul", {}, ...list)] };
    } catch (error) {
      if (!isRefusal(error)) throw error;
      return holes && { holes, words: [h("p", {}, error.message)] };
    }
  };

  private async wanted(after: Plan, holes: string[] | null): Promise<boolean> {
    const changed = await this.tapes(after, holes);
    if (!changed) return true;
    const go: [string, string, string?][] = [["go", t("wall-go-on")]];
    return (
      (await dialog(t("set-out-changes"), [retapedWords(changed)], go, { about: null })) !== null
    );
  }
}
