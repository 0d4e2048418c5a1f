// A list of sentences.

import { h } from "./dom";

export function bullets(items: string[]): HTMLElement {
  return h("ul", {}, ...items.map((item) => h("li", {}, item)));
}
