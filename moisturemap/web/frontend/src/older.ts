// Whether an answer is of the record as it is, said where it is not.

import { ask } from "./api";
import { button, h } from "./dom";
import { t } from "./strings";
import type { Context } from "./task";

/** While others write on, an answer may be of fewer entries than there are: it says so. */
export async function olderNote(context: Context, record: number): Promise<HTMLElement | null> {
  const { record: head } = await ask<{ record: number }>(context.path("head"), { patient: true });
  if (record >= head) return null;
  return h(
    "div",
    { class: "caution", role: "status" },
    h("p", {}, t("older-record", { n: record })),
    button(t("load-again"), () => context.reopen()),
  );
}
