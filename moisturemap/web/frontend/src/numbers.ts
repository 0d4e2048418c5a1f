// Numbers as they are shown: no more figures than mean something.

export function number(value: unknown): string {
  if (value === null || value === undefined || Number.isNaN(Number(value))) return "–";
  const plain = Number(value);
  return Math.abs(plain) >= 100
    ? plain.toFixed(0)
    : plain.toFixed(plain % 1 === 0 ? 0 : Math.abs(plain) < 10 ? 2 : 1);
}

/** Words of the program as they are shown. */
export function shown(text: string): string {
  return text.replace(/(\d) (m|ft)2\b/g, "$1\u00a0$2²");
}

/** A sentence with its first letter large. */
export function sentence(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
