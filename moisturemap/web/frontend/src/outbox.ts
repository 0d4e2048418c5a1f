// Writes that must not be lost: kept on this device, sent in order, each with its own key, so that
// a repeated send is stored once.

import { ask, Refused, Unreachable, type Ask } from "./api";
import { forgetFile, formOf, keepFile, keptFile } from "./file_store";
import { forget, keep, kept, keptNames, newKey } from "./keep";
import { t } from "./strings";

interface Parcel {
  path: string;
  method: string;
  body: unknown;
  key: string;
  what: string;
  refused?: string;
  /** The body is said of a file, which is kept under the key. */
  withFile?: boolean;
}

type Watcher = (waiting: number, refused: string[]) => void;

const watchers: Watcher[] = [];
const waiters = new Map<string, (answer: unknown) => void>();
let sending = false;
let posted = 0;
let pause = 1000;

export function watchOutbox(watcher: Watcher): void {
  watchers.push(watcher);
  tell();
}

function parcels(): [string, Parcel][] {
  return keptNames("outbox:").flatMap((name) => {
    const parcel = kept<Parcel>(name);
    return parcel ? [[name, parcel] as [string, Parcel]] : [];
  });
}

function tell(): void {
  const all = parcels().map(([, parcel]) => parcel);
  const refused = all.flatMap((parcel) =>
    parcel.refused ? [`${parcel.what}: ${parcel.refused}`] : [],
  );
  for (const watcher of watchers) watcher(all.length, refused);
}

/** Keeps the order of what is typed within one thousandth of a second. */
function turn(): string {
  posted += 1;
  return posted.toString(36).padStart(5, "0");
}

/** Keep a write and send it as soon as possible; resolves with the program's answer. */
export function post<T>(
  path: string,
  body: unknown,
  what: string,
  method = "POST",
  key = newKey(),
  withFile = false,
): Promise<T> {
  const name = `outbox:${Date.now().toString(36).padStart(9, "0")}-${turn()}-${key}`;
  keep(name, { path, method, body, key, what, withFile } satisfies Parcel);
  const answer = new Promise<T>((resolve) =>
    waiters.set(name, resolve as (answer: unknown) => void),
  );
  tell();
  void flush();
  return answer;
}

/**
 * Send a file with what is said of it. While the program is away it is kept on this device and
 * sent when it is back; `arrived` is told either way. What is refused at once is thrown.
 */
export async function postFile<T>(
  path: string,
  fields: Record<string, string>,
  [file, key]: [File, string],
  arrived: (answer: T) => void,
): Promise<"sent" | "kept"> {
  try {
    arrived(await ask<T>(path, { form: formOf(file, fields), key }));
    return "sent";
  } catch (error) {
    if (!(error instanceof Unreachable)) throw error;
    // where this device keeps nothing, the form stays open with the file
    await keepFile(key, file).catch(() => Promise.reject(error));
    void post<T>(path, fields, file.name, "POST", key, true).then(arrived);
    return "kept";
  }
}

/** What is sent of a parcel. */
async function contents({ body, key, withFile }: Parcel): Promise<Ask> {
  if (!withFile) return { body };
  const file = await keptFile(key);
  if (!file) throw new Error(t("file-gone"));
  return { form: formOf(file, body as Record<string, string>) };
}

/** A parcel that arrived, or is given up. */
function done(name: string, { withFile, key }: Parcel): void {
  forget(name);
  if (withFile) void forgetFile(key);
}

/** Send everything that waits, oldest first. Tabs take turns through a lock where there is one. */
export async function flush(): Promise<void> {
  if (sending) return;
  sending = true;
  try {
    if ("locks" in navigator && navigator.locks)
      await navigator.locks.request("moisturemap-outbox", sendAll);
    else await sendAll();
  } finally {
    sending = false;
  }
}

/** Send until nothing is left, also what is added meanwhile. */
async function sendAll(): Promise<void> {
  for (let next = oldest(); next; next = oldest()) {
    if (!(await send(...next))) return;
    tell();
  }
}

function oldest(): [string, Parcel] | undefined {
  return parcels().find(([, parcel]) => !parcel.refused);
}

/** Send one parcel; false when the program cannot take it now and it is tried again later. */
async function send(name: string, parcel: Parcel): Promise<boolean> {
  try {
    const { path, method, key } = parcel;
    const answer = await ask(path, { method, key, ...(await contents(parcel)) });
    done(name, parcel);
    waiters.get(name)?.(answer);
    waiters.delete(name);
    pause = 1000;
  } catch (error) {
    if (
      error instanceof Unreachable ||
      (error instanceof Refused && (error.status >= 500 || error.status === 403))
    ) {
      setTimeout(() => void flush(), pause);
      pause = Math.min(pause * 1.6, 8000);
      tell();
      return false;
    }
    keep(name, { ...parcel, refused: error instanceof Error ? error.message : String(error) });
  }
  return true;
}

/** Resolves when nothing waits any more, or after a while when the program cannot be reached. */
export async function drained(most = 20_000): Promise<void> {
  const end = Date.now() + most;
  while (parcels().some(([, parcel]) => !parcel.refused) && Date.now() < end && pause === 1000) {
    await new Promise((resolve) => setTimeout(resolve, 120));
  }
}

export function waiting(): { name: string; what: string; refused?: string; body: unknown }[] {
  return parcels().map(([name, { what, refused, body }]) => ({ name, what, refused, body }));
}

export function discard(name: string): void {
  const parcel = kept<Parcel>(name);
  if (parcel) done(name, parcel);
  tell();
}

export function retry(name: string): void {
  const parcel = kept<Parcel>(name);
  if (!parcel) return;
  delete parcel.refused;
  keep(name, parcel);
  tell();
  void flush();
}
