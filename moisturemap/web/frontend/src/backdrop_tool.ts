// The panel for the picture a plan is traced over: bring, scale, turn, straighten, take away.

import { announce } from "./announce";
import { ask, Refused, Unreachable } from "./api";
import { newBackdrop, pixelSize, type Backdrop, type KeptPicture } from "./backdrop";
import { BackdropLayer } from "./backdrop_layer";
import { BackdropScale } from "./backdrop_scale";
import { BackdropSquare } from "./backdrop_square";
import { button, fold, h, section } from "./dom";
import { newKey } from "./keep";
import { KeptImport } from "./kept_import";
import { writeLength } from "./lengths";
import type { Marking } from "./backdrop_marking";
import { MarkTool, type MarkOptions } from "./marks";
import { choosePage } from "./page_choice";
import type { PlanDraft } from "./plan_draft";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

const TAKES =
  "image/jpeg,image/png,image/webp,image/tiff,image/bmp,application/pdf,.pdf,.tif,.tiff";
export class BackdropTool {
  private readonly layer: BackdropLayer;
  private readonly scale: BackdropScale;
  private readonly square: BackdropSquare;
  /** A picture or document that is being brought, with the page looked at. */
  private readonly kept = new KeptImport<number>("backdrop");
  private marks: MarkTool | null = null;

  constructor(
    private readonly context: Context,
    private readonly draft: PlanDraft,
    /** Show the tool in the panel, or the panel as it was for null. */
    private readonly occupy: (element: HTMLElement | null) => void,
  ) {
    this.layer = new BackdropLayer(context.view, context.path("backdrop"), (one) =>
      announce(t("backdrop-not-loaded", { name: one.name }), "bad"),
    );
    const marking: Marking = {
      context,
      draft,
      mark: (title, asks, then) => this.mark(title, asks, then),
      finish: (next, plan) => this.finish(next, plan),
    };
    this.scale = new BackdropScale(marking);
    this.square = new BackdropSquare(marking);
  }

  get busy(): boolean {
    return this.marks !== null;
  }

  show(): void {
    this.layer.show(this.draft.backdrop);
  }

  undo(): boolean {
    return this.marks?.back() ?? false;
  }

  end(): void {
    this.marks?.end();
    this.marks = null;
  }

  leave(): void {
    this.end();
    this.layer.hide();
  }

  bringButton(): HTMLElement {
    return this.kept.chooser(t("trace-photo"), TAKES, (file, page) => this.bring(file, page));
  }

  /** What can be done with the picture there is; null without one. */
  panel(): HTMLElement | null {
    const now = this.draft.backdrop;
    if (!now) return null;
    const state = now.scaled
      ? t("backdrop-scaled", { width: writeLength(pixelSize(now) * now.width, this.context.unit) })
      : t("backdrop-unscaled");
    return section(
      t("backdrop"),
      h("p", {}, now.name),
      h("p", { class: now.scaled ? "words" : "caution" }, state),
      h(
        "div",
        { class: "row" },
        button(t("set-scale"), () => this.scale.mark(), now.scaled ? "" : "main"),
        button(t("check-length"), () => this.scale.check(), "", { disabled: !now.scaled }),
        button(t("remove-photo"), () => this.put(null), "danger"),
      ),
      this.scale.sheet(now),
      fold(t("backdrop-straighten"), false, ...this.square.controls(now)),
      this.strength(now),
    );
  }

  private put(next: Backdrop | null): void {
    this.draft.changeBackdrop(next);
  }

  private async bring(file: File, before = 1): Promise<void> {
    const who = await askWho();
    if (!who) return;
    const title = t("import-plan-of", { file: file.name });
    await this.kept.keep(file, title, before);
    try {
      const pdf = file.type === "application/pdf" || /\.pdf$/i.test(file.name);
      const turned = (page: number): void => this.kept.choose(file, title, page);
      const refused = (): void => void this.kept.drop();
      const page = pdf ? await choosePage(file, before, { turned, refused }) : 1;
      if (page === null) return;
      const form = new FormData();
      form.append("file", file);
      form.append("who", who);
      form.append("page", String(page));
      announce(t("backdrop-sending"));
      const path = this.context.path("backdrop/pictures");
      const kept = await ask<KeptPicture>(path, { form, key: newKey() });
      await this.kept.drop();
      this.put(newBackdrop(kept));
      this.context.view.fit();
      announce(t("backdrop-kept"));
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      if (error instanceof Refused) await this.kept.drop();
      announce(t("backdrop-refused", { file: file.name, why: error.message }), "bad");
    }
  }

  private mark(title: string, asks: string[], then: MarkOptions["then"]): void {
    const { view } = this.context;
    this.end();
    this.marks = new MarkTool({ view, title, asks, then, leave: () => this.finish() });
    this.occupy(this.marks.element);
  }

  private finish(next?: Backdrop, plan = this.draft.plan): void {
    this.end();
    if (next) this.draft.changeBackdrop(next, plan);
    this.occupy(null);
  }

  private strength(now: Backdrop): HTMLElement {
    const input = h("input", {
      type: "range",
      min: 10,
      max: 100,
      value: Math.round(now.opacity * 100),
      oninput: () => this.layer.show(now, Number(input.value) / 100),
      onchange: () => this.put({ ...now, opacity: Number(input.value) / 100 }),
    });
    return h("label", { class: "field" }, t("photo-strength"), input);
  }
}
