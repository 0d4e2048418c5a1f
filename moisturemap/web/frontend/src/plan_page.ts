// The task "Plan": draw, import or trace the floor.

import Collection from "ol/Collection";
import type Feature from "ol/Feature";
import type { FeatureLike } from "ol/Feature";
import { LineString, Point, Polygon, type Geometry } from "ol/geom";
import Modify from "ol/interaction/Modify";
import Snap from "ol/interaction/Snap";
import Translate from "ol/interaction/Translate";

import { append, button, dialog, h, replace, section, select, table } from "./dom";
import { DrawTool } from "./draw_tool";
import { area, crossingWalls, inside, round, type Place } from "./geometry";
import { writeArea } from "./lengths";
import { planImport } from "./plan_import";
import { PlanDraft } from "./plan_draft";
import { lineForm, roomForm, type Chosen } from "./plan_forms";
import { LINE_KINDS, NEW_SLAB, shapeOf, type Line, type Plan, type Room } from "./plan_types";
import { open } from "./plan_view";
import { chosenStyle } from "./plan_style";
import { nameWalls } from "./plan_style";
import { t, word } from "./strings";
import type { Context, Task } from "./task";
import { Trace } from "./trace";

export class PlanPage implements Task {
  private readonly draft: PlanDraft;
  private chosen: Chosen | null = null;
  private tool: DrawTool | null = null;
  private kind = "interior-wall";
  private readonly state = h("p", { class: "state", role: "status" });
  private readonly trace: Trace;
  private readonly keys = (event: KeyboardEvent): void => this.onKey(event);

  constructor(private readonly context: Context) {
    this.draft = new PlanDraft(context.project.id);
    this.draft.onchange = () => this.draw();
    this.draft.onstate = () => this.tellState();
    this.trace = new Trace(context, () => this.draw());
    document.addEventListener("keydown", this.keys);
  }

  async start(): Promise<void> {
    nameWalls(true);
    await this.draft.load();
    this.context.view.fit();
  }

  async leave(): Promise<void> {
    nameWalls(false);
    document.removeEventListener("keydown", this.keys);
    this.draft.onchange = this.draft.onstate = () => undefined;
    this.trace.leave();
    if (this.draft.state !== "saved") await this.draft.save();
    if (this.draft.stored) await this.context.refresh();
  }

  tables(): HTMLElement[] {
    const { rooms, lines } = this.draft.plan;
    return [
      table(
        t("rooms"),
        [t("room"), t("area"), t("corners")],
        rooms.map((room) => [
          room.name,
          this.size(room),
          room.rings[0]!.map(([x, y]) => `(${x}, ${y})`).join(" "),
        ]),
      ),
      table(
        t("lines"),
        [t("kind"), t("name"), t("places")],
        lines.map((line) => [
          word("kind", line.kind),
          line.name,
          line.places.map(([x, y]) => `(${x}, ${y})`).join(" "),
        ]),
      ),
    ];
  }

