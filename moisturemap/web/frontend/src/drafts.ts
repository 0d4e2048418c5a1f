// What was typed into a form or drawn and is not stored yet: kept on this device until it is stored
// or given up, through a reload and through other tasks.

import { forget, keep, kept, keptNames } from "./keep";

export interface Draft<V = unknown> {
  /** Which form, in words. */
  what: string;
  /** Where it is filled in. */
  at: string;
  values: V;
}

type Watcher = () => void;
const watchers: Watcher[] = [];
const STEM = "draft:";

export function watchDrafts(watcher: Watcher): void {
  watchers.push(watcher);
}

function tell(): void {
  for (const watcher of watchers) watcher();
}

/** The job that is open, as it stands in the address; "" on the first page. */
function job(): string {
  return location.hash.split("/")[1] ?? "";
}

/** Under which name a form of the open job is kept. */
export function draftName(form: string): string {
  return `${STEM}${job()}:${form}`;
}

export function keepDraft(name: string, what: string, values: unknown): void {
  keep(name, { what, at: location.hash, values } satisfies Draft);
  tell();
}

export function keptDraft<V>(name: string): V | null {
  return kept<Draft<V>>(name)?.values ?? null;
}

export function dropDraft(name: string): void {
  if (kept(name) === null) return;
  forget(name);
  tell();
}

/** The drafts of the open job. */
export function drafts(): [name: string, draft: Draft][] {
  return keptNames(`${STEM}${job()}:`).flatMap((name) => {
    const draft = kept<Draft>(name);
    return draft ? [[name, draft] as [string, Draft]] : [];
  });
}

type Control = HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement;

/** What can be typed or chosen in a form, by label; ticks are given anew each time. */
function controls(form: HTMLElement): Map<string, Control> {
  const found = new Map<string, Control>();
  for (const one of form.querySelectorAll<Control>("input,select,textarea")) {
    if (["file", "checkbox", "radio"].includes(one.type) || one.disabled) continue;
    const label = one.labels?.[0]?.textContent ?? one.getAttribute("aria-label") ?? "";
    let name = label;
    for (let again = 2; found.has(name); again += 1) name = `${label} ${again}`;
    found.set(name, one);
  }
  return found;
}

/**
 * Keep what is changed in a form from now on, and put back what was kept of it before. Returns
 * whether there was something; what does not differ from the form as it opened is not kept.
 */
export function draftedForm(form: HTMLElement, name: string, what: string): boolean {
  const before = new Map([...controls(form)].map(([label, one]) => [label, one.value]));
  const values = keptDraft<Record<string, string>>(name);
  for (const [label, value] of Object.entries(values ?? {})) {
    const one = controls(form).get(label);
    if (!one || one.value === value) continue;
    one.value = value;
    for (const kind of ["input", "change"]) one.dispatchEvent(new Event(kind, { bubbles: true }));
  }
  const look = (): void => {
    const now = [...controls(form)].map(([label, one]) => [label, one.value] as const);
    const changed = now.filter(([label, value]) => before.get(label) !== value);
    if (changed.length) keepDraft(name, what, Object.fromEntries(changed));
    else dropDraft(name);
  };
  form.addEventListener("input", look);
  form.addEventListener("change", look);
  return values !== null;
}
