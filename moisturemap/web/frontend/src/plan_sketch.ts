// A room, hole or line being drawn on the plan; kept on this device until it is done.

import { boundingExtent } from "ol/extent";

import { button, replace } from "./dom";
import { DrawTool, type Sketch } from "./draw_tool";
import { draftName, dropDraft, keptDraft } from "./drafts";
import { area, inside, type Place } from "./geometry";
import { freeName, LEAST_M2, withRoom } from "./plan_changes";
import type { Chosen } from "./chosen";
import type { PlanDraft } from "./plan_draft";
import { NEW_SLAB, shapeOf, type LineShape } from "./plan_types";
import { t, word } from "./strings";
import type { Context } from "./task";

/** Form name of a drawing that was begun, and what is drawn. */
const SKETCH = "sketch";
interface Sketched {
  of: "room" | "hole" | "line";
  room?: string;
  kind?: string;
}

export class PlanSketch {
  private tool: DrawTool | null = null;

  constructor(
    private readonly context: Context,
    private readonly draft: PlanDraft,
    /** Choose what was drawn before it comes into the plan; nothing while it is drawn. */
    private readonly choose: (chosen: Chosen | null) => void,
    /** Nothing was drawn. */
    private readonly givenUp: () => void,
  ) {}

  get busy(): boolean {
    return this.tool !== null;
  }

  back(): void {
    this.tool?.back();
  }

  cancel(): void {
    this.tool?.cancel();
  }

  /** Go on with a drawing that was begun before a reload or another task, with it and the floor in sight. */
  resume(): void {
    const begun = keptDraft<Sketched & Partial<Sketch>>(draftName(SKETCH));
    if (!begun) return;
    this.goOn(begun);
    if (begun.corners?.length) this.context.view.fit(boundingExtent(begun.corners));
  }

  private goOn(begun: Sketched): void {
    if (begun.of === "room") return this.room();
    if (begun.of === "line") return this.line(begun.kind!);
    const index = this.draft.plan.rooms.findIndex((one) => one.name === begun.room);
    if (index < 0) return dropDraft(draftName(SKETCH));
    this.hole(index);
  }

  private begin(
    title: string,
    shape: LineShape,
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
        else this.givenUp();
      },
    });
    replace(
      view.tools,
      button(t("undo-corner"), () => this.back()),
    );
    replace(panel, this.tool.element);
  }

  room(): void {
    this.choose(null);
    this.begin(
      t("draw-room"),
      "area",
      { of: "room" },
      (ring) => (area(ring) < LEAST_M2 ? t("too-small") : null),
      (ring) => {
        const { plan } = this.draft;
        const name = freeName(plan.rooms, (number) => t("room-number", { number }));
        const slab = plan.rooms.at(-1)?.slab ?? NEW_SLAB;
        this.choose({ what: "room", index: plan.rooms.length });
        this.draft.change({ ...plan, rooms: [...plan.rooms, { name, rings: [ring], slab }] });
      },
    );
  }

  /** A hole of a room: what of it is no floor. */
  hole(index: number): void {
    const room = this.draft.plan.rooms[index];
    if (!room) return;
    this.choose({ what: "room", index });
    const outline = room.rings[0]!;
    this.begin(
      t("draw-hole", { room: room.name }),
      "area",
      { of: "hole", room: room.name },
      (ring) =>
        ring.every((place) => inside(outline, place))
          ? null
          : t("hole-outside", { room: room.name }),
      (ring) =>
        this.draft.change(
          withRoom(this.draft.plan, index, { ...room, rings: [...room.rings, ring] }),
        ),
    );
  }

  line(kind: string): void {
    const shape = shapeOf(kind);
    this.choose(null);
    this.begin(
      word("kind", kind),
      shape,
      { of: "line", kind },
      () => null,
      (places) => {
        const { plan } = this.draft;
        this.choose({ what: "line", index: plan.lines.length });
        this.draft.change({ ...plan, lines: [...plan.lines, { kind, name: "", shape, places }] });
      },
    );
  }
}
