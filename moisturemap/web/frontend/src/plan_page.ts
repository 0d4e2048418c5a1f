// The task "Plan": draw, import or trace the floor.

import type { FeatureLike } from "ol/Feature";
import { Polygon, type Geometry } from "ol/geom";

import { BackdropTool } from "./backdrop_tool";
import { append, button, dialog, h, replace, section, select } from "./dom";
import { DrawTool } from "./draw_tool";
import { area, crossingWalls, distance, inside, round, type Place } from "./geometry";
import { draftName, dropDraft, keptDraft } from "./drafts";
import { holdCorners, placesOf } from "./hold_corners";
import { planImport } from "./plan_import";
import { planList, planTables } from "./plan_list";
import { PlanDraft } from "./plan_draft";
import { lineForm, roomForm, type Chosen } from "./plan_forms";
import { LINE_KINDS, NEW_SLAB, shapeOf, type Line, type Plan, type Room } from "./plan_types";
import { open } from "./plan_view";
import { chosenStyle, nameWalls } from "./plan_style";
import { t, word } from "./strings";
import type { Context, Task } from "./task";

/** An outline that encloses less is a slip of the hand [m2]; our choice. */
const LEAST_M2 = 0.05;
/** How near a tap must come to a corner to mean it [px]. */
const TAP_PX = 18;

/** Form name of a drawing that was begun, and what is drawn. */
const SKETCH = "sketch";
interface Sketched {
  of: "room" | "hole" | "line";
  room?: string;
  kind?: string;
}

export class PlanPage implements Task {
  private readonly draft: PlanDraft;
  private chosen: Chosen | null = null;
  private tool: DrawTool | null = null;
  private kind = "interior-wall";
  private readonly state = h("p", { class: "state", role: "status" });
  private readonly backdrop: BackdropTool;
  private readonly keys = (event: KeyboardEvent): void => this.onKey(event);

  constructor(private readonly context: Context) {
    this.draft = new PlanDraft(context.project.id);
    this.draft.onchange = () => this.draw();
    this.draft.onstate = () => this.tellState();
    this.backdrop = new BackdropTool(context, this.draft, (element) => this.occupy(element));
    document.addEventListener("keydown", this.keys);
  }

  async start(): Promise<void> {
    nameWalls(true);
    await this.draft.load();
    this.context.view.fit();
    this.resume();
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
    if (typing) return;
    const undo = (event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z";
    const redo =
      ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "y") ||
      (undo && event.shiftKey);
    if (redo) this.draft.redo();
    else if (undo) this.undo();
    else if (event.key === "Escape") {
      if (this.tool) this.tool.cancel();
      else if (this.backdrop.busy) {
        this.backdrop.end();
        this.draw();
      } else this.choose(null);
    } else if (event.key === "Delete" && this.chosen && !this.tool) this.removeChosen();
    else return;
    event.preventDefault();
  }

  private undo(): void {
    if (this.tool) this.tool.back();
    else if (!this.backdrop.undo()) this.draft.undo();
  }

