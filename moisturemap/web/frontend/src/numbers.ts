// Numbers as they are shown: no more figures than mean something.

import { decimalMark } from "./strings";

export function number(value: unknown): string {
  if (value === null || value === undefined || Number.isNaN(Number(value))) return "–";
  const plain = Number(value);
  const after = Math.abs(plain) >= 100 || plain % 1 === 0 ? 0 : Math.abs(plain) < 10 ? 2 : 1;
  return decimalMark(plain.toFixed(after));
}

const MOST_DECIMALS = 6;

/** A tested value: never rounded onto or across the limit it is held against. */
export function tested(value: unknown, limit: unknown = null): string {
  const plain = Number(value);
  if (value === null || value === undefined || Number.isNaN(plain)) return "–";
  const least = Math.abs(plain) >= 10 ? 1 : 2;
  for (let decimals = least; decimals <= MOST_DECIMALS; decimals += 1) {
    const text = plain.toFixed(decimals);
    const stays = Math.sign(Number(text) - Number(limit)) === Math.sign(plain - Number(limit));
    if (limit === null || limit === undefined || stays) return decimalMark(String(Number(text)));
  }
  return decimalMark(String(plain));
}

/** A value as it was recorded or stated. */
export function recorded(value: unknown): string {
  if (value === null || value === undefined) return "–";
  return decimalMark(String(Number(Number(value).toPrecision(6))));
}

/** Words of the program as they are shown: squares raised, and a minus before negative numbers. */
export function shown(text: string): string {
  return text
    .replace(/(\d) (m|ft)2\b/g, "$1\u00a0$2²")
    .replace(/(edition |Ausgabe |^|[\s(±])-(?=\d)/g, (all, before: string) =>
      before.length > 1 ? all : `${before}\u2212`,
    );
}

/** A sentence with its first letter large. */
export function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
