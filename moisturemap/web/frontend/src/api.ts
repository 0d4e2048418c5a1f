// Requests to the program on this computer.

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

type Watcher = (reachable: boolean) => void;
const watchers: Watcher[] = [];
let reachable = true;

export function watchConnection(watcher: Watcher): void {
  watchers.push(watcher);
}

function setReachable(now: boolean): void {
  if (now === reachable) return;
  reachable = now;
  for (const watcher of watchers) watcher(now);
}

export interface Ask {
  method?: string;
  body?: unknown;
  form?: FormData;
  key?: string;
  signal?: AbortSignal;
}

async function send(path: string, ask: Ask): Promise<Response> {
  const headers: Record<string, string> = {};
  if (ask.key) headers["Idempotency-Key"] = ask.key;
  let body: BodyInit | undefined;
  if (ask.form) body = ask.form;
  else if (ask.body !== undefined) {
    headers["Content-Type"] = "application/json";
    body = JSON.stringify(ask.body);
  }
  const method = ask.method ?? (body === undefined ? "GET" : "POST");
  let answer: Response;
  try {
    answer = await fetch(path, {
      method,
      headers,
      body,
      signal: ask.signal,
      credentials: "same-origin",
    });
  } catch (cause) {
    if (ask.signal?.aborted) throw cause;
    setReachable(false);
    throw new Unreachable();
  }
  setReachable(true);
  if (!answer.ok) throw await refusal(answer);
  return answer;
}

async function refusal(answer: Response): Promise<Refused> {
  let detail: Record<string, unknown> = {};
  try {
    detail = (await answer.json()) as Record<string, unknown>;
  } catch {
    // Not from our own handlers; the status says enough.
  }
  const message =
    typeof detail.message === "string" ? detail.message : t("failed", { status: answer.status });
  return new Refused(message, answer.status, detail);
}

export async function ask<T>(path: string, options: Ask = {}): Promise<T> {
  const answer = await send(path, options);
  return (answer.status === 204 ? undefined : await answer.json()) as T;
}

export async function askFile(
  path: string,
  options: Ask = {},
): Promise<{ blob: Blob; name: string }> {
  const answer = await send(path, options);
  const disposition = answer.headers.get("Content-Disposition") ?? "";
  const name = /filename="([^"]+)"/.exec(disposition)?.[1] ?? "moisturemap";
  return { blob: await answer.blob(), name };
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
      if (controller.signal.aborted) return null;
      throw error;
    }
  }

  drop(): void {
    this.controller?.abort();
  }
}
