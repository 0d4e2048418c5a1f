// The task "Plan": draw, import or trace the floor.

import { FeatureLike } from "ol/Feature";
import { Polygon, type Geometry } from "ol/geom";

import { BackdropTool } from "./backdrop_tool";
import { bullets } from "./bullets";
import type { Carried } from "./carried";
import type { Chosen } from "./chosen";
import { dialog } from "./dialog";
import { append, button, h, replace, section } from "./dom";
import { drawSection } from "./draw_section";
import { round, type Place } from "./geometry";
import { holdCorners, placesOf } from "./hold_corners";
import { lineForm } from "./line_form";
import { cornerNear, withLine, without, withoutCorner, withRoom, wrongRings } from "./plan_changes";
import { PlanDraft } from "./plan_draft";
import { open } from "./plan_features";
import { planImport } from "./plan_import";
import { planKey } from "./plan_keys";
import { planList, planTables } from "./plan_list";
import { PlanSketch } from "./plan_sketch";
import { chosenStyle, nameWalls } from "./plan_style";
import type { Plan } from "./plan_types";
import { roomForm } from "./room_form";
import { mayRemove } from "./room_removal";
import { SetOutWatch } from "./set_out_changes";
import { t } from "./strings";
import type { Context, Task } from "./task";

/** How near a tap must come to a corner to mean it [px]. */
const TAP_PX = 18;

export class PlanPage implements Task {
  private readonly draft: PlanDraft;
  private chosen: Chosen | null = null;
  /** Whose form the panel shows. */
  private shown: string | null = null;
  private readonly state = h("p", { class: "state", role: "status" });
  private readonly sketch: PlanSketch;
  private readonly backdrop: BackdropTool;
  private readonly setOut: SetOutWatch;
  private readonly keys = (event: KeyboardEvent): void => this.onKey(event);

  constructor(private readonly context: Context) {
    this.draft = new PlanDraft(context.project.id);
    this.draft.onchange = () => this.draw();
    this.setOut = new SetOutWatch(context);
    this.draft.onstate = () => this.tellState();
    this.backdrop = new BackdropTool(context, this.draft, (element) => this.occupy(element));
    this.sketch = new PlanSketch(
      context,
      this.draft,
      (chosen) => (this.chosen = chosen),
      () => this.draw(),
    );
    document.addEventListener("keydown", this.keys);
  }

  async start(): Promise<void> {
    nameWalls(true);
    const holes = this.setOut.load();
    await this.draft.load();
    this.context.view.fit();
    this.sketch.resume();
    await holes;
  }

  async leave(): Promise<void> {
    nameWalls(false);
    document.removeEventListener("keydown", this.keys);
    this.draft.onchange = this.draft.onstate = () => undefined;
    this.backdrop.leave();
    if (this.draft.state !== "saved") await this.draft.save();
    if (this.draft.stored) await this.context.refresh();
  }

  tables(): HTMLElement[] {
    return planTables(this.draft.plan, this.context.unit);
  }

  private onKey(event: KeyboardEvent): void {
    const typing =
      event.target instanceof HTMLInputElement || event.target instanceof HTMLSelectElement;
    // a form over the plan has its keys for itself
    if (typing || document.querySelector("dialog[open]")) return;
    const key = planKey(event);
    if (key === "redo") this.draft.redo();
    else if (key === "undo") this.undo();
    else if (key === "escape") this.escape();
    else if (key === "delete" && this.chosen && !this.sketch.busy) this.removeChosen();
    else return;
    event.preventDefault();
  }

  private escape(): void {
    if (this.sketch.busy) this.sketch.cancel();
    else if (this.backdrop.busy) {
      this.backdrop.end();
      this.draw();
    } else this.choose(null);
  }

  private undo(): void {
    if (this.sketch.busy) this.sketch.back();
    else if (!this.backdrop.undo()) this.draft.undo();
  }

  /** Show the plan; while something is drawn or marked, its tool keeps the panel and the taps. */
  private draw(): void {
    const { view } = this.context;
    this.backdrop.show();
    view.showWhole(this.draft.plan);
    if (this.sketch.busy || this.backdrop.busy) return;
    view.stop();
    view.drop("chosen");
    view.onTap((place, features) => this.tapped(place, features));
    this.hold();
    this.fill();
  }

  /** Give the panel to a tool for the picture, or take it back. */
  private occupy(element: HTMLElement | null): void {
    this.chosen = null;
    this.context.view.drop("chosen");
    if (!element) return this.draw();
    const { panel, view } = this.context;
    replace(
      view.tools,
      button(t("undo-corner"), () => this.undo()),
    );
    replace(panel, element);
  }

  private tellState(): void {
    this.state.textContent = this.draft.told;
    this.state.classList.toggle("bad", Boolean(this.draft.complaint));
    const { context, draft } = this;
    if (
      draft.stored &&
      draft.state === "saved" &&
      draft.plan.rooms.length !== context.project.rooms.length
    )
      void context.refresh();
  }

