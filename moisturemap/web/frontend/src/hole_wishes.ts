// What people want otherwise of the holes a plan proposes, and taking it back.

import { announce } from "./announce";
import { ask, Refused } from "./api";
import { button, h, section } from "./dom";
import type { DrillAnswer } from "./drill_types";
import { insist } from "./insist";
import { newKey } from "./keep";
import { writeLength } from "./lengths";
import { t, word } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

export class HoleWishes {
  constructor(
    private readonly context: Context,
    private readonly load: () => Promise<void>,
  ) {}

  /** Send a wish and plan anew; false when nobody said who wishes it or it was given up. */
  async send(decision: Record<string, unknown>): Promise<boolean> {
    const name = await askWho();
    if (!name) return false;
    const [body, key] = [{ ...decision, who: name }, newKey()];
    const path = this.context.path("holes");
    try {
      if (!(await insist(t("wishes"), () => ask(path, { body, key })))) return false;
      announce(t("replanned"));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      announce(error.message, "bad");
    }
    await this.load();
    return true;
  }

  list(answer: DrillAnswer): HTMLElement | null {
    if (!answer.decisions.length) return null;
    const list = h("ul", { class: "list tall" });
    answer.decisions.forEach((one, index) => {
      const [x, y] = one.to ?? [one.x, one.y];
      const { unit } = this.context;
      const place = `x ${writeLength(x, unit)}, y ${writeLength(y, unit)}`;
      const words = t("hole-decision", {
        what: word("verdict", one.verdict),
        place,
        who: one.who,
        why: one.why,
      });
      list.append(
        h(
          "li",
          {},
          h(
            "span",
            { class: answer.unmet.includes(index) ? "bad" : null },
            words,
            answer.unmet.includes(index) ? ` – ${t("unmet")}` : "",
          ),
          button(t("take-back"), () => void this.withdraw(index), "plain"),
        ),
      );
    });
    return section(t("wishes"), list);
  }

  private async withdraw(index: number): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const [body, key] = [{ index, who: name }, newKey()];
    const path = this.context.path("holes/withdraw");
    if (!(await insist(t("take-back"), () => ask(path, { body, key })))) return;
    await this.load();
  }
}
