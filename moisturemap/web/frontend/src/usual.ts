// What floors under work usually show. A value beyond it is asked about when it is typed; the
// numbers are those of moisturemap/survey/usual.py.

export type Range = readonly [low: number, high: number];

/** Air and slab [°C]. */
export const DEGREES: Range = [4, 40];
/** Air [%RH]. */
export const HUMIDITY: Range = [2, 100];
/** Slab or screed [mm]. */
export const THICKNESS: Range = [20, 600];
/** Measuring point below the top face [mm]. */
export const DEPTH: Range = [10, 400];
/** Results, by method of test, in its first unit. */
export const RESULTS: Record<string, Range> = {
  "in-situ-rh": [20, 100],
  "sleeve-rh": [20, 100],
  "hood-rh": [20, 100],
  carbide: [0, 15],
  mver: [0, 25],
  "oven-dry": [0, 60],
  pin: [2, 100],
};
/** The longest wall nobody asks about [m]; our choice: a bare 425 may be centimetres. */
export const LONGEST_USUAL_M = 100;

export function isUsual(value: number, [low, high]: Range): boolean {
  return value >= low && value <= high;
}
