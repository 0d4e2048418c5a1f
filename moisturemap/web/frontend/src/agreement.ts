// Whether the data of a job agree with its sealed record: told on opening, and kept in sight.

import { ask } from "./api";
import { dialog } from "./dialog";
import { button, h, replace } from "./dom";
import { t } from "./strings";

/** So many are listed; `check` tells them all. */
const LISTED = 20;

export class Agreement {
  readonly element = h("span");
  private job = "";

  /** Look at another job that was opened; nobody waits for it. */
  opened(id: string): void {
    if (this.job === id) return;
    this.job = id;
    replace(this.element);
    const address = `/api/projects/${encodeURIComponent(id)}/faults`;
    void ask<{ faults: string[] }>(address, { patient: true }).then(({ faults }) => {
      if (this.job !== id || !faults.length) return;
      replace(
        this.element,
        button(t("not-as-recorded"), () => void told(faults), "connection lost"),
      );
      void told(faults);
    });
  }
}

async function told(faults: string[]): Promise<void> {
  const more = faults.length - LISTED;
  const content = [
    h("p", { class: "refusal" }, t("not-as-recorded-how")),
    h("ul", {}, ...faults.slice(0, LISTED).map((one) => h("li", {}, one))),
    more > 0 ? h("p", {}, t("and-more", { n: more })) : h("p"),
  ];
  await dialog(t("not-as-recorded"), content, [], { about: null });
}
