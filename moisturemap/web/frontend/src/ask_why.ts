// Why something stored is changed: asked for, and kept in the record of changes.

import { dialog } from "./dialog";
import { field, h } from "./dom";
import { t } from "./strings";

/** The reason, or null when it was not given. */
export async function askWhy(title: string, about: string): Promise<string | null> {
  const why = field(t("why"), { hint: t("why-hint"), more: { maxlength: 200 } });
  const content = [h("p", {}, t("kept-in-record")), why.row];
  const pressed = await dialog(title, content, [["ok", t("go-on"), "main"]], {
    accept: () => (why.input.value.trim() ? null : t("why-needed")),
    about,
  });
  return pressed ? why.input.value.trim() : null;
}
