// Limits the calibrated tests are judged against, and the documents that set them.

import { ask } from "./api";
import { dialog } from "./dialog";
import { button, field, h, replace, section, select } from "./dom";
import { aboutResult, settled } from "./doubts";
import { askAbout, firstWrong } from "./field_checks";
import { newKey } from "./keep";
import { readNumber } from "./lengths";
import { recorded } from "./numbers";
import { t, unitWord } from "./strings";
import type { Context } from "./task";
import { against } from "./test_fields";
import { methodOf, type Limit, type Method } from "./test_types";
import { askWho } from "./who";

export function limitSection(
  context: Context,
  methods: Method[],
  limits: Limit[],
  changed: () => Promise<void>,
): HTMLElement {
  const list = h("ul", { class: "list tall" });
  for (const limit of limits) {
    const words = t("limit-is", {
      where: limit.room || t("whole-floor"),
      value: recorded(limit.value),
      unit: unitWord(limit.unit),
      method: methodOf(methods, limit.method)?.label ?? limit.method,
      source: limit.source,
    });
    list.append(h("li", {}, h("span", {}, words)));
  }
  const set = async (): Promise<void> => {
    if (await setLimit(context, methods)) await changed();
  };
  return section(
    t("limits"),
    h("p", { class: "words" }, t("limits-how")),
    list,
    button(t("set-limit"), () => void set()),
  );
}

async function setLimit(context: Context, methods: Method[]): Promise<boolean> {
  const name = await askWho();
  if (!name) return false;
  let method = methods[0]!;
  let room = "";
  const value = field(t("limit-value"), { inputmode: "decimal", unit: method.units[0] ?? " " });
  const unit = value.row.querySelector<HTMLElement>(".unit")!;
  const source = field(t("limit-source"), {
    hint: t("limit-source-hint"),
    more: { maxlength: 120 },
  });
  const rooms: [string, string][] = [
    ["", t("whole-floor")],
    ...context.project.rooms.map((one): [string, string] => [one, one]),
  ];
  const choose = (key: string): void => {
    method = methodOf(methods, key)!;
    replace(unit, method.units[0] ?? "");
  };
  const content = [
    select(
      t("method"),
      methods.map((one) => [one.key, one.label]),
      method.key,
      choose,
    ),
    value.row,
    source.row,
    select(t("where"), rooms, "", (chosen) => (room = chosen)),
  ];
  const bounds = (): string | null => {
    const result = method.fields.find((one) => one.name === "value");
    const typed = readNumber(value.input.value);
    if (!value.input.value.trim()) return t("limit-needed");
    if (Number.isNaN(typed)) return t("bad-number", { value: value.input.value });
    return typed <= 0 ? t("above-zero") : result ? against(result, value.input.value) : null;
  };
  const refuse = (): string | null =>
    firstWrong([value, bounds()], [source, source.input.value.trim() ? null : t("source-needed")]);
  const sure = (): Promise<boolean> =>
    settled(
      askAbout(value, (typed) =>
        aboutResult(typed, method.key, method.units[0] ?? "", method.units),
      ),
    );
  const key = newKey();
  const send = (): Promise<void> => {
    const body = {
      method: method.key,
      value: readNumber(value.input.value),
      unit: method.units[0],
      source: source.input.value.trim(),
      room: room || null,
      who: name,
    };
    return ask(context.path("limit"), { method: "PUT", body, key });
  };
  const store: [string, string, string][] = [["ok", t("store"), "main"]];
  return Boolean(await dialog(t("set-limit"), content, store, { accept: refuse, sure, send }));
}
