// The form that corrects a stored reading or sets it aside.

import { dialog } from "./dialog";
import { field, h, section } from "./dom";
import { bothWays, mayBeThousand } from "./lengths";
import { post } from "./outbox";
import { photoBox } from "./photos";
import type { ReadingRow } from "./reading_row";
import { t } from "./strings";
import type { Context } from "./task";
import { askWho } from "./who";

/** Correct a stored reading or set it aside, with the reason; whether it was. */
export async function correctReading(context: Context, row: ReadingRow): Promise<boolean> {
  const name = await askWho();
  if (!name) return false;
  const value = field(t("value"), {
    value: row.raw || String(row.value ?? ""),
    inputmode: "decimal",
  });
  const why = field(t("why"), { hint: t("why-hint"), more: { maxlength: 200 } });
  const against = (pressed: string): string | null => {
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
  const pressed = await dialog(
    title,
    [
      h("p", {}, t("kept-in-record")),
      value.row,
      why.row,
      section(
        t("photos"),
        photoBox(context, { layer: "readings", row: String(row.reading), note: title }),
      ),
    ],
    actions,
    { accept: against, about: `${row.reading}` },
  );
  if (!pressed) return false;
  const body = { raw: value.input.value.trim(), why: why.input.value.trim(), who: name };
  const path = context.path(`readings/${row.reading}`);
  await post(
    path,
    body,
    t("correction-of", { label: row.label || row.reading }),
    pressed === "correct" ? "PATCH" : "DELETE",
  );
  return true;
}
