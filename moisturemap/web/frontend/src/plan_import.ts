// Bringing a plan from a file: shown first, stored only when wanted.

import { ask, Refused, Unreachable } from "./api";
import { announce } from "./announce";
import { dialog, fileButton, h, replace, select, check, field } from "./dom";
import { readNumber } from "./lengths";
import type { Plan } from "./plan_types";
import { t } from "./strings";
import type { Context } from "./task";

interface Preview {
  plan: Plan;
  notes: string[];
  width_m: number;
  height_m: number;
}

interface Options {
  coordinates: string;
  rotate: string;
  mirror: boolean;
  layer: string;
}

const ACCEPT = ".geojson,.json,.wkt,.txt,.dxf,.gpkg,.ifc";

export function planImport(
  context: Context,
  use: (plan: Plan) => void,
  current: () => Plan,
): HTMLElement {
  return fileButton(
    t("import-plan"),
    ACCEPT,
    (file) => void new PlanPreview(context, file, use, current).open(),
  );
}

class PlanPreview {
  private readonly options: Options = { coordinates: "m", rotate: "0", mirror: false, layer: "" };
  private readonly words = h("div", { class: "preview", role: "status", "aria-live": "polite" });
  private preview: Preview | null = null;

  constructor(
    private readonly context: Context,
    private readonly file: File,
    private readonly use: (plan: Plan) => void,
    private readonly current: () => Plan,
  ) {}

  async open(): Promise<void> {
    void this.look();
    const units: [string, string][] = [
      ["m", t("metres")],
      ["mm", t("millimetres")],
      ["ft", t("feet")],
    ];
    const turns: [string, string][] = ["0", "90", "180", "270"].map((turn) => [turn, `${turn}°`]);
    const layer = field(t("plan-layer"), {
      hint: t("plan-layer-hint"),
      onchange: (text) => this.set({ layer: text.trim() }),
    });
    const form = h(
      "div",
      { class: "two" },
      select(t("plan-units"), units, "m", (coordinates) => this.set({ coordinates })),
      select(t("turn"), turns, "0", (rotate) => this.set({ rotate })),
      check(t("mirror"), false, (mirror) => this.set({ mirror })),
      layer.row,
    );
    const pressed = await dialog(
      t("import-plan-of", { file: this.file.name }),
      [form, this.words],
      [["use", t("use-plan"), "main"]],
      () => (this.preview ? null : t("nothing-to-use")),
      true,
    );
    if (pressed === "use" && this.preview) {
      this.use(this.preview.plan);
      this.context.view.fit();
      announce(t("plan-taken", { n: this.preview.plan.rooms.length }));
    } else this.context.view.show(this.current());
  }

  private set(part: Partial<Options>): void {
    Object.assign(this.options, part);
    void this.look();
  }

  private async look(): Promise<void> {
    this.preview = null;
    replace(this.words, h("p", {}, t("reading-file")));
    const form = new FormData();
    form.append("file", this.file);
    form.append("coordinates", this.options.coordinates);
    form.append("rotate_deg", String(readNumber(this.options.rotate)));
    form.append("mirror", String(this.options.mirror));
    if (this.options.layer) form.append("layer", this.options.layer);
    try {
      const preview = await ask<Preview>("/api/preview/plan", { form });
      this.preview = preview;
      this.context.view.show(preview.plan);
      this.context.view.fit();
      const size = t("plan-size", {
        width: preview.width_m.toFixed(2),
        height: preview.height_m.toFixed(2),
      });
      const names = preview.plan.rooms.map((room) => room.name).join(", ");
      replace(
        this.words,
        h(
          "p",
          {},
          t("plan-found", { n: preview.plan.rooms.length, lines: preview.plan.lines.length }),
          " ",
          size,
        ),
        h("p", {}, names),
        preview.notes.length
          ? h("ul", {}, ...preview.notes.map((note) => h("li", {}, note)))
          : null,
      );
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      replace(this.words, h("p", { class: "bad" }, error.message));
    }
  }
}