  /** Show the plan; while something is drawn or marked, its tool keeps the panel and the taps. */
  private draw(): void {
    const { view } = this.context;
    this.backdrop.show();
    view.show(this.draft.plan);
    if (this.tool || this.backdrop.busy) return;
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
    const words = {
      saved: t("saved"),
      waiting: t("saving"),
      refused: t("not-stored", { why: this.draft.complaint }),
      here: this.draft.complaint,
    };
    this.state.textContent = words[this.draft.state];
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
    if (this.chosen) {
      const actions = {
        change: (plan: Plan) => this.draft.change(plan),
        remove: () => this.remove(),
        leave: () => this.choose(null),
        hole: () => this.drawHole(),
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
      this.drawing(),
      this.bringing(),
      unscaled ? null : this.backdrop.panel(),
      planList(this.draft.plan, this.context.unit, (chosen) => this.choose(chosen)),
      this.notes(),
    );
    if (this.draft.plan.rooms.length)
      append(panel, [button(t("on-to-readings"), () => this.context.go("readings"), "main wide")]);
  }

  private drawing(): HTMLElement {
    const kinds = LINE_KINDS.map((kind): [string, string] => [kind, word("kind", kind)]);
    return section(
      t("draw"),
      this.draft.plan.rooms.length ? null : h("p", {}, t("plan-start")),
      button(t("draw-room"), () => this.drawRoom(), this.draft.plan.rooms.length ? "" : "main"),
      h(
        "div",
        { class: "row end" },
        select(t("line-kind"), kinds, this.kind, (kind) => (this.kind = kind)),
        button(t("draw-line"), () => this.drawLine()),
      ),
    );
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
    return section(t("notes"), h("ul", {}, ...this.draft.notes.map((note) => h("li", {}, note))));
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
    const rings = this.draft.plan.rooms[this.chosen.index]?.rings ?? [];
    for (const [which, ring] of rings.entries()) {
      const corner = ring.findIndex((one) => distance(one, place) <= reach);
      if (corner >= 0) return [which, corner];
    }
    return null;
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
    if (!feature) {
      this.chosen = null;
      return;
    }
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
    const line = this.draft.plan.lines[chosen.index]!;
    this.replaceLine(chosen.index, { ...line, places: placesOf(geometry).map(round) });
  }

  /** Take new rings of a room, or say why they cannot be. */
  private setRings(index: number, rings: Place[][]): void {
    const bad = rings.map(crossingWalls).find(Boolean);
    const small = rings.some((ring) => ring.length < 3 || area(ring) < LEAST_M2);
    if (!bad && !small) {
      const room = this.draft.plan.rooms[index]!;
      this.chosen = { what: "room", index };
      this.replaceRoom(index, { ...room, rings });
      return;
    }
    this.draw();
    const words = bad ? t("walls-cross", { one: bad[0], other: bad[1] }) : t("too-small");
    void dialog(t("not-moved"), [h("p", {}, words)], []);
  }

  private removeChosen(): void {
    const chosen = this.chosen;
    if (!chosen?.corner) return this.remove();
    const [which, corner] = chosen.corner;
    const rings = this.draft.plan.rooms[chosen.index]!.rings.map((ring, i) =>
      i === which ? ring.filter((_, k) => k !== corner) : ring,
    );
    this.setRings(chosen.index, rings);
  }

  private replaceRoom(index: number, room: Room): void {
    this.draft.change({
      ...this.draft.plan,
      rooms: this.draft.plan.rooms.map((one, i) => (i === index ? room : one)),
    });
  }

  private replaceLine(index: number, line: Line): void {
    this.draft.change({
      ...this.draft.plan,
      lines: this.draft.plan.lines.map((one, i) => (i === index ? line : one)),
    });
  }

  private remove(): void {
    const chosen = this.chosen;
    if (!chosen) return;
    this.chosen = null;
    const { rooms, lines } = this.draft.plan;
    if (chosen.what === "room")
      this.draft.change({ rooms: rooms.filter((_, i) => i !== chosen.index), lines });
    else this.draft.change({ rooms, lines: lines.filter((_, i) => i !== chosen.index) });
  }

  /** Go on with a drawing that was begun before a reload or another task. */
  private resume(): void {
    const begun = keptDraft<Sketched>(draftName(SKETCH));
    if (!begun) return;
    if (begun.of === "room") return this.drawRoom();
    if (begun.of === "line") {
      this.kind = begun.kind!;
      return this.drawLine();
    }
    const index = this.draft.plan.rooms.findIndex((one) => one.name === begun.room);
    if (index < 0) return dropDraft(draftName(SKETCH));
    this.chosen = { what: "room", index };
    this.drawHole();
  }

  private begin(
    title: string,
    shape: "point" | "line" | "area",
    sketched: Sketched,
    refuse: (places: Place[]) => string | null,
    done: (places: Place[]) => void,
  ): void {
    const { view, panel, unit } = this.context;
    view.stop();
    view.drop("chosen");
    view.onTap(null);
    this.tool = new DrawTool({
      view,
      shape,
      title,
      unit,
      refuse,
      draft: { name: draftName(SKETCH), more: sketched },
      done: (places) => {
        this.tool = null;
        if (places) done(places);
        else this.draw();
      },
    });
    replace(
      view.tools,
      button(t("undo-corner"), () => this.tool?.back()),
    );
    replace(panel, this.tool.element);
  }

  private drawRoom(): void {
    this.chosen = null;
    this.begin(
      t("draw-room"),
      "area",
      { of: "room" },
      (ring) => (area(ring) < LEAST_M2 ? t("too-small") : null),
      (ring) => {
        const { rooms, lines } = this.draft.plan;
        this.chosen = { what: "room", index: rooms.length };
        this.draft.change({
          rooms: [
            ...rooms,
            { name: this.freeName(), rings: [ring], slab: rooms.at(-1)?.slab ?? NEW_SLAB },
          ],
          lines,
        });
      },
    );
  }

  private freeName(): string {
    const taken = new Set(this.draft.plan.rooms.map((room) => room.name));
    let number = this.draft.plan.rooms.length + 1;
    while (taken.has(t("room-number", { number }))) number += 1;
    return t("room-number", { number });
  }

  private drawHole(): void {
    const index = this.chosen?.index ?? -1;
    const room = this.draft.plan.rooms[index];
    if (!room) return;
    const outline = room.rings[0]!;
    this.begin(
      t("draw-hole", { room: room.name }),
      "area",
      { of: "hole", room: room.name },
      (ring) =>
        ring.every((place) => inside(outline, place))
          ? null
          : t("hole-outside", { room: room.name }),
      (ring) => this.replaceRoom(index, { ...room, rings: [...room.rings, ring] }),
    );
  }

  private drawLine(): void {
    const kind = this.kind;
    const shape = shapeOf(kind);
    this.chosen = null;
    this.begin(
      word("kind", kind),
      shape,
      { of: "line", kind },
      () => null,
      (places) => {
        const { rooms, lines } = this.draft.plan;
        this.chosen = { what: "line", index: lines.length };
        this.draft.change({ rooms, lines: [...lines, { kind, name: "", shape, places }] });
      },
    );
  }
}