  private size(room: Room): string {
    const [outline, ...holes] = room.rings;
    const net = area(outline ?? []) - holes.reduce((sum, hole) => sum + area(hole), 0);
    return writeArea(net, this.context.unit);
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
      else this.choose(null);
    } else if (event.key === "Delete" && this.chosen && !this.tool) this.remove();
    else return;
    event.preventDefault();
  }

  private undo(): void {
    if (this.tool) this.tool.back();
    else this.draft.undo();
  }

  private draw(): void {
    const { view } = this.context;
    view.stop();
    view.drop("chosen");
    view.show(this.draft.plan);
    view.onTap((place, features) => this.tapped(place, features));
    if (this.tool) return;
    this.hold();
    this.fill();
  }

  private tellState(): void {
    const words = {
      saved: t("saved"),
      waiting: t("saving"),
      refused: t("not-stored", { why: this.draft.complaint }),
    };
    this.state.textContent = words[this.draft.state];
    this.state.classList.toggle("bad", this.draft.state === "refused");
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
      };
      const form = this.chosen.what === "room" ? roomForm : lineForm;
      replace(
        panel,
        this.state,
        form(this.draft.plan, this.chosen.index, this.context.unit, actions),
      );
      return;
    }
    replace(
      panel,
      h("h1", {}, t("plan")),
      this.state,
      this.drawing(),
      this.bringing(),
      this.roomList(),
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
        this.trace.button(),
      ),
      this.trace.element,
    );
  }

  private roomList(): HTMLElement | null {
    const { rooms, lines } = this.draft.plan;
    if (!rooms.length && !lines.length) return null;
    const list = h("ul", { class: "list" });
    rooms.forEach((room, index) =>
      list.append(
        h(
          "li",
          {},
          button(room.name, () => this.choose({ what: "room", index }), "link"),
          h("span", {}, this.size(room)),
        ),
      ),
    );
    lines.forEach((line, index) => {
      const name = line.name || word("kind", line.kind);
      list.append(
        h(
          "li",
          {},
          button(name, () => this.choose({ what: "line", index }), "link"),
          h("span", {}, word("kind", line.kind)),
        ),
      );
    });
    return section(t("on-the-plan"), list);
  }

  private notes(): HTMLElement | null {
    if (!this.draft.notes.length) return null;
    return section(t("notes"), h("ul", {}, ...this.draft.notes.map((note) => h("li", {}, note))));
  }

  private tapped(place: Place, features: FeatureLike[]): void {
    if (this.trace.tapped(place)) return;
    const line = features.find((feature) => feature.get("what") === "line");
    const room = features.find((feature) => feature.get("what") === "room");
    const hit = line ?? room;
    this.choose(
      hit ? { what: hit.get("what") as Chosen["what"], index: hit.get("index") as number } : null,
    );
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
    view.layer("chosen", [feature], chosenStyle, 90);
    const features = new Collection([feature]);
    if (feature.getGeometry() instanceof Point) {
      const move = new Translate({ features, hitTolerance: 16 });
      move.on("translateend", () => this.moved(feature));
      view.use(move);
      return;
    }
    const modify = new Modify({ features, pixelTolerance: 16 });
    modify.on("modifyend", () => this.moved(feature));
    view.use(modify, new Snap({ source: view.rooms, pixelTolerance: 12 }));
  }

  private moved(feature: Feature<Geometry>): void {
    const chosen = this.chosen;
    if (!chosen) return;
    const geometry = feature.getGeometry()!;
    if (chosen.what === "room" && geometry instanceof Polygon) {
      const rings = geometry.getCoordinates().map((ring) => open(ring).map(round));
      const bad = rings.map(crossingWalls).find(Boolean);
      if (bad) {
        this.draw();
        void dialog(
          t("not-moved"),
          [h("p", {}, t("walls-cross", { one: bad[0], other: bad[1] }))],
          [],
        );
        return;
      }
      const room = this.draft.plan.rooms[chosen.index]!;
      this.replaceRoom(chosen.index, { ...room, rings });
      return;
    }
    const line = this.draft.plan.lines[chosen.index]!;
    const places =
      geometry instanceof Point
        ? [geometry.getCoordinates()]
        : geometry instanceof LineString
          ? geometry.getCoordinates()
          : open((geometry as Polygon).getCoordinates()[0]!);
    this.replaceLine(chosen.index, {
      ...line,
      places: places.map((place) => round(place as Place)),
    });
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

  private begin(
    title: string,
    shape: "point" | "line" | "area",
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
      (ring) => (area(ring) < 0.05 ? t("too-small") : null),
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
      () => null,
      (places) => {
        const { rooms, lines } = this.draft.plan;
        this.chosen = { what: "line", index: lines.length };
        this.draft.change({ rooms, lines: [...lines, { kind, name: "", shape, places }] });
      },
    );
  }
}
