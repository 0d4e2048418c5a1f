import { expect, test } from "vitest";

import { de } from "../src/de";
import { en } from "../src/en";

const english: Record<string, string> = en;
const german: Record<string, string> = de;
const slots = (text: string): string[] => (text.match(/\{\w+\}/g) ?? []).sort();

test("every word of the page has its German one", () => {
  expect(Object.keys(english).filter((key) => !(key in german))).toEqual([]);
  expect(Object.keys(german).filter((key) => !(key in english))).toEqual([]);
});

test("a German sentence keeps what is filled in", () => {
  const lost = Object.keys(german).filter(
    (key) => slots(english[key]!).join() !== slots(german[key]!).join(),
  );
  expect(lost).toEqual([]);
});

test("no sentence of three words or more is left in English", () => {
  const words = /[A-Za-z]{2,} [a-z]{2,} [a-z]{2,}/;
  const same = Object.keys(german).filter(
    (key) => german[key] === english[key] && words.test(english[key]!),
  );
  expect(same).toEqual([]);
});
