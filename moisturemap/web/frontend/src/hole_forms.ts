// The forms of holes: one wanted, one moved, one proposed, and one that is issued.

import { ask } from "./api";
import { dialog } from "./dialog";
import { field, h, section, type Field } from "./dom";
import { settled, type Hole } from "./drill_types";
import { againstLength, firstWrong } from "./field_checks";
import type { Place } from "./geometry";
import type { HoleWishes } from "./hole_wishes";
import { insist } from "./insist";
import { newKey } from "./keep";
import { readLength, writeDepth, writeLength } from "./lengths";
import { number } from "./numbers";
import { holeSubject, photoBox } from "./photos";
import { t, word } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

export class HoleForms {
  constructor(
    private readonly context: Context,
    private readonly wishes: HoleWishes,
    private readonly load: () => Promise<void>,
  ) {}

  /** A hole was let go elsewhere; whether it is wanted there. */
  async moved(hole: Hole, to: Place): Promise<boolean> {
    const [x, y] = to.map((one) => writeLength(one, this.context.unit)) as [string, string];
    const words = t("move-hole", { hole: hole.hole, x, y });
    const why = field(t("why"), { hint: t("why-hole"), more: { maxlength: 200 } });
    const pressed = await dialog(words, [why.row], [["ok", t("move"), "main"]]);
    if (!pressed) return false;
    const wish = { verdict: "moved", x: hole.x, y: hole.y, to, why: why.input.value.trim() };
    return this.wishes.send(wish);
  }

  async want(place: Place): Promise<void> {
    const x = this.length("x", place[0]);
    const y = this.length("y", place[1]);
    const why = field(t("why"), { hint: t("why-hole"), more: { maxlength: 200 } });
    const at = (): Place => [x.metres(), y.metres()];
    const refuse = (): string | null =>
      firstWrong(
        [x, againstLength(x, this.context.unit)],
        [y, againstLength(y, this.context.unit)],
      );
    const pressed = await dialog(
      t("want-hole"),
      [h("p", {}, t("want-hole-how")), h("div", { class: "two" }, x.row, y.row), why.row],
      [["ok", t("pin-here"), "main"]],
      { accept: refuse, about: `${x.input.value} ${y.input.value}` },
    );
    if (pressed)
      await this.wishes.send({
        verdict: "pinned",
        x: at()[0],
        y: at()[1],
        why: why.input.value.trim(),
      });
  }

  /** An issued hole keeps its place; it may only be withdrawn, and its name is not given again. */
  private async issued(hole: Hole): Promise<void> {
    const why = field(t("why"), { hint: t("why-withdrawn"), more: { maxlength: 120 } });
    const content = [
      ...this.facts(hole),
      h("p", { class: "words" }, t("hole-settled", { hole: hole.hole })),
      hole.status === "done" ? null : why.row,
      section(t("photos"), photoBox(this.context, holeSubject(hole))),
    ];
    const actions: [string, string, string?][] =
      hole.status === "done" ? [] : [["withdraw", t("withdraw-hole"), "danger"]];
    const pressed = await dialog(`${hole.hole}, ${hole.room}`, content, actions, {
      accept: () => (why.input.value.trim() ? null : t("why-needed")),
    });
    const name = pressed && (await askWho());
    if (!name) return;
    const body = { hole: hole.hole, why: why.input.value.trim(), who: name };
    const key = newKey();
    const path = this.context.path("issued-holes/withdraw");
    if (!(await insist(t("withdraw-hole"), () => ask(path, { body, key })))) return;
    await this.load();
  }

  async open(hole: Hole): Promise<void> {
    if (settled(hole)) return this.issued(hole);
    const why = field(t("why"), { hint: t("why-hole"), more: { maxlength: 200 } });
    const x = this.length("x", hole.x);
    const y = this.length("y", hole.y);
    const at = (): Place => [x.metres(), y.metres()];
    const actions: [string, string, string?][] = [
      ["moved", t("move")],
      ["rejected", t("reject-hole"), "danger"],
    ];
    if (hole.status === "proposed") actions.unshift(["pinned", t("keep-hole"), "main"]);
    const refuse = (value: string): string | null => {
      if (value === "rejected" && !why.input.value.trim()) return t("why-needed");
      const { unit } = this.context;
      return value === "moved"
        ? firstWrong([x, againstLength(x, unit)], [y, againstLength(y, unit)])
        : null;
    };
    const pressed = await dialog(
      `${hole.hole}, ${hole.room}`,
      [
        ...this.facts(hole),
        h("div", { class: "two" }, x.row, y.row),
        why.row,
        section(t("photos"), photoBox(this.context, holeSubject(hole))),
      ],
      actions,
      { accept: refuse, about: `${hole.x} ${hole.y}` },
    );
    if (pressed === "moved")
      await this.wishes.send({
        verdict: pressed,
        x: hole.x,
        y: hole.y,
        to: at(),
        why: why.input.value.trim(),
      });
    else if (pressed)
      await this.wishes.send({
        verdict: pressed,
        x: hole.x,
        y: hole.y,
        why: why.input.value.trim(),
      });
  }

  /** A field for a coordinate, in the unit of the job; what is not typed over keeps its value. */
  private length(name: string, metres: number): Field & { metres: () => number } {
    const { unit } = this.context;
    const shown = unit === "m" ? metres.toFixed(2) : writeLength(metres, unit);
    const box = field(name, {
      unit,
      value: shown,
      inputmode: unit === "m" ? "decimal" : "text",
    });
    const typed = (): string => box.input.value;
    return Object.assign(box, {
      metres: () => (typed() === shown ? metres : readLength(typed(), unit)),
    });
  }

  private facts(hole: Hole): HTMLElement[] {
    const depth =
      hole.depth_mm === null
        ? t("depth-unknown")
        : t("depth-is", { depth: writeDepth(hole.depth_mm, this.context.unit) });
    return [
      h("p", {}, h("strong", {}, word("purpose", hole.purpose)), ": ", hole.why),
      h("p", {}, depth),
      h("p", {}, hole.set_out),
      hole.expected === null
        ? h("p")
        : h("p", { class: "words" }, t("expected", { value: number(hole.expected) })),
    ];
  }
}
