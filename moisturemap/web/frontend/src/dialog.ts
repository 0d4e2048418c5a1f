// Modal dialogs: a form that is checked, asked about, sent, and kept until it was.

import { Refused, Unreachable } from "./api";
import { append, button, h, nextId, type Child } from "./dom";
import { draftedForm, draftName, dropDraft } from "./drafts";
import { focusLost } from "./focus";
import { t } from "./strings";

export interface DialogOptions {
  /** Words against what was entered, or null; asked before a button but Cancel closes it. */
  accept?: (value: string) => string | null;
  /** Asks about what is possible and hardly meant; false keeps the form open. */
  sure?: (value: string) => Promise<boolean>;
  /** What a button does, while the form stays open; what is refused is told in it. */
  send?: (value: string) => Promise<void>;
  /** Beside the plan, not over it. */
  side?: boolean;
  /** Tells forms of one title apart that are about different things; null keeps no draft. */
  about?: string | null;
  /** A question: no answer is at hand for a key that was meant for what came before. */
  question?: boolean;
  /** Told when a button closed it, after what it did; Escape and a reload keep what was filled in. */
  given?: (value: string | null) => void;
  /** What the button says that closes it and does nothing. */
  closing?: string;
}

type Action = [value: string, text: string, kind?: string];

/**
 * A modal dialog; resolves with the pressed button's value, or null when closed. What is typed in
 * it is kept on this device until it was sent or given up by a button.
 */
export function dialog(
  title: string,
  content: Child[],
  actions: Action[],
  options: DialogOptions = {},
): Promise<string | null> {
  const { side = false, about = "", question = false, closing } = options;
  return new Promise((resolve) => {
    const id = nextId("dialog");
    const complaint = h("p", { class: "bad words", role: "alert" });
    const box = h("dialog", { "aria-labelledby": id, class: side ? "side" : null });
    const draft = actions.length && about !== null ? draftName(`${title}:${about}`) : null;
    const finish = (value: string | null): void => {
      box.close();
      box.remove();
      focusLost();
      resolve(value);
    };
    const give = (value: string | null): void => {
      if (draft) dropDraft(draft);
      options.given?.(value);
      finish(value);
    };
    const row = h("div", { class: "actions" });
    for (const [value, text, kind] of actions) {
      const pressed = button(text, () => void press(), kind ?? "");
      const press = async (): Promise<void> => {
        const against = await refusal(options, value, row);
        if (against === null) return give(value);
        complaint.textContent = against;
        (box.querySelector<HTMLElement>("[aria-invalid=true]") ?? pressed).focus();
      };
      row.append(pressed);
    }
    const close = closing ?? t(actions.length ? "cancel" : "close");
    row.append(button(close, () => give(null), actions.length ? "plain" : "main"));
    append(box, [h("h2", { id, tabindex: -1, autofocus: question }, title), ...content]);
    append(box, [complaint, row]);
    box.addEventListener("cancel", () => finish(null));
    box.addEventListener("keydown", (event) => onEnter(event, box, actions));
    ownPresses(box);
    document.body.append(box);
    if (draft && draftedForm(box, draft, title))
      box.querySelector("h2")!.after(h("p", { class: "words", role: "status" }, t("draft-back")));
    box.showModal();
    if (!question)
      (firstField(box) ?? (actions.length ? null : row.querySelector("button")))?.focus();
  });
}

/** What ends the tap on the plan that opened a form is no press of the button under the finger. */
function ownPresses(box: HTMLElement): void {
  let begun = false;
  box.addEventListener("pointerdown", () => (begun = true), { capture: true });
  const hold = (event: MouseEvent): void => {
    if (begun || !event.isTrusted || event.detail === 0) return;
    event.preventDefault();
    event.stopPropagation();
  };
  box.addEventListener("mousedown", hold, { capture: true });
  box.addEventListener("click", hold, { capture: true });
}

/** The field that takes what is typed as soon as a form is open. */
function firstField(box: HTMLElement): HTMLElement | undefined {
  const fields = box.querySelectorAll<HTMLInputElement>("input:not([type=file]),select,textarea");
  return [...fields].find((one) => !one.disabled && one.offsetParent !== null);
}

/** Words against what a form holds, "" where somebody wants to look at it again, or null. */
async function refusal(
  { accept = () => null, sure, send }: DialogOptions,
  value: string,
  row: HTMLElement,
): Promise<string | null> {
  if (row.inert) return "";
  const against = accept(value);
  if (against !== null) return against;
  row.inert = true;
  try {
    if (sure && !(await sure(value))) return "";
    await send?.(value);
    return null;
  } catch (error) {
    if (error instanceof Refused || error instanceof Unreachable) return error.message;
    throw error;
  } finally {
    row.inert = false;
  }
}

/** The fields of a form that hold text and are in sight. */
function texts(box: HTMLElement): HTMLInputElement[] {
  const unlike = ["checkbox", "radio", "file", "range", "button"];
  return [...box.querySelectorAll("input")].filter(
    (one) => !unlike.includes(one.type) && !one.disabled && one.offsetParent !== null,
  );
}

/**
 * Enter in a field goes to the next one that is empty, and stores after the last: no form is
 * stored half filled without its fields having been passed.
 */
function onEnter(event: KeyboardEvent, box: HTMLElement, actions: Action[]): void {
  const fields = texts(box);
  const at = fields.indexOf(event.target as HTMLInputElement);
  if (event.key !== "Enter" || event.isComposing || at < 0) return;
  event.preventDefault();
  if (event.repeat) return;
  const next = fields.slice(at + 1).find((one) => one.value.trim() === "");
  if (next) return next.focus();
  const plain = actions.filter(([, , kind]) => kind !== "danger");
  const buttons = [...box.querySelectorAll<HTMLElement>(".actions:last-child button")];
  const first = buttons[actions.indexOf(plain[0]!)] ?? buttons[0];
  // Of several ways to go on, the fingers choose.
  if (plain.length !== 1) return first?.focus();
  event.target!.dispatchEvent(new Event("change", { bubbles: true }));
  first?.click();
}
