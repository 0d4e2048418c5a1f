// Bringing a plan from a file: shown first, stored only when wanted.

import { bullets } from "./bullets";
import { ask, Refused } from "./api";
import { announce } from "./announce";
import { dialog } from "./dialog";
import { h, replace, select, check } from "./dom";
import { KeptImport } from "./kept_import";
import { readNumber, writeLength } from "./lengths";
import type { Plan } from "./plan_types";
import { ready } from "./ready";
import { t, word } from "./strings";
import type { Context } from "./task";

interface Preview {
  plan: Plan;
  notes: string[];
  width_m: number;
  height_m: number;
}

interface Effect {
  readings: number;
  tests: number;
  readings_out: number;
  tests_out: number;
}

interface Layer {
  name: string;
  kind: string;
  parts: number | null;
  closed: number | null;
}

interface Layers {
  of: "layer" | "storey" | "";
  layers: Layer[];
}

interface Options {
  coordinates: string;
  rotate: string;
  mirror: boolean;
  layer: string;
}

const USUAL: Options = { coordinates: "", rotate: "0", mirror: false, layer: "" };

/** A file of a plan, what was chosen for it before, and where both are kept. */
interface Source {
  file: File;
  before: Options;
  kept: KeptImport<Options>;
}

const ACCEPT = ".geojson,.json,.wkt,.txt,.dxf,.gpkg,.ifc";

export function planImport(
  context: Context,
  use: (plan: Plan) => void,
  current: () => Plan,
): HTMLElement {
  const kept = new KeptImport<Options>("plan");
  return kept.chooser(t("import-plan"), ACCEPT, (file, before = USUAL) =>
    new PlanPreview(context, { file, before, kept }, use, current).open(),
  );
}

class PlanPreview {
  private readonly file: File;
  private readonly title: string;
  private readonly options: Options;
  private readonly words = h("div", { class: "preview", role: "status", "aria-live": "polite" });
  private preview: Preview | null = null;
  private looks = 0;

  constructor(
    private readonly context: Context,
    private readonly source: Source,
    private readonly use: (plan: Plan) => void,
    private readonly current: () => Plan,
  ) {
    this.file = source.file;
    this.title = t("import-plan-of", { file: this.file.name });
    this.options = { ...source.before };
  }

  async open(): Promise<void> {
    await this.source.kept.keep(this.file, this.title, this.options);
    const layers = h("div");
    const units: [string, string][] = [
      ["", t(this.context.unit === "ft" ? "as-file-states-ft" : "as-file-states")],
      ["m", t("metres")],
      ["cm", t("centimetres")],
      ["mm", t("millimetres")],
      ["ft", t("feet")],
      ["in", t("inches")],
    ];
    const turns: [string, string][] = ["0", "90", "180", "270"].map((turn) => [turn, `${turn}°`]);
    const form = h(
      "div",
      { class: "two" },
      select(t("plan-units"), units, this.options.coordinates, (coordinates) =>
        this.set({ coordinates }),
      ),
      select(t("turn"), turns, this.options.rotate, (rotate) => this.set({ rotate })),
      check(t("mirror"), this.options.mirror, (mirror) => this.set({ mirror })),
    );
    const shown = dialog(this.title, [layers, form, this.words], [["use", t("use-plan"), "main"]], {
      accept: () => (this.preview ? null : t("nothing-to-use")),
      side: true,
      about: null,
      given: () => void this.source.kept.drop(),
    });
    ready(this.words, false);
    void this.begin(layers);
    const pressed = await shown;
    const taken = pressed === "use" ? this.preview : null;
    this.looks = -1; // what is still on its way comes too late
    if (taken) {
      this.use(taken.plan);
      this.context.view.fit();
      announce(t("plan-taken", { n: taken.plan.rooms.length }));
      return;
    }
    this.context.view.show(this.current());
    this.context.view.fit();
  }

  /** List what may be picked, pick a storey where one must be, and show the plan. */
  private async begin(box: HTMLElement): Promise<void> {
    replace(this.words, h("p", {}, t("reading-file")));
    const form = new FormData();
    form.append("file", this.file);
    try {
      const patient = this.complain;
      const { of, layers } = await ask<Layers>("/api/preview/plan/layers", { form, patient });
      const storey = of === "storey";
      if (layers.length > 1) {
        const any: [string, string][] = storey ? [] : [["", t("plan-layer-any")]];
        const choices = layers.map((one): [string, string] => [one.name, layerWords(one, storey)]);
        if (storey) this.options.layer ||= layers[0]!.name;
        const label = t(storey ? "plan-storey" : "plan-layer");
        replace(
          box,
          select(label, [...any, ...choices], this.options.layer, (layer) => this.set({ layer })),
        );
      }
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      this.complain(error);
      return;
    }
    await this.look();
  }

  private readonly complain = (why: Error): void =>
    replace(this.words, h("p", { class: "bad" }, why.message));

  /** What of the job the plan would replace, and what it would leave in no room. */
  private async effect(plan: Plan): Promise<HTMLElement | null> {
    if (!this.current().rooms.length) return null;
    const body = { plan, revision: "preview", who: "preview" };
    const found = await ask<Effect>(this.context.path("plan/effect"), { body, patient: true });
    const out = found.readings_out + found.tests_out > 0;
    return h(
      "div",
      { class: "caution" },
      h("p", {}, t("plan-replaces", { n: this.current().rooms.length })),
      h(
        "p",
        { class: out ? "bad" : "" },
        t("plan-leaves-out", {
          readings: found.readings_out,
          tests: found.tests_out,
          all: found.readings,
          made: found.tests,
        }),
      ),
    );
  }

  private set(part: Partial<Options>): void {
    Object.assign(this.options, part);
    this.source.kept.choose(this.file, this.title, this.options);
    void this.look();
  }

  private async look(): Promise<void> {
    if (this.looks < 0) return;
    this.preview = null;
    ready(this.words, false);
    const look = ++this.looks;
    replace(this.words, h("p", {}, t("reading-file")));
    const form = new FormData();
    form.append("file", this.file);
    form.append("coordinates", this.options.coordinates);
    form.append("otherwise", this.context.unit);
    form.append("rotate_deg", String(readNumber(this.options.rotate)));
    form.append("mirror", String(this.options.mirror));
    if (this.options.layer) form.append("layer", this.options.layer);
    try {
      const preview = await ask<Preview>("/api/preview/plan", { form, patient: this.complain });
      const effect = await this.effect(preview.plan);
      if (look !== this.looks) return;
      this.preview = preview;
      ready(this.words, true);
      this.context.view.show(preview.plan);
      this.context.view.fit();
      const size = t("plan-size", {
        width: writeLength(preview.width_m, this.context.unit),
        height: writeLength(preview.height_m, this.context.unit),
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
        preview.notes.length ? bullets(preview.notes) : null,
        effect,
      );
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      if (look === this.looks) this.complain(error);
    }
  }
}

/** A layer by its name, what it is for, and how much is on it. */
function layerWords(layer: Layer, storey: boolean): string {
  const { name, kind, parts, closed } = layer;
  const n = parts ?? 0;
  const much =
    parts === null
      ? ""
      : storey
        ? t("plan-storey-spaces", { n })
        : t("plan-layer-lines", { n, closed: closed ?? 0 });
  const meant = kind ? word("kind", kind) : "";
  return [name, [meant, much].filter(Boolean).join(", ")].filter(Boolean).join(": ");
}
