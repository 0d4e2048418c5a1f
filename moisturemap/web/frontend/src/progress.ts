// What the program is doing while an answer takes long.

import { ask, Unreachable } from "./api";
import { button, h } from "./dom";
import { t } from "./strings";
import type { Context } from "./task";

export class Progress {
  private readonly words = h("p", { role: "status" }, t("one-moment"));
  private readonly bar = h("progress", { max: 1, "aria-label": t("progress") });
  private readonly end = button(t("stop-work"), () => void this.cancel(), "plain");
  readonly element = h("div", {}, this.words, this.bar, this.end);
  private timer = 0;

  constructor(private readonly context: Context) {}

  start(): void {
    this.stop();
    this.timer = setInterval(() => void this.look(), 700);
  }

  stop(): void {
    clearInterval(this.timer);
  }

  /** Stop the computation; the request that waits for it tells that it was. */
  private async cancel(): Promise<void> {
    await ask(this.context.path("cancel"), { method: "POST" });
  }

  private async look(): Promise<void> {
    try {
      const { phrase, fraction } = await ask<{ phrase: string; fraction: number }>(
        this.context.path("progress"),
      );
      if (!phrase) return;
      this.words.textContent = phrase;
      this.bar.value = fraction;
    } catch (error) {
      // what is refused, the request that is waited for tells; a line that dropped may come back
      if (error instanceof Unreachable) this.words.textContent = error.message;
      else this.stop();
    }
  }
}
