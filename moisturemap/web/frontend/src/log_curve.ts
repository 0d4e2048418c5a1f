// The curve of a logger: humidity and temperature over time, with the visits marked.

import { h } from "./dom";
import { fahrenheit, type LengthUnit } from "./lengths";
import { number } from "./numbers";
import { t, unitWord } from "./strings";

export interface LoggerSeries {
  id: string;
  place: string;
  room: string;
  x: number | null;
  y: number | null;
  depth_mm: number | null;
  began: string;
  ended: string;
  recorded: number;
  source: string;
  hours: number[];
  rh_pct: (number | null)[];
  temperature_c: (number | null)[];
  gaps: [number, number][];
}

const WIDE = 320;
const HIGH = 88;
const LEFT = 34;
const RIGHT = 6;
const BELOW = 16;

export function svg(
  name: string,
  attributes: Record<string, string | number>,
  text = "",
): SVGElement {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  if (text) made.textContent = text;
  return made;
}

/** Lowest and highest value with some room, so that a flat line is no edge. */
export function span(values: (number | null)[]): [number, number] | null {
  const known = values.filter((one): one is number => one !== null);
  if (!known.length) return null;
  const [low, high] = [Math.min(...known), Math.max(...known)];
  const room = Math.max(0.08 * (high - low), 0.5);
  return [low - room, high + room];
}

/** Where a line runs; it breaks where nothing was recorded. */
export function pathOf(
  hours: number[],
  values: (number | null)[],
  gaps: [number, number][],
  place: (hour: number, value: number) => [number, number],
): string {
  const parts: string[] = [];
  let drawing = false;
  values.forEach((value, i) => {
    const gap = i > 0 && gaps.some(([from, to]) => hours[i - 1]! >= from && hours[i]! <= to);
    if (value === null || gap) drawing = false;
    if (value === null) return;
    const [x, y] = place(hours[i]!, value);
    parts.push(`${drawing ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`);
    drawing = true;
  });
  return parts.join("");
}

export function day(moment: string | Date): string {
  return new Date(moment).toLocaleDateString(undefined, { day: "numeric", month: "short" });
}

function panel(
  series: LoggerSeries,
  values: (number | null)[],
  unit: string,
  visits: Date[],
): SVGElement | null {
  const range = span(values);
  if (!range) return null;
  const [low, high] = range;
  const end = Math.max(series.hours.at(-1)!, 1e-6);
  const across = (hour: number): number => LEFT + (hour / end) * (WIDE - LEFT - RIGHT);
  const up = (value: number): number =>
    HIGH - BELOW - ((value - low) / (high - low)) * (HIGH - BELOW - 14);
  const began = new Date(series.began);
  const words = t("curve-of", { id: series.id, unit });
  const box = svg("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, class: "curve", role: "img" });
  box.append(svg("title", {}, words));
  for (const value of [low, high]) {
    const y = up(value);
    box.append(svg("line", { x1: LEFT, x2: WIDE - RIGHT, y1: y, y2: y, class: "rule" }));
    box.append(svg("text", { x: LEFT - 3, y: y + 3, "text-anchor": "end" }, number(value)));
  }
  box.append(svg("text", { x: LEFT + 2, y: 10 }, unit));
  for (const visit of visits) {
    const hour = (visit.getTime() - began.getTime()) / 3_600_000;
    if (hour < 0 || hour > end) continue;
    const x = across(hour);
    box.append(svg("line", { x1: x, x2: x, y1: up(high), y2: up(low), class: "visit" }));
  }
  box.append(
    svg("path", {
      d: pathOf(series.hours, values, series.gaps, (hour, value) => [across(hour), up(value)]),
    }),
    svg("text", { x: LEFT, y: HIGH - 3 }, day(series.began)),
    svg("text", { x: WIDE - RIGHT, y: HIGH - 3, "text-anchor": "end" }, day(series.ended)),
  );
  return box;
}

/** Humidity above temperature, each as far as it was recorded. */
export function curve(series: LoggerSeries, visits: Date[], unit: LengthUnit): HTMLElement {
  const us = unit === "ft";
  const degrees = series.temperature_c.map((one) => (us && one !== null ? fahrenheit(one) : one));
  const panels = [
    panel(series, series.rh_pct, unitWord("%RH"), visits),
    panel(series, degrees, us ? "°F" : "°C", visits),
  ];
  return h("div", { class: "curves" }, ...panels.filter((one) => one !== null));
}
