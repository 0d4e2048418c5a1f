// A task whose answer did not come: why, and the ways on.

import type { Refused } from "./api";
import { button, h, replace } from "./dom";
import { t, type Key } from "./strings";
import type { Context } from "./task";

export function noAnswer(context: Context, task: Key, why: Refused): void {
  replace(
    context.panel,
    h("h1", {}, t(task)),
    h("p", { class: "refusal", role: "alert" }, why.message),
    button(t("try-again"), () => context.reopen(), "main"),
    button(t("to-readings"), () => context.go("readings")),
  );
}
