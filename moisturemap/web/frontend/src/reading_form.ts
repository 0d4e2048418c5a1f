// The form that corrects a stored reading or sets it aside.

import { ask, Refused, Unreachable } from "./api";
import { dialog } from "./dialog";
import { field, h, section } from "./dom";
import { newKey } from "./keep";
import { bothWays, mayBeThousand } from "./lengths";
import { post } from "./outbox";
import { photoBox } from "./photos";
import type { ReadingRow } from "./reading_row";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

/**
 * Correct a stored reading or set it aside, with the reason; false where nothing was sent. It is
 * of the value shown here: refused, and told in the form, where another stands there by now.
 */
export async function correctReading(context: Context, row: ReadingRow): Promise<boolean> {
  const name = await askWho();
  if (!name) return false;
  const value = field(t("value"), {
    value: row.raw || String(row.value ?? ""),
    inputmode: "decimal",
  });
  const why = field(t("why"), { hint: t("why-hint"), more: { maxlength: 200 } });
  const accept = (pressed: string): string | null => {
    const typed = value.input.value;
    if (pressed === "correct" && mayBeThousand(typed))
      return t("thousand-or-decimal", bothWays(typed));
    return why.input.value.trim() ? null : t("why-needed");
  };
  const title = t("correct-reading", { label: row.label || row.reading, room: row.room });
  const actions: [string, string, string?][] = [
    ["correct", t("correct"), "main"],
    ["remove", t("set-aside"), "danger"],
  ];
  const path = context.path(`readings/${row.reading}`);
  const what = t("correction-of", { label: row.label || row.reading });
  const key = newKey();
  let [refused, later] = [false, null as Promise<unknown> | null];
  const send = async (pressed: string): Promise<void> => {
    const method = pressed === "correct" ? "PATCH" : "DELETE";
    const [raw, reason] = [value.input.value.trim(), why.input.value.trim()];
    const body = { raw, seen: row.raw.trim(), why: reason, who: name };
    try {
      await ask(path, { method, body, key });
    } catch (error) {
      refused = error instanceof Refused;
      if (!(error instanceof Unreachable)) throw error;
      later = post(path, body, what, method, key); // kept here until the program is back
    }
  };
  const options = { accept, send, about: `${row.reading}` };
  const content = [
    h("p", {}, t("kept-in-record")),
    value.row,
    why.row,
    section(
      t("photos"),
      photoBox(context, { layer: "readings", row: String(row.reading), note: title }),
    ),
  ];
  const pressed = await dialog(title, content, actions, options);
  await later;
  return pressed !== null || refused;
}
