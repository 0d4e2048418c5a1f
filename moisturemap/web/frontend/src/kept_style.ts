// Styles made once for a look and kept until the colours of the page change.

import { Style } from "ol/style";

const cache = new Map<string, Style>();
const scheme = matchMedia("(prefers-color-scheme: dark)");
scheme.addEventListener("change", () => cache.clear());

export function keptStyle(key: string, make: () => Style): Style {
  let style = cache.get(key);
  if (!style) cache.set(key, (style = make()));
  return style;
}
