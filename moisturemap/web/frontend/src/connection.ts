// Whether the program can be reached and has all that was typed; a tap tells what waits.

import { Agreement } from "./agreement";
import { ask, watchConnection } from "./api";
import { dialog } from "./dialog";
import { button, h, replace } from "./dom";
import { drafts, watchDrafts } from "./drafts";
import { flush, watchOutbox } from "./outbox";
import { showOutbox } from "./outbox_list";
import { t } from "./strings";
import { unsaved, watchUnsaved } from "./unsaved";

/** How often the connection is tried while it is lost [ms]. */
const LISTEN_MS = 2000;

export interface Stand {
  /** Whether the open job can only be looked at. */
  readOnly: boolean;
  reachable: boolean;
  /** What waits on this device to be sent. */
  waiting: number;
  refused: number;
  /** The first of what was typed and cannot be stored. */
  unsaved: string | null;
  /** The first form that was begun. */
  draft: string | null;
}

/** One sentence for how things stand: the worst first; what waits is told beside a lost connection. */
export function standWords({
  readOnly,
  reachable,
  waiting,
  refused,
  unsaved,
  draft,
}: Stand): string {
  const waits = waiting ? t("n-waiting", { n: waiting }) : "";
  if (!reachable) return waits ? `${t("lost")} ${waits}` : t("lost");
  if (readOnly) return t("only-look");
  if (refused) return t("n-refused", { n: refused });
  if (unsaved !== null) return t("not-all-stored", { what: unsaved });
  return waits || (draft === null ? t("all-stored") : t("draft-kept", { what: draft }));
}

/** Said until a task shows itself; it follows the line. */
export function waitingWords(): HTMLElement {
  const words = h("p", { role: "status" }, t("one-moment"));
  watchConnection((reachable) => replace(words, reachable ? t("one-moment") : t("unreachable")));
  return words;
}

/** Told before anything is typed that cannot be stored; true when it is to be looked at again. */
async function onlyLook(): Promise<boolean> {
  const words = h("p", {}, t("only-look-how"));
  const again: [string, string, string][] = [["again", t("look-again"), "main"]];
  return (await dialog(t("only-look"), [words], again, { about: null })) !== null;
}

export class Connection {
  readonly element = button("", () => void showOutbox(), "connection");
  readonly agreement = new Agreement();
  private reachable = true;
  readOnly = false;
  private lookAgain: () => Promise<void> = () => Promise.resolve();
  private waiting = 0;
  private refused: string[] = [];

  start(): void {
    watchConnection((reachable) => {
      this.reachable = reachable;
      this.tell();
      if (reachable) void flush();
    });
    watchOutbox((count, refused) => {
      this.waiting = count;
      this.refused = refused;
      this.tell();
    });
    watchUnsaved(() => this.tell());
    watchDrafts(() => this.tell());
    addEventListener("online", () => {
      this.listen();
      void flush();
    });
    setInterval(() => this.listen(), LISTEN_MS);
  }

  /** Take whether the job that was opened can only be looked at; the first time it is told. */
  opened(id: string, readOnly: boolean, lookAgain: () => Promise<void>): void {
    this.agreement.opened(id);
    const told = this.readOnly;
    this.readOnly = readOnly;
    this.lookAgain = lookAgain;
    if (!readOnly || told) return;
    void onlyLook().then((again) => {
      if (!again) return;
      this.readOnly = false; // told once more where it still is so
      void lookAgain();
    });
  }

  /** Notice a regained connection, or that a job may be written to by now, while nothing is asked. */
  private listen(): void {
    if (document.visibilityState === "visible" && this.readOnly && this.reachable)
      void this.lookAgain().catch(() => undefined);
    if (document.visibilityState === "visible" && !this.reachable) {
      ask("/api/health").catch(() => undefined);
    }
  }

  tell(): void {
    const stand = {
      readOnly: this.readOnly,
      reachable: this.reachable,
      waiting: this.waiting,
      refused: this.refused.length,
      unsaved: unsaved()[0]?.[0] ?? null,
      draft: drafts()[0]?.[1].what ?? null,
    };
    const bad = stand.readOnly || !stand.reachable || stand.refused > 0 || stand.unsaved !== null;
    this.element.textContent = standWords(stand);
    this.element.classList.toggle("lost", bad);
  }
}
