// The plan being edited: every change can be undone, is kept on this device at once and sent to
// the program a moment later.

import { ask, Refused, Unreachable } from "./api";
import { announce } from "./dom";
import { forget, keep, kept } from "./keep";
import type { Plan } from "./plan_types";
import { t } from "./strings";
import { tellUnsaved } from "./unsaved";
import { who } from "./who";

interface Answer {
  plan: Plan;
  revision: string;
  notes: string[];
}

interface Kept {
  plan: Plan;
  revision: string;
}

export class PlanDraft {
  plan: Plan = { rooms: [], lines: [] };
  notes: string[] = [];
  complaint = "";
  private revision = "";
  private past: Plan[] = [];
  private future: Plan[] = [];
  private timer = 0;
  private saving = false;
  /** Whether something was stored since this page was opened. */
  stored = false;
  onchange: () => void = () => undefined;
  onstate: () => void = () => undefined;
  state: "saved" | "waiting" | "refused" = "saved";

  constructor(private readonly project: string) {}

  private get path(): string {
    return `/api/projects/${encodeURIComponent(this.project)}/plan`;
  }

  async load(): Promise<void> {
    const draft = kept<Kept>(`plan:${this.project}`);
    try {
      const answer = await ask<Answer>(this.path);
      this.revision = answer.revision;
      this.plan = answer.plan;
      this.notes = answer.notes;
    } catch (error) {
      if (!(error instanceof Unreachable)) throw error;
      if (!draft) throw error;
    }
    if (draft) {
      this.plan = draft.plan;
      this.revision = draft.revision;
      this.later();
    }
    this.onchange();
  }

  get canUndo(): boolean {
    return this.past.length > 0;
  }

  get canRedo(): boolean {
    return this.future.length > 0;
  }

  change(next: Plan): void {
    this.past.push(this.plan);
    this.future = [];
    this.set(next);
  }

  undo(): void {
    const before = this.past.pop();
    if (!before) return;
    this.future.push(this.plan);
    this.set(before);
  }

  redo(): void {
    const after = this.future.pop();
    if (!after) return;
    this.past.push(this.plan);
    this.set(after);
  }

  private set(plan: Plan): void {
    this.plan = plan;
    keep(`plan:${this.project}`, { plan, revision: this.revision } satisfies Kept);
    this.later();
    this.onchange();
  }

  private later(wait = 700): void {
    this.tell("waiting");
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.save(), wait);
  }

  private tell(state: PlanDraft["state"], complaint = ""): void {
    this.state = state;
    this.complaint = complaint;
    tellUnsaved(t("plan"), state === "refused" ? complaint : null);
    this.onstate();
  }

  /** Send the plan now; true when the program has it. */
  async save(): Promise<boolean> {
    clearTimeout(this.timer);
    if (this.saving) {
      this.later(300);
      return false;
    }
    if (this.state === "saved" || this.plan.rooms.length === 0) return this.state === "saved";
    const sent = this.plan;
    this.saving = true;
    try {
      const answer = await ask<Answer>(this.path, {
        method: "PUT",
        body: { plan: sent, revision: this.revision, who: who() || t("nobody-named") },
      });
      this.revision = answer.revision;
      this.notes = answer.notes;
      this.stored = true;
      if (this.plan === sent) {
        forget(`plan:${this.project}`);
        this.tell("saved");
        return true;
      }
      this.later(100);
    } catch (error) {
      if (error instanceof Refused && error.status === 409) await this.meetOther(error);
      else if (error instanceof Refused && error.status < 500) {
        this.tell("refused", error.message);
        announce(t("not-stored", { why: error.message }), "bad");
      } else if (error instanceof Refused || error instanceof Unreachable) this.later(3000);
      else throw error;
    } finally {
      this.saving = false;
    }
    return false;
  }

  /** Someone else changed the plan: take theirs as one more step, so that undo brings ours back. */
  private async meetOther(refusal: Refused): Promise<void> {
    announce(refusal.message, "bad");
    const answer = await ask<Answer>(this.path);
    this.revision = answer.revision;
    this.past.push(this.plan);
    this.plan = answer.plan;
    forget(`plan:${this.project}`);
    this.tell("saved");
    this.onchange();
    announce(t("plan-other"), "bad");
  }
}
