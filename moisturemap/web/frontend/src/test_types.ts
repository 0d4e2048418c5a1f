// Calibrated tests as they travel, and what a form keeps of one while it is typed.

export interface TestField {
  name: string;
  kind: "number" | "time" | "flag" | "text";
  unit: string;
  meaning: string;
  low: number | null;
  high: number | null;
}

export interface Method {
  key: string;
  label: string;
  synonyms: string[];
  /** Every spelling a table may use. */
  units: string[];
  /** One spelling of each unit. */
  units_offered: string[];
  instrument_kinds: string[];
  required: string[][];
  fields: TestField[];
}

export interface TestRow extends Record<string, unknown> {
  id: number;
  /** Stands for the test as it was when it was asked for. */
  seen: string;
  visit: string;
  hole: string;
  method: string;
  value: number | null;
  /** "above" or "below" where the value is the end of a scale. */
  censored?: string | null;
  unit: string;
  x: number;
  y: number;
}

export interface Limit {
  method: string;
  value: number;
  unit: string;
  source: string;
  room: string | null;
}

export interface IssuedHole {
  hole: string;
  room: string;
  x: number;
  y: number;
  depth_mm: number | null;
  withdrawn: string;
}

/** Fields by name as text in the program's own units (mm, °C), and flags. */
export type Values = Record<string, string | boolean>;

export function methodOf(methods: Method[], key: string): Method | undefined {
  return methods.find((one) => one.key === key || one.synonyms.includes(key));
}