  private fill(): void {
    const { panel, view } = this.context;
    replace(
      view.tools,
      button(t("undo"), () => this.undo(), "", { disabled: !this.draft.canUndo }),
      button(t("redo"), () => this.draft.redo(), "", { disabled: !this.draft.canRedo }),
    );
    this.tellState();
    const shown = this.chosen && `${this.chosen.what} ${this.chosen.index}`;
    if (shown !== this.shown) panel.scrollTo({ top: 0 });
    this.shown = shown;
    if (this.chosen) {
      const actions = {
        change: (plan: Plan, along?: Carried) => this.draft.change(plan, along),
        reshape: (plan: Plan) => this.take(plan),
        beyond: this.draft.beyond.bind(this.draft),
        tapes: this.setOut.tapes,
        remove: () => void this.remove(),
        leave: () => this.choose(null),
        hole: () => this.sketch.hole(this.chosen?.index ?? -1),
        corner: this.chosen.corner ?? null,
        removeCorner: () => this.removeChosen(),
      };
      const form = this.chosen.what === "room" ? roomForm : lineForm;
      replace(
        panel,
        this.state,
        form(this.draft.plan, this.chosen.index, this.context.unit, actions),
      );
      return;
    }
    // what is drawn over a picture without a scale has no true size: the scale comes first
    const unscaled = this.draft.backdrop?.scaled === false;
    replace(
      panel,
      h("h1", {}, t("plan")),
      this.state,
      unscaled ? this.backdrop.panel() : null,
      drawSection(this.draft.plan.rooms.length > 0, this.sketch),
      this.bringing(),
      unscaled ? null : this.backdrop.panel(),
      planList(this.draft.plan, this.context.unit, (chosen) => this.choose(chosen)),
      this.notes(),
    );
    if (this.draft.plan.rooms.length)
      append(panel, [button(t("on-to-readings"), () => this.context.go("readings"), "main wide")]);
  }

  private bringing(): HTMLElement {
    return section(
      t("bring"),
      h("p", {}, t("bring-how")),
      h(
        "div",
        { class: "row" },
        planImport(
          this.context,
          (plan) => this.draft.change(plan),
          () => this.draft.plan,
        ),
        this.backdrop.bringButton(),
      ),
    );
  }

  private notes(): HTMLElement | null {
    if (!this.draft.notes.length) return null;
    return section(t("notes"), bullets(this.draft.notes));
  }

  private tapped(place: Place, features: FeatureLike[]): void {
    const corner = this.cornerAt(place);
    if (corner !== null) return this.choose({ ...this.chosen!, corner });
    const line = features.find((feature) => feature.get("what") === "line");
    const room = features.find((feature) => feature.get("what") === "room");
    const hit = line ?? room;
    this.choose(
      hit ? { what: hit.get("what") as Chosen["what"], index: hit.get("index") as number } : null,
    );
  }

  /** The corner of the chosen room that was tapped, as ring and number; null for none. */
  private cornerAt(place: Place): [number, number] | null {
    if (this.chosen?.what !== "room") return null;
    const reach = TAP_PX * (this.context.view.map.getView().getResolution() ?? 0);
    return cornerNear(this.draft.plan.rooms[this.chosen.index]?.rings ?? [], place, reach);
  }

  private choose(chosen: Chosen | null): void {
    this.chosen = chosen;
    this.draw();
    if (chosen) this.context.panel.querySelector("input")?.focus({ preventScroll: true });
  }

  /** Let the chosen room or line be taken hold of. */
  private hold(): void {
    if (!this.chosen) return;
    const { view } = this.context;
    const source = this.chosen.what === "room" ? view.rooms : view.lines;
    const feature = source.getFeatures().find((one) => one.get("index") === this.chosen?.index);
    if (!feature) return void (this.chosen = null);
    feature.set("corner", this.chosen.corner ?? null);
    view.layer("chosen", [feature], chosenStyle, 90);
    holdCorners(view, feature, (geometry) => this.moved(geometry));
  }

  private moved(geometry: Geometry): void {
    const chosen = this.chosen;
    if (!chosen) return;
    if (chosen.what === "room" && geometry instanceof Polygon) {
      const rings = geometry.getCoordinates().map((ring) => open(ring).map(round));
      this.setRings(chosen.index, rings);
      return;
    }
    const { plan } = this.draft;
    const line = plan.lines[chosen.index]!;
    const places = placesOf(geometry).map(round);
    this.draft.change(withLine(plan, chosen.index, { ...line, places }));
  }

  /** Change the plan, after it was asked where that changes the set-out of issued holes. */
  private take(plan: Plan): void {
    const answered = (wanted: boolean): void => (wanted ? this.draft.change(plan) : this.draw());
    this.setOut.ask(this.draft.plan, plan, answered);
  }

  /** Take new rings of a room, or say why they cannot be. */
  private setRings(index: number, rings: Place[][]): void {
    const wrong = wrongRings(rings);
    if (!wrong) {
      const { plan } = this.draft;
      this.chosen = { what: "room", index };
      this.take(withRoom(plan, index, { ...plan.rooms[index]!, rings }));
      return;
    }
    this.draw();
    const words =
      wrong === "small" ? t("too-small") : t("walls-cross", { one: wrong[0], other: wrong[1] });
    void dialog(t("not-moved"), [h("p", {}, words)], []);
  }

  private removeChosen(): void {
    const { corner, index = -1 } = this.chosen ?? {};
    if (!corner) return void this.remove();
    this.setRings(index, withoutCorner(this.draft.plan.rooms[index]!.rings, corner));
  }

  private async remove(): Promise<void> {
    const chosen = this.chosen;
    if (!chosen || !(await mayRemove(this.context, chosen, this.draft.plan))) return;
    this.chosen = null;
    this.draft.change(without(this.draft.plan, chosen.what, chosen.index));
  }
}
