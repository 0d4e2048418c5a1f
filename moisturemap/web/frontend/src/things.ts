// What disturbs readings: listed, accepted, dismissed, marked, taken back.

import { ask } from "./api";
import { announce } from "./announce";
import { dialog } from "./dialog";
import { button, field, h, replace } from "./dom";
import { draftName, keptDraft } from "./drafts";
import { DrawTool } from "./draw_tool";
import type { Place } from "./geometry";
import { insist } from "./insist";
import { newKey } from "./keep";
import type { MapAnswer } from "./map_types";
import { sentence } from "./numbers";
import { t, word } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

/** Form name of a mark that was begun. */
const MARK = "mark";

export interface OnThings {
  /** Load the map again: a decision was stored. */
  load: () => Promise<void>;
  /** Draw the map that is known again: drawing by hand has ended. */
  draw: () => void;
}

export class Things {
  /** Something is being drawn by hand on the map. */
  marking = false;

  constructor(
    private readonly context: Context,
    private readonly on: OnThings,
  ) {}

  list(answer: MapAnswer): HTMLElement {
    const found = answer.layers.anomalies?.features ?? [];
    const list = h("ul", { class: "list tall" });
    for (const { properties: p } of found) {
      const state = p.decision
        ? word("verdict", String(p.decision))
        : word("found", String(p.standing));
      const decided = h("span", {}, state);
      list.append(
        h(
          "li",
          {},
          button(
            `${p.anomaly} ${word("anomaly", String(p.kind))}`,
            () => void this.decide(p),
            "link",
          ),
          decided,
        ),
      );
    }
    answer.decisions.anomalies.forEach((one, index) => {
      if (one.verdict !== "dismissed" && one.verdict !== "marked") return;
      const words = t(one.verdict === "dismissed" ? "dismissed-by" : "marked-by", {
        kind: word("anomaly", one.kind),
        who: one.who,
        why: one.why,
      });
      list.append(
        h(
          "li",
          {},
          h("span", {}, words),
          button(t("take-back"), () => void this.withdraw(index), "plain"),
        ),
      );
    });
    return list.childElementCount ? list : h("p", {}, t("no-anomalies"));
  }

  async decide(p: Record<string, unknown>): Promise<void> {
    const why = field(t("why"), { hint: t("why-anomaly"), more: { maxlength: 200 } });
    const title = `${p.anomaly} ${word("anomaly", String(p.kind))}`;
    const actions: [string, string, string?][] = [
      ["accepted", t("accept"), "main"],
      ["dismissed", t("dismiss"), "danger"],
    ];
    const content = [
      h("p", {}, sentence(String(p.sentence ?? ""))),
      h("p", { class: "caution" }, t("anomaly-caution")),
      why.row,
    ];
    const pressed = await dialog(title, content, actions, {
      accept: (value) =>
        value === "dismissed" && !why.input.value.trim() ? t("why-needed") : null,
      about: String(p.at),
    });
    if (!pressed) return;
    await this.send({
      verdict: pressed,
      kind: p.kind,
      places: [p.at],
      why: why.input.value.trim(),
    });
  }

  private async send(decision: Record<string, unknown>): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const body = { ...decision, who: name };
    const key = newKey();
    const path = this.context.path("anomalies");
    if (!(await insist(t("anomalies"), () => ask(path, { body, key })))) return;
    announce(t("decision-stored"));
    await this.on.load();
  }

  private async withdraw(index: number): Promise<void> {
    const name = await askWho();
    if (!name) return;
    const [body, key] = [{ index, who: name }, newKey()];
    const path = this.context.path("anomalies/withdraw");
    if (!(await insist(t("take-back"), () => ask(path, { body, key })))) return;
    await this.on.load();
  }

  async mark(): Promise<void> {
    const kinds: [string, string, string?][] = [
      ["line", t("mark-line")],
      ["spot", t("mark-spot")],
      ["mesh", t("mark-mesh")],
    ];
    const kind = await dialog(t("mark-anomaly"), [h("p", {}, t("mark-how"))], kinds);
    if (kind) this.begin(kind);
  }

  /** Go on with a mark that was begun before a reload or another task. */
  resume(): void {
    const begun = keptDraft<{ kind: string }>(draftName(MARK));
    if (begun && !this.marking) this.begin(begun.kind);
  }

  private begin(kind: string): void {
    const { view, panel, unit } = this.context;
    view.onTap(null);
    this.marking = true;
    const tool = new DrawTool({
      view,
      unit,
      title: t(`mark-${kind}` as "mark-line"),
      draft: { name: draftName(MARK), more: { kind } },
      shape: kind === "line" ? "line" : kind === "spot" ? "point" : "area",
      refuse: () => null,
      done: (places) => void this.marked(kind, places),
    });
    replace(panel, tool.element);
  }

  private async marked(kind: string, places: Place[] | null): Promise<void> {
    this.marking = false;
    this.on.draw();
    if (!places) return;
    const why = field(t("what-is-it"), { hint: t("what-is-it-hint"), more: { maxlength: 200 } });
    const pressed = await dialog(t("mark-anomaly"), [why.row], [["ok", t("store"), "main"]], {
      accept: () => (why.input.value.trim() ? null : t("why-needed")),
      about: String(places),
    });
    if (pressed) await this.send({ verdict: "marked", kind, places, why: why.input.value.trim() });
  }
}
