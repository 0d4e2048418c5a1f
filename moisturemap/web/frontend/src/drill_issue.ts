// Clearing the cautions of a drill plan, issuing it, and its set-out sheets.

import { ask, askFile, Refused, saveFile } from "./api";
import { announce } from "./announce";
import { dialog } from "./dialog";
import { alone, append, button, field, fold, h, section } from "./dom";
import { settled, type Caution, type DrillAnswer, type IssuedPlan } from "./drill_types";
import { insist } from "./insist";
import { newKey } from "./keep";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

export class DrillIssue {
  constructor(
    private readonly context: Context,
    private readonly load: () => Promise<void>,
  ) {}

  cautions(answer: DrillAnswer): HTMLElement {
    const list = h("ol", { class: "cautions" });
    for (const [number, caution] of answer.cautions.entries()) {
      const id = `caution-${number}`;
      const cleared = caution.cleared;
      const state = cleared
        ? h("p", { class: "words" }, clearance(caution))
        : button(t("confirm"), () => void this.clear(caution), "", { "aria-describedby": id });
      list.append(
        h("li", { class: cleared ? "cleared" : "caution" }, h("p", { id }, caution.caution), state),
      );
    }
    return section(t("cautions"), h("p", {}, t("cautions-how")), list);
  }

  private async clear(caution: Caution): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const by = field(t("cleared-name"), {
      value: name,
      hint: t("cleared-name-hint"),
      more: { maxlength: 80 },
    });
    const on = field(t("cleared-on"), {
      type: "date",
      value: new Date().toISOString().slice(0, 10),
    });
    const document_ = field(t("document"), { hint: t("document-hint"), more: { maxlength: 200 } });
    const tick = h("input", { type: "checkbox", id: "caution-tick" });
    const confirm = h(
      "div",
      { class: "check" },
      tick,
      h("label", { for: "caution-tick" }, t("caution-tick")),
    );
    const refuse = (): string | null =>
      !by.input.value.trim() || !on.input.value
        ? t("name-and-date")
        : tick.checked
          ? null
          : t("tick-first");
    const key = newKey();
    const send = (): Promise<void> => {
      const body = {
        caution: caution.key,
        by: by.input.value.trim(),
        on: on.input.value,
        document: document_.input.value.trim(),
        who: name,
      };
      const query = `visit=${encodeURIComponent(this.context.visit ?? "")}`;
      return ask(this.context.path(`cautions?${query}`), { body, key });
    };
    const pressed = await dialog(
      t("confirm-caution"),
      [h("p", { class: "caution" }, caution.caution), by.row, on.row, document_.row, confirm],
      [["ok", t("confirm"), "main"]],
      { accept: refuse, send, about: caution.key },
    );
    if (pressed) await this.load();
  }

  issue(answer: DrillAnswer): HTMLElement {
    const box = section(t("issue"));
    if (answer.plans.length) {
      const list = h("ul");
      for (const one of answer.plans) list.append(issuedPlan(one));
      append(box, [list, clearedBefore(answer.issued_cautions), this.sheets()]);
    }
    if (answer.open)
      box.append(h("p", { class: "caution" }, t("cautions-open", { n: answer.open })));
    else if (answer.holes.every(settled)) box.append(h("p", { class: "words" }, t("all-issued")));
    else
      append(box, [
        h("p", {}, t("issue-how")),
        this.depthless(answer),
        button(
          t("issue-plan"),
          alone(() => this.issuePlan()),
          "main",
        ),
      ]);
    return box;
  }

  /** Holes that would be issued without a depth, and where that is mended; null for none. */
  private depthless(answer: DrillAnswer): HTMLElement | null {
    const open = answer.holes.filter((hole) => hole.depth_mm === null && !settled(hole));
    if (!open.length) return null;
    const holes = open.map((hole) => hole.hole).join(", ");
    const rooms = [...new Set(open.map((hole) => hole.room))].join(", ");
    return h(
      "div",
      { class: "caution" },
      h("p", {}, t("issue-depthless", { holes, rooms })),
      button(t("to-plan"), () => this.context.go("plan")),
    );
  }

  private async issuePlan(): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const query = `visit=${encodeURIComponent(this.context.visit ?? "")}`;
    const [body, key] = [{ who: name }, newKey()];
    const path = this.context.path(`drill/issue?${query}`);
    try {
      if (!(await insist(t("issue-plan"), () => ask(path, { body, key })))) return;
      announce(t("issued-now"));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      announce(error.message, "bad");
    }
    await this.load(); // what was refused rests on what changed since the page was loaded
  }

  private sheets(): HTMLElement {
    const save = async (format: string): Promise<void> => {
      const { blob, name } = await askFile(
        this.context.path(
          `drill/file?format=${format}&visit=${encodeURIComponent(this.context.visit ?? "")}`,
        ),
      );
      saveFile(blob, name);
    };
    return h(
      "div",
      { class: "row" },
      button(t("save-sheet"), () => void save("csv"), "main"),
      button(t("save-geojson"), () => void save("geojson")),
    );
  }
}

/** Who cleared a caution, when, and by what. */
function clearance({ cleared }: Caution): string {
  if (!cleared) return "";
  const document = cleared.document || t("no-document");
  return t("cleared-by", { by: cleared.by, on: cleared.on, document });
}

/** A plan that was issued, and which of its holes were withdrawn and why. */
function issuedPlan(one: IssuedPlan): HTMLElement {
  const holes = one.holes.join(", ");
  const on = new Date(one.issued).toLocaleString();
  const gone = one.withdrawn.map(({ hole, reason_given: why }) =>
    h("li", {}, t("hole-withdrawn", { hole, why })),
  );
  const words = t("plan-issued", { n: one.plan, on, holes });
  return h("li", {}, words, gone.length ? h("ul", {}, ...gone) : null);
}

/** Who cleared what for the holes issued before others were proposed; null where that is above. */
function clearedBefore(cautions: Caution[]): HTMLElement | null {
  if (!cautions.length) return null;
  const rows = cautions.map((one) => h("li", {}, `${one.caution} `, h("em", {}, clearance(one))));
  return fold(t("cleared-before"), false, h("ul", {}, ...rows));
}
