// The plan being edited, with the picture it is traced over: every change can be undone, is kept on
// this device at once and sent to the program a moment later.

import { ask, Refused, Unreachable } from "./api";
import type { Backdrop } from "./backdrop";
import { announce } from "./announce";
import { carriedBetween, type Beyond, type Carried } from "./carried";
import { forget, keep, kept, newKey } from "./keep";
import { PlanHistory } from "./plan_history";
import type { Plan } from "./plan_types";
import type { WallEnd } from "./shared_walls";
import { t } from "./strings";
import { tellUnsaved } from "./unsaved";
import { who } from "./who";

interface Answer {
  plan: Plan;
  revision: string;
  notes: string[];
}

interface Drawn {
  plan: Plan;
  backdrop: Backdrop | null;
  /** What was moved along with parts of the plan, one after the other. */
  carried?: Carried[];
}

/** A plan on its way to the program. */
interface Sent {
  plan: Plan;
  carried: Carried[];
  moving: Carried[];
  revision: string;
  key: string;
}

interface Kept {
  plan?: Plan;
  backdrop?: Backdrop | null;
  revision: string;
  carried?: Carried[];
  /** What of it the program has. */
  carriedThere?: Carried[];
  /** Of the request that stores the plan with what moves along, so that it is moved once. */
  key?: string;
  unanswered?: Sent;
}

/** Words for a plan that is kept on this device only, since it has no room. */
function withoutRoom(stored: Plan): string {
  return t(stored.rooms.length ? "kept-here-rooms" : "kept-here");
}

export class PlanDraft {
  private now: Drawn = { plan: { rooms: [], lines: [] }, backdrop: null };
  private there: Drawn = this.now;
  notes: string[] = [];
  complaint = "";
  private revision = "";
  private key = newKey();
  /** Sent, and the line dropped before the answer: the program may have it. */
  private unanswered: Sent | undefined;
  private readonly history: PlanHistory<Drawn>;
  private timer = 0;
  private saving = false;
  /** Whether something was stored since this page was opened. */
  stored = false;
  onchange: () => void = () => undefined;
  onstate: () => void = () => undefined;
  state: "saved" | "waiting" | "refused" | "here" = "saved";

  constructor(private readonly project: string) {
    this.history = new PlanHistory(`steps:${project}`);
  }

  get plan(): Plan {
    return this.now.plan;
  }

  get backdrop(): Backdrop | null {
    return this.now.backdrop;
  }

  /** Words for whether the program has all of it. */
  get told(): string {
    if (this.state === "saved") return t("saved");
    if (this.state === "waiting") return t("saving");
    return this.state === "refused" ? t("not-stored", { why: this.complaint }) : this.complaint;
  }

  private path(rest: string): string {
    return `/api/projects/${encodeURIComponent(this.project)}/${rest}`;
  }

  async load(): Promise<void> {
    const draft = kept<Kept>(`plan:${this.project}`);
    try {
      const [answer, { backdrop }] = await Promise.all([
        ask<Answer>(this.path("plan")),
        ask<{ backdrop: Backdrop | null }>(this.path("backdrop")),
      ]);
      this.revision = answer.revision;
      this.notes = answer.notes;
      this.now = this.there = { plan: answer.plan, backdrop };
    } catch (error) {
      if (!(error instanceof Unreachable)) throw error;
      if (!draft) throw error;
    }
    if (draft) {
      const { plan, backdrop } = this.there;
      const { carried, carriedThere } = draft;
      this.there = { ...this.there, carried: carriedThere };
      this.now = { plan: draft.plan ?? plan, backdrop: draft.backdrop ?? backdrop, carried };
      if (draft.backdrop === null) this.now.backdrop = null;
      this.revision = draft.revision;
      this.key = draft.key ?? this.key;
      this.unanswered = draft.unanswered;
      this.later();
    }
    this.history.takeUp(this.revision);
    this.onchange();
  }

  get canUndo(): boolean {
    return this.history.canUndo;
  }

  get canRedo(): boolean {
    return this.history.canRedo;
  }

  /** Take another plan, with what moves along with a part of it. */
  change(plan: Plan, along?: Carried): void {
    const { carried = [] } = this.now;
    this.put({ ...this.now, plan, carried: along ? [...carried, along] : carried });
  }

  changeBackdrop(backdrop: Backdrop | null, plan = this.plan): void {
    this.put({ ...this.now, plan, backdrop });
  }

  private put(next: Drawn): void {
    this.history.step(this.now);
    this.set(next);
  }

  undo(): void {
    const before = this.history.undo(this.now);
    if (before) this.set(before);
  }

