// Who works on this device: goes into the record of changes.

import { dialog } from "./dialog";
import { field } from "./dom";
import { keep, kept } from "./keep";
import { t } from "./strings";

/** The name on this device; set it by giving one. */
export function who(name?: string): string {
  if (name !== undefined && name.trim()) keep("who", name.trim());
  return kept<string>("who") ?? "";
}

/** The name, asked for once when there is none yet; null when it was not given. */
export async function askWho(): Promise<string | null> {
  if (who()) return who();
  const name = field(t("your-name"), { hint: t("your-name-hint"), more: { maxlength: 80 } });
  const pressed = await dialog(t("who-works"), [name.row], [["ok", t("go-on"), "main"]], {
    accept: () => (name.input.value.trim() ? null : t("name-needed")),
    about: null,
  });
  return pressed ? who(name.input.value) : null;
}
