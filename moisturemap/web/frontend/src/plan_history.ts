// The steps of a plan that can be undone and made again, kept on this device through a reload.

import { forget, keep, kept } from "./keep";

/** Most steps kept, and most room for them in the store of the browser [characters]. */
const STEPS = 60;
const ROOM = 400_000;

interface KeptSteps<S> {
  /** Of the stored plan the steps lead to. */
  revision: string;
  past: S[];
  future: S[];
}

export class PlanHistory<S> {
  private past: S[] = [];
  private future: S[] = [];

  constructor(private readonly name: string) {}

  get canUndo(): boolean {
    return this.past.length > 0;
  }

  get canRedo(): boolean {
    return this.future.length > 0;
  }

  /** Something new is drawn over what was. */
  step(before: S): void {
    this.past.push(before);
    this.future = [];
  }

  /** What was before, undone from what is now; null when there is nothing. */
  undo(now: S): S | null {
    const before = this.past.pop();
    if (before === undefined) return null;
    this.future.push(now);
    return before;
  }

  redo(now: S): S | null {
    const after = this.future.pop();
    if (after === undefined) return null;
    this.past.push(now);
    return after;
  }

  /** Keep the latest steps, as many as there is room for. */
  keep(revision: string): void {
    let past = this.past.slice(-STEPS);
    let future = this.future.slice(-STEPS);
    while (past.length + future.length && JSON.stringify([past, future]).length > ROOM) {
      if (future.length > past.length) future = future.slice(1);
      else past = past.slice(1);
    }
    if (past.length + future.length)
      keep(this.name, { revision, past, future } satisfies KeptSteps<S>);
    else forget(this.name);
  }

  /** Take up the steps that lead to a stored plan; those of another one are dropped. */
  takeUp(revision: string): void {
    const steps = kept<KeptSteps<S>>(this.name);
    if (!steps) return;
    if (steps.revision !== revision) return forget(this.name);
    this.past = steps.past;
    this.future = steps.future;
  }
}