  redo(): void {
    const after = this.history.redo(this.now);
    if (after) this.set(after);
  }

  private set(drawn: Drawn): void {
    this.now = drawn;
    this.key = newKey();
    this.keep();
    this.later();
    this.onchange();
  }

  private get drawnAnew(): boolean {
    return this.now.plan !== this.there.plan;
  }

  private get placedAnew(): boolean {
    return this.now.backdrop !== this.there.backdrop;
  }

  /** Keep on this device what the program does not have yet. */
  private keep(): void {
    const mine: Kept = { revision: this.revision };
    if (this.drawnAnew) {
      mine.plan = this.now.plan;
      mine.carried = this.now.carried;
      mine.carriedThere = this.there.carried;
      mine.key = this.key;
      mine.unanswered = this.unanswered;
    }
    if (this.placedAnew) mine.backdrop = this.now.backdrop;
    if (this.drawnAnew || this.placedAnew) keep(`plan:${this.project}`, mine);
    else forget(`plan:${this.project}`);
    this.history.keep(this.revision);
  }

  private later(wait = 700): void {
    this.tell("waiting");
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.save(), wait);
  }

  private tell(state: PlanDraft["state"], complaint = ""): void {
    this.state = state;
    this.complaint = complaint;
    tellUnsaved(t("plan"), complaint || null);
    this.onstate();
  }

  /** Send what is new now; true when the program has all of it. */
  async save(): Promise<boolean> {
    clearTimeout(this.timer);
    if (this.saving) {
      this.later(300);
      return false;
    }
    if (this.state === "saved") return true;
    this.saving = true;
    try {
      if (this.placedAnew) await this.sendBackdrop();
      const roomless = this.drawnAnew && this.plan.rooms.length === 0;
      if (this.drawnAnew && !roomless) await this.sendPlan();
      this.keep();
      if (roomless) this.tell("here", withoutRoom(this.there.plan));
      else if (this.drawnAnew || this.placedAnew) this.later(100);
      else this.tell("saved");
    } catch (error) {
      if (error instanceof Refused && error.status < 500) this.unanswered = undefined;
      if (error instanceof Refused && error.status === 409) await this.meetOther(error);
      else if (error instanceof Refused && error.status < 500) {
        this.tell("refused", error.message);
        announce(t("not-stored", { why: error.message }), "bad");
      } else if (error instanceof Refused || error instanceof Unreachable) this.later(3000);
      else throw error;
    } finally {
      this.saving = false;
    }
    return (this.state as string) === "saved";
  }

  /** What is placed beyond the end of a wall of the plan as it is; null where it cannot be asked. */
  async beyond(end: WallEnd): Promise<Beyond | null> {
    try {
      const stored = await this.save();
      return stored
        ? await ask<Beyond>(this.path("plan/beyond"), { method: "POST", body: end })
        : null;
    } catch (error) {
      if (error instanceof Unreachable) return null;
      throw error;
    }
  }

  private async sendBackdrop(): Promise<void> {
    const { backdrop } = this.now;
    const body = { backdrop, who: who() || t("nobody-named") };
    await ask(this.path("backdrop"), { method: "PUT", body });
    this.there = { ...this.there, backdrop };
  }

  /** Send the plan; one before it whose answer never came goes first, as the same request again. */
  private async sendPlan(): Promise<void> {
    const before = this.unanswered;
    if (before && before.key !== this.key) await this.send(before);
    const { plan, carried = [] } = this.now;
    const moving = carriedBetween(this.there.carried ?? [], carried);
    await this.send({ plan, carried, moving, revision: this.revision, key: this.key });
  }

  private async send(sent: Sent): Promise<void> {
    const { plan, carried, moving, revision, key } = sent;
    this.unanswered = sent;
    this.keep();
    const answer = await ask<Answer>(this.path("plan"), {
      method: "PUT",
      body: { plan, revision, who: who() || t("nobody-named"), carried: moving },
      key,
    });
    this.unanswered = undefined;
    this.revision = answer.revision;
    this.notes = answer.notes;
    this.stored = true;
    this.there = { ...this.there, plan, carried };
  }

  /** Someone else changed the plan: take theirs as one more step, so that undo brings ours back. */
  private async meetOther(refusal: Refused): Promise<void> {
    announce(refusal.message, "bad");
    const answer = await ask<Answer>(this.path("plan"));
    this.revision = answer.revision;
    this.history.step(this.now);
    this.now = { ...this.now, plan: answer.plan, carried: this.there.carried };
    this.there = { ...this.there, plan: answer.plan };
    this.keep();
    this.tell("saved");
    this.onchange();
    announce(t("plan-other"), "bad");
  }
}
