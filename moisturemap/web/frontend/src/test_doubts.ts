// Questions about a test before it is stored: values that are possible and hardly meant.

import {
  aboutAhead,
  aboutDegrees,
  aboutMillimetres,
  aboutResult,
  aboutShare,
  type Doubt,
} from "./doubts";
import { readBound, readNumber, writeLength, type LengthUnit } from "./lengths";
import { t } from "./strings";
import { fieldLabel, shownValue, storedValue } from "./test_fields";
import type { Method, TestField, Values } from "./test_types";
import { DEPTH, THICKNESS } from "./usual";

/** The oven is meant to be warm. */
const NOT_ASKED = ["drying_temperature_c"];

type Words = Pick<Doubt, "words" | "meanings">;

function about(one: TestField, method: Method, values: Values, system: LengthUnit): Words | null {
  const stored = String(values[one.name] ?? "");
  if (one.kind === "time") return aboutAhead(stored);
  if (!stored.trim() || one.kind !== "number" || NOT_ASKED.includes(one.name)) return null;
  if (one.name === "value") {
    const unit = String(values.unit ?? method.units[0] ?? "");
    return aboutResult(readBound(stored), method.key, unit, method.units);
  }
  const shown = readNumber(shownValue(one, stored, system));
  if (one.unit === "C") return aboutDegrees(shown, system);
  if (one.unit === "mm")
    return aboutMillimetres(shown, system, one.name === "depth_mm" ? DEPTH : THICKNESS);
  return one.name === "air_rh_pct" ? aboutShare(shown, one.unit) : null;
}

/** What to ask about a test where it is not as it was; another meaning is put into its values. */
export function testDoubts(
  method: Method,
  values: Values,
  before: Values,
  system: LengthUnit,
  roomAt: (place: [number, number]) => string | null,
): Doubt[] {
  const asked = method.fields.flatMap((one): Doubt[] => {
    const same = values[one.name] === before[one.name];
    const words = same ? null : about(one, method, values, system);
    const take = (typed: string): void => {
      const sign = one.name === "value" ? /^[<>]=?/.exec(String(values.value).trim())?.[0] : "";
      values[one.name] = (sign ?? "") + storedValue(one, typed, system);
    };
    return words ? [{ label: fieldLabel(one), ...words, take }] : [];
  });
  const [x, y] = [readNumber(String(values.x ?? "")), readNumber(String(values.y ?? ""))];
  if (values.x === before.x && values.y === before.y) return asked;
  if (Number.isNaN(x) || Number.isNaN(y) || roomAt([x, y])) return asked;
  const meanings = [{ words: t("keep-place"), typed: null }];
  const words = t("test-off-plan", { x: writeLength(x, system), y: writeLength(y, system) });
  return [...asked, { label: t("place-of-test"), words, meanings, take: () => undefined }];
}
