// A unit typed behind a number, where it is the one that stands beside the field.

/** How people write a unit; others are written as they stand beside the field. */
const SPELLED: [RegExp, RegExp][] = [
  [/^°C$/, /(?:°|deg\.?)?\s*c(?:elsius)?\.?$/i],
  [/^°F$/, /(?:°|deg\.?)?\s*f(?:ahrenheit)?\.?$/i],
  [/^%\s*(?:RH|r\.\s*F\.)$/i, /%\s*(?:RH|HR|r\.?\s*F\.?)?$/i],
  [/^%$/, /%$/],
];

/** The number of a field without its own unit; any other text as it is. */
export function withoutUnit(text: string, unit: string): string {
  const typed = text.trim();
  const known = SPELLED.find(([shown]) => shown.test(unit.trim()))?.[1];
  const bare = known ? typed.replace(known, "") : withoutSuffix(typed, unit.trim());
  return /[\d.,]\s*$/.test(bare) ? bare.trim() : text;
}

function withoutSuffix(typed: string, unit: string): string {
  const ends = unit !== "" && typed.toLowerCase().endsWith(unit.toLowerCase());
  return ends ? typed.slice(0, -unit.length) : typed;
}
