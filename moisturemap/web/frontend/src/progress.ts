// What the program is doing while an answer takes long.

import { ask, type Latest, Unreachable } from "./api";
import { button, h } from "./dom";
import { t } from "./strings";
import type { Context } from "./task";

export class Progress {
  private readonly words = h("p", { role: "status" }, t("one-moment"));
  private readonly bar = h("progress", { max: 1, "aria-label": t("progress") });
  private readonly end = button(t("stop-work"), () => this.question.stop(), "plain");
  readonly element = h("div", {}, this.words, this.bar, this.end);

  constructor(
    private readonly context: Context,
    /** What is waited for; whoever asked it is told where it is stopped. */
    private readonly question: Latest,
  ) {}

  /** Tell how far it is until the answer is there, or there will be none. */
  async during<T>(answer: Promise<T>): Promise<T> {
    this.words.textContent = t("one-moment");
    this.bar.removeAttribute("value");
    const timer = setInterval(() => void this.look(), 700);
    try {
      return await answer;
    } finally {
      clearInterval(timer);
    }
  }

  private async look(): Promise<void> {
    try {
      const { phrase, fraction } = await ask<{ phrase: string; fraction: number }>(
        this.context.path("progress"),
      );
      if (!phrase) return;
      // one part is done, the next is not begun or the answer on its way: nothing is done yet
      const between = fraction >= 1;
      this.words.textContent = between ? t("one-moment") : phrase;
      if (between) this.bar.removeAttribute("value");
      else this.bar.value = fraction;
    } catch (error) {
      // what is refused, the request that is waited for tells; a line that dropped may come back
      if (error instanceof Unreachable) this.words.textContent = error.message;
    }
  }
}
