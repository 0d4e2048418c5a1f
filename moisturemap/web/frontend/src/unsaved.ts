// What is not stored yet and not in the outbox either, such as a plan that was refused.

type Watcher = () => void;

const reasons = new Map<string, string>();
const watchers: Watcher[] = [];

export function watchUnsaved(watcher: Watcher): void {
  watchers.push(watcher);
}

/** Say why something is not stored; null when it is. */
export function tellUnsaved(what: string, why: string | null): void {
  if (why === null) reasons.delete(what);
  else reasons.set(what, why);
  for (const watcher of watchers) watcher();
}

export function unsaved(): [what: string, why: string][] {
  return [...reasons];
}
