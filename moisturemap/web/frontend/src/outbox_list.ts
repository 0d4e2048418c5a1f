// What waits to be stored, and what was refused: shown on request, to try again or to drop.

import { dialog } from "./dialog";
import { button, h } from "./dom";
import { drafts, dropDraft } from "./drafts";
import { discard, retry, waiting } from "./outbox";
import { t } from "./strings";
import { unsaved } from "./unsaved";

export async function showOutbox(): Promise<void> {
  const list = h("ul", { class: "list" });
  for (const item of waiting()) {
    const again = item.refused ? button(t("try-again"), () => retry(item.name)) : null;
    const drop = item.refused
      ? button(
          t("discard"),
          () => {
            discard(item.name);
            row.remove();
          },
          "danger",
        )
      : null;
    const row = h(
      "li",
      {},
      h("div", {}, item.what, item.refused ? h("p", { class: "bad" }, item.refused) : null),
      again,
      drop,
    );
    list.append(row);
  }
  for (const [what, why] of unsaved())
    list.append(h("li", {}, h("div", {}, what, h("p", { class: "bad" }, why))));
  for (const [name, { what, at }] of drafts()) {
    const row = h(
      "li",
      {},
      h("div", {}, t("draft-kept", { what })),
      h("a", { class: "button", href: at }, t("open-draft")),
      button(
        t("discard"),
        () => {
          dropDraft(name);
          row.remove();
        },
        "danger",
      ),
    );
    list.append(row);
  }
  await dialog(
    t("connection"),
    [h("p", {}, list.childElementCount ? t("waiting-list") : t("all-stored-long")), list],
    [],
  );
}
