// Lengths as people on site write them: 4.25, 4,25 m, 4250 mm, 13' 6", 13 ft 6 in.

import { decimalMark } from "./strings";

const METRES: Record<string, number> = {
  m: 1,
  mm: 0.001,
  cm: 0.01,
  ft: 0.3048,
  "'": 0.3048,
  in: 0.0254,
  '"': 0.0254,
};

export type LengthUnit = "m" | "ft";

/** Read a number with a decimal point or comma; NaN when it is none. */
export function readNumber(text: string): number {
  const plain = text.trim().replace(/\u2212/g, "-");
  if (!/^-?(\d+([.,]\d*)?|[.,]\d+)$/.test(plain)) return Number.NaN;
  return Number(plain.replace(",", "."));
}

/** Whether 1.234 or 1,234 may be a thousand: each language parts thousands by the other mark. */
export function mayBeThousand(text: string): boolean {
  return /^(>=?|<=?|≥|≤)?\s*[-\u2212]?[1-9]\d{0,2}[.,]\d{3}$/.test(text.trim());
}

/** Both ways to write such a number, of which each means one thing. */
export function bothWays(text: string): { value: string; whole: string; decimal: string } {
  const value = text.trim();
  return { value, whole: value.replace(/[.,]/, ""), decimal: `${value}0` };
}

/** Read a result that may be a bound, > or < before it at the end of a scale; NaN when it is none. */
export function readBound(text: string): number {
  return readNumber(text.trim().replace(/^(>=?|<=?|≥|≤)/, ""));
}

/** Read a length in metres; a bare number is in `unit`. NaN when it is none. */
export function readLength(text: string, unit: LengthUnit = "m"): number {
  const clean = text
    .trim()
    .toLowerCase()
    .replace(/[\u2019\u2032]/g, "'")
    .replace(/[\u201d\u2033]|''/g, '"');
  if (/^-?[\d.,]+$/.test(clean)) return readNumber(clean) * (METRES[unit] ?? 1);
  const pattern = /(-?(?:\d+[\s-]+)?\d+\s*\/\s*\d+|-?[\d.,]+)\s*(mm|cm|m|ft|in|'|")/g;
  let total = 0;
  let matched = "";
  for (const found of clean.matchAll(pattern)) {
    total += readFraction(found[1] ?? "") * (METRES[found[2] ?? "m"] ?? 1);
    matched += found[0];
  }
  return matched && matched.replace(/\s/g, "") === clean.replace(/\s/g, "") ? total : Number.NaN;
}

/** Read a number as a tape shows it: 1.875, 1 7/8, 7/8. NaN when it is none. */
function readFraction(text: string): number {
  const found = /^(?:(\d+)[\s-]+)?(\d+)\s*\/\s*(\d+)$/.exec(text.trim());
  if (!found) return readNumber(text);
  const part = Number(found[2]) / Number(found[3]);
  return part < 1 ? Number(found[1] ?? 0) + part : Number.NaN;
}

/** Read inches as a tape shows them: 1.875, 1 7/8, 7/8. NaN when it is none. */
export function readInches(text: string): number {
  return readFraction(text.trim().replace(/(?:in|")$/, ""));
}

/** Read a thickness or depth in millimetres; a bare number is in inches on a job in feet. */
export function readMillimetres(text: string, system: LengthUnit): number {
  const bare = system === "ft" ? readInches(text) * 25.4 : readNumber(text);
  return Number.isNaN(bare) ? readLength(text, "m") * 1000 : bare;
}

/** Write a thickness or depth as it is typed: millimetres, or inches on a job in feet. */
export function writeMillimetres(mm: number, system: LengthUnit): string {
  return String(system === "ft" ? Math.round((mm / 25.4) * 1000) / 1000 : mm);
}

/** Write a depth for reading: whole millimetres, or sixteenths of an inch as the report does. */
export function writeDepth(mm: number, system: LengthUnit): string {
  if (system === "m") return `${Math.round(mm)}\u00a0mm`;
  const sixteenths = Math.round((mm / 25.4) * 16);
  const [whole, rest] = [Math.floor(sixteenths / 16), sixteenths % 16];
  const shared = [8, 4, 2, 1].find((one) => rest % one === 0)!;
  const part = rest ? `${rest / shared}/${16 / shared}` : "";
  return `${[whole || !part ? String(whole) : "", part].filter(Boolean).join(" ")}\u00a0in`;
}

export function celsius(fahrenheitValue: number): number {
  return (fahrenheitValue - 32) / 1.8;
}

export function fahrenheit(celsiusValue: number): number {
  return celsiusValue * 1.8 + 32;
}

/** Write a length for reading, in metres or in feet and inches. */
export function writeLength(metres: number, unit: LengthUnit = "m"): string {
  if (unit === "m") return decimalMark(`${metres.toFixed(2)} m`);
  if (metres < 0) return `-${writeLength(-metres, unit)}`;
  const inches = Math.round((metres / 0.0254) * 2) / 2;
  const feet = Math.floor(inches / 12);
  const whole = Math.floor(inches - feet * 12);
  return `${feet} ft ${whole}${inches % 1 ? " 1/2" : ""} in`;
}

/** Write a length as it is typed: the whole number of metres, or feet and inches. */
export function typedLength(metres: number, unit: LengthUnit): string {
  return unit === "m" ? String(metres) : writeLength(metres, unit);
}

export function writeArea(squareMetres: number, unit: LengthUnit = "m"): string {
  // From the tenth that metric words show, so that sentence, table and map agree.
  const metric = squareMetres >= 1 ? Number(squareMetres.toFixed(1)) : squareMetres;
  const area = unit === "m" ? squareMetres : metric / 0.09290304;
  // as sentences of the program do, so that a zone and its range are told apart
  const digits = area < (unit === "m" ? 100 : 10) ? 1 : 0;
  return decimalMark(`${area.toFixed(digits)} ${unit === "m" ? "m²" : "ft²"}`);
}
