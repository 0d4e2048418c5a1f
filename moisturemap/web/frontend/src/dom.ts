// Small pieces for building the page.

import { shown } from "./numbers";

export type Child = Node | string | number | null | undefined | false;
type Handler = (event: Event) => void;
type Attributes = Record<string, string | number | boolean | Handler | null | undefined>;

/** Make an element; text is always text, never markup. */
export function h<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Attributes = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") element.addEventListener(name.slice(2), value);
    else if (name === "value" && "value" in element)
      (element as HTMLInputElement).value = String(value);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  append(element, children);
  return element;
}

export function append(parent: Element, children: Child[]): void {
  for (const child of children) {
    if (child === null || child === undefined || child === false) continue;
    parent.append(child instanceof Node ? child : shown(String(child)));
  }
}

export function replace(parent: Element, ...children: Child[]): void {
  parent.replaceChildren();
  append(parent, children);
}

let counter = 0;

/** A number never used before on this page, for ids that tie labels to fields. */
export function nextId(stem: string): string {
  counter += 1;
  return `${stem}-${counter}`;
}

export function button(
  label: string,
  onclick: () => void,
  kind = "",
  more: Attributes = {},
): HTMLButtonElement {
  return h("button", { type: "button", class: kind, onclick, ...more }, label);
}

/** Do a piece of work once at a time, however often its button is pressed meanwhile. */
export function alone(work: () => Promise<unknown>): () => void {
  let busy = false;
  return () => {
    if (busy) return;
    busy = true;
    void work().finally(() => (busy = false));
  };
}

export interface FieldOptions {
  type?: string;
  value?: string;
  hint?: string;
  unit?: string;
  inputmode?: string;
  onchange?: (value: string) => void;
  oninput?: (value: string) => void;
  more?: Attributes;
}

export interface Field {
  row: HTMLElement;
  input: HTMLInputElement;
  say: (words: string, bad?: boolean) => void;
  /** The unit that stands beside it now; "" for none. */
  readonly unit: string;
}

/** A labelled input with its hint and a place for words about its value. */
export function field(label: string, options: FieldOptions = {}): Field {
  const id = nextId("field");
  const words = h(
    "small",
    { id: `${id}-words`, class: "words", "aria-live": "polite" },
    options.hint ?? "",
  );
  const input = h("input", {
    id,
    type: options.type ?? "text",
    value: options.value ?? "",
    inputmode: options.inputmode,
    autocomplete: "off",
    "aria-describedby": `${id}-words`,
    onchange: () => options.onchange?.(input.value),
    oninput: () => options.oninput?.(input.value),
    ...options.more,
  });
  input.defaultValue = options.value ?? "";
  const box = options.unit
    ? h("span", { class: "with-unit" }, input, h("span", { class: "unit" }, options.unit))
    : input;
  const row = h("div", { class: "field" }, h("label", { for: id }, label), box, words);
  const say = (text: string, bad = false): void => {
    words.textContent = text || options.hint || "";
    words.classList.toggle("bad", bad);
    input.setAttribute("aria-invalid", String(bad));
  };
  return {
    row,
    input,
    say,
    get unit(): string {
      return row.querySelector(".unit")?.textContent ?? "";
    },
  };
}

export function select(
  label: string,
  choices: [value: string, text: string][],
  value: string,
  onchange: (value: string) => void,
): HTMLElement {
  const id = nextId("choice");
  const input = h("select", { id, onchange: () => onchange(input.value) });
  for (const [key, text] of choices)
    input.append(h("option", { value: key, selected: key === value }, text));
  return h("div", { class: "field" }, h("label", { for: id }, label), input);
}

export function check(
  label: string,
  checked: boolean,
  onchange: (checked: boolean) => void,
): HTMLElement {
  const id = nextId("check");
  const input = h("input", {
    id,
    type: "checkbox",
    checked,
    onchange: () => onchange(input.checked),
  });
  return h("div", { class: "check" }, input, h("label", { for: id }, label));
}

/** A table with header cells; rows may be tapped when `onrow` is given. */
export function table(
  caption: string,
  heads: string[],
  rows: Child[][],
  onrow?: (index: number) => void,
  quiet = false,
): HTMLElement {
  const body = h("tbody");
  rows.forEach((cells, index) => {
    const row = h("tr");
    cells.forEach((cell, column) => {
      const content =
        column === 0 && onrow ? button(String(cell ?? ""), () => onrow(index), "link") : cell;
      row.append(column === 0 ? h("th", { scope: "row" }, content) : h("td", {}, content));
    });
    body.append(row);
  });
  const head = h("tr", {}, ...heads.map((text) => h("th", { scope: "col" }, text)));
  return h(
    "div",
    { class: "table-box", tabindex: 0, role: "region", "aria-label": caption },
    h(
      "table",
      {},
      h("caption", { class: quiet ? "visually-hidden" : null }, caption),
      h("thead", {}, head),
      body,
    ),
  );
}

/** A file chooser that looks like a button and takes dropped files. */
export function fileButton(
  label: string,
  accept: string,
  onfile: (file: File) => void,
  capture = false,
): HTMLElement {
  const id = nextId("file");
  const input = h("input", {
    id,
    type: "file",
    accept,
    class: "visually-hidden",
    capture: capture ? "environment" : null,
    onchange: () => {
      const file = input.files?.[0];
      if (file) onfile(file);
      input.value = "";
    },
  });
  const box = h("div", { class: "file" }, input, h("label", { for: id, class: "button" }, label));
  box.addEventListener("dragover", (event) => event.preventDefault());
  box.addEventListener("drop", (event) => {
    event.preventDefault();
    const file = event.dataTransfer?.files[0];
    if (file) onfile(file);
  });
  return box;
}

/** Heading, content and foldable details of a panel section. */
export function section(title: string, ...children: Child[]): HTMLElement {
  return h("section", {}, h("h2", {}, title), ...children);
}

export function fold(title: string, open: boolean, ...children: Child[]): HTMLElement {
  return h("details", { open }, h("summary", {}, title), ...children);
}

const unfolded = new Set<string>();

/** A fold that is closed at first, and stays as it was left when its form is drawn anew. */
export function keptFold(title: string, ...children: Child[]): HTMLElement {
  const folded = fold(title, unfolded.has(title), ...children) as HTMLDetailsElement;
  folded.addEventListener("toggle", () => {
    if (folded.open) unfolded.add(title);
    else unfolded.delete(title);
  });
  return folded;
}
