// Requests to the program on this computer.

import type { LengthUnit } from "./lengths";
import { t } from "./strings";

/** The program refused, in words for the user. */
export class Refused extends Error {
  constructor(
    message: string,
    readonly status: number,
    readonly detail: Record<string, unknown> = {},
  ) {
    super(message);
  }
}

/** The program could not be reached. */
export class Unreachable extends Error {
  constructor() {
    super(t("unreachable"));
  }
}

export function isRefusal(reason: unknown): reason is Refused | Unreachable {
  return reason instanceof Refused || reason instanceof Unreachable;
}

/** A task was left, or a question dropped. */
export function isOver(reason: unknown): boolean {
  return reason instanceof DOMException && reason.name === "AbortError";
}

type Watcher = (reachable: boolean) => void;
const watchers = new Set<Watcher>();
let reachable = true;

/** Least time between two attempts at one question [ms]. */
const PAUSE_MS = 300;

export function watchConnection(watcher: Watcher): void {
  watchers.add(watcher);
}

/** Resolves when the program can be reached again, or when the question is dropped. */
export async function lineBack(signal?: AbortSignal): Promise<void> {
  await new Promise((resolve) => setTimeout(resolve, PAUSE_MS));
  if (reachable || signal?.aborted) return;
  await new Promise<void>((resolve) => {
    const end = (): void => {
      watchers.delete(watcher);
      resolve();
    };
    const watcher = (now: boolean): void => (now ? end() : undefined);
    watchers.add(watcher);
    signal?.addEventListener("abort", end, { once: true });
  });
}

function setReachable(now: boolean): void {
  if (now === reachable) return;
  reachable = now;
  for (const watcher of watchers) watcher(now);
}

let measure: LengthUnit = "m";

/** In what the sentences of answers give lengths and areas from now on. */
export function measureIn(unit: LengthUnit): void {
  measure = unit;
}

export interface Ask {
  method?: string;
  body?: unknown;
  form?: FormData;
  key?: string;
  signal?: AbortSignal;
  /** Where the line drops, ask again when it is back; a function is told meanwhile. */
  patient?: boolean | ((why: Unreachable) => void);
}

/** Send and read what comes back as a whole; a line that drops half way has brought nothing. */
async function send<B extends string | Blob>(
  path: string,
  ask: Ask,
  read: (answer: Response) => Promise<B>,
): Promise<{ body: B; answer: Response }> {
  for (;;) {
    try {
      return await sendOnce(path, ask, read);
    } catch (error) {
      if (!ask.patient || !(error instanceof Unreachable)) throw error;
      if (typeof ask.patient === "function" && !ask.signal?.aborted) ask.patient(error);
      await lineBack(ask.signal);
    }
  }
}

async function sendOnce<B extends string | Blob>(
  path: string,
  ask: Ask,
  read: (answer: Response) => Promise<B>,
): Promise<{ body: B; answer: Response }> {
  const headers: Record<string, string> = measure === "ft" ? { Prefer: "units=us" } : {};
  if (ask.key) headers["Idempotency-Key"] = ask.key;
  let body: BodyInit | undefined;
  if (ask.form) body = ask.form;
  else if (ask.body !== undefined) {
    headers["Content-Type"] = "application/json";
    body = JSON.stringify(ask.body);
  }
  const method = ask.method ?? (body === undefined ? "GET" : "POST");
  let answer: Response;
  let came: B;
  try {
    answer = await fetch(path, {
      method,
      headers,
      body,
      signal: ask.signal,
      credentials: "same-origin",
    });
    came = await read(answer);
  } catch (cause) {
    if (ask.signal?.aborted) throw cause;
    setReachable(false);
    throw new Unreachable();
  }
  setReachable(true);
  if (!answer.ok) throw refusal(answer.status, typeof came === "string" ? came : await came.text());
  return { body: came, answer };
}

function refusal(status: number, text: string): Refused {
  let detail: Record<string, unknown> = {};
  try {
    detail = JSON.parse(text) as Record<string, unknown>;
  } catch {
    // Not from our own handlers; the status says enough.
  }
  const message = typeof detail.message === "string" ? detail.message : t("failed", { status });
  return new Refused(message, status, detail);
}

export async function ask<T>(path: string, options: Ask = {}): Promise<T> {
  const { body, answer } = await send(path, options, (one) => one.text());
  return (answer.status === 204 ? undefined : JSON.parse(body)) as T;
}

export async function askFile(
  path: string,
  options: Ask = {},
): Promise<{ blob: Blob; name: string }> {
  const { body, answer } = await send(path, options, (one) => one.blob());
  const disposition = answer.headers.get("Content-Disposition") ?? "";
  const name = /filename="([^"]+)"/.exec(disposition)?.[1] ?? "moisturemap";
  return { blob: body, name };
}

/** Hand a file to the browser's downloads. */
export function saveFile(blob: Blob, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** Only the newest answer counts: asking again drops the request before. */
export class Latest {
  private controller: AbortController | null = null;

  async ask<T>(path: string, options: Ask = {}): Promise<T | null> {
    this.controller?.abort();
    const controller = new AbortController();
    this.controller = controller;
    try {
      const answer = await ask<T>(path, { ...options, signal: controller.signal });
      return this.controller === controller ? answer : null;
    } catch (error) {
      if (controller.signal.aborted && !(error instanceof Refused)) return null;
      throw error;
    }
  }

  /** Give the question up; the program computes no further, and whoever asked is told. */
  stop(): void {
    this.controller?.abort(new Refused(t("stopped-work"), 409));
  }

  drop(): void {
    this.controller?.abort();
  }
}
