// Humidity at depth over the visits: loggers in holes and tests against the limit.

import { h, nextId, section } from "./dom";
import type { DepthCourse, DepthCourses } from "./drying_types";
import { writeDepth, type LengthUnit } from "./lengths";
import { pathOf, span, svg } from "./log_curve";
import { number } from "./numbers";
import { t } from "./strings";

const WIDE = 340;
const HIGH = 190;
const LEFT = 34;
const RIGHT = 8;
const ABOVE = 18;
const BELOW = 28;

/** Courses that still tell apart; of more the deepest, which dry last. */
const MOST = 6;

/** Marks round a point, so that courses tell apart without colour. */
const MARKS = [
  "M-3 -3h6v6h-6z",
  "M0 -4L4 3H-4z",
  "M0 -4L4 0L0 4L-4 0z",
  "M-3.5 0a3.5 3.5 0 1 0 7 0a3.5 3.5 0 1 0 -7 0z",
  "M0 4L4 -3H-4z",
  "M-3 -3L3 3M-3 3L3 -3",
];

/** Days between which a logger recorded nothing: no line is drawn over them. */
export function unread(one: DepthCourse): [number, number][] {
  return one.day.flatMap((day, i): [number, number][] => {
    const before = one.day[i - 1];
    return one.logged && before !== undefined && day - before > 1.5 ? [[before, day]] : [];
  });
}

type Place = (day: number, value: number) => [number, number];

function drawn(one: DepthCourse, look: number, place: Place): SVGElement {
  const group = svg("g", { class: `depth-${look}` });
  const kind = one.logged ? "logged" : "tested";
  group.append(svg("path", { d: pathOf(one.day, one.rh, unread(one), place), class: kind }));
  const step = one.logged ? Math.max(1, Math.floor(one.day.length / 6)) : 1;
  one.day.forEach((day, i) => {
    if (i % step) return;
    const [x, y] = place(day, one.rh[i]!);
    group.append(
      svg("path", { d: MARKS[look]!, transform: `translate(${x} ${y})`, class: "mark" }),
    );
  });
  return group;
}

/** Round steps between two values, four to six of them. */
function ticks(low: number, high: number): number[] {
  const wanted = (high - low) / 5;
  const size = 10 ** Math.floor(Math.log10(wanted));
  const step = [1, 2, 5, 10].map((one) => one * size).find((one) => one >= wanted)!;
  const first = Math.ceil(low / step);
  return Array.from({ length: Math.floor(high / step) - first + 1 }, (_, i) => (first + i) * step);
}

function chart(depths: DepthCourses, shown: DepthCourse[]): SVGElement {
  const limits = depths.limits.map((one) => one.value);
  const [low, high] = span([...shown.flatMap((one) => one.rh), ...limits])!;
  const days = [...depths.visits.map((one) => one.day), ...shown.flatMap((one) => one.day)];
  const [first, last] = [Math.min(...days), Math.max(...days)];
  const width = WIDE - LEFT - RIGHT;
  const across = (day: number): number =>
    LEFT + ((day - first) / Math.max(last - first, 1e-6)) * width;
  const up = (value: number): number =>
    HIGH - BELOW - ((value - low) / (high - low)) * (HIGH - ABOVE - BELOW);
  const name = nextId("depths");
  const look = { viewBox: `0 0 ${WIDE} ${HIGH}`, class: "curve depths", role: "img" };
  const box = svg("svg", { ...look, "aria-labelledby": name });
  box.append(svg("title", { id: name }, t("depths-title")));
  for (const value of ticks(low, high)) {
    const y = up(value);
    box.append(svg("line", { x1: LEFT, x2: WIDE - RIGHT, y1: y, y2: y, class: "rule" }));
    box.append(svg("text", { x: LEFT - 3, y: y + 3, "text-anchor": "end" }, number(value)));
  }
  for (const { visit, day } of depths.visits) {
    const x = across(day);
    box.append(svg("line", { x1: x, x2: x, y1: ABOVE, y2: HIGH - BELOW, class: "visit" }));
    box.append(svg("text", { x, y: ABOVE - 5, "text-anchor": anchor(x) }, visit));
    box.append(svg("text", { x, y: HIGH - BELOW + 11, "text-anchor": anchor(x) }, number(day)));
  }
  const middle = LEFT + width / 2;
  box.append(svg("text", { x: middle, y: HIGH - 4, "text-anchor": "middle" }, t("depths-days")));
  for (const one of depths.limits) {
    const y = up(one.value);
    const words = t(one.rooms ? "depths-limit-in" : "depths-limit", {
      value: number(one.value),
      rooms: one.rooms,
    });
    box.append(svg("line", { x1: LEFT, x2: WIDE - RIGHT, y1: y, y2: y, class: "limit" }));
    box.append(svg("text", { x: LEFT + 3, y: y - 3, class: "limit-words" }, words));
  }
  const place: Place = (day, value) => [across(day), up(value)];
  shown.forEach((one, i) => box.append(drawn(one, i, place)));
  return box;
}

function anchor(x: number): string {
  return x < LEFT + 12 ? "start" : x > WIDE - RIGHT - 12 ? "end" : "middle";
}

/** A course in words, with its mark. */
function line(one: DepthCourse, look: number, unit: LengthUnit): HTMLElement {
  const key = svg("svg", { viewBox: "-7 -7 14 14", class: `key depth-${look}` });
  key.setAttribute("aria-hidden", "true");
  key.append(svg("path", { d: MARKS[look]!, class: "mark" }));
  const words = t(one.logged ? "depth-logged" : "depth-tested", {
    name: one.name,
    depth: writeDepth(one.depth_mm, unit),
  });
  const at = (i: number): string =>
    t("depth-read", { value: number(one.rh.at(i)), day: number(Math.floor(one.day.at(i)!)) });
  const read = one.day.length > 1 ? `${at(0)}, ${at(-1)}` : at(0);
  return h("li", {}, key, `${words}: ${read}`);
}

/** The chart with its courses in words; null where nothing was followed at depth. */
export function depthSection(depths: DepthCourses | null, unit: LengthUnit): HTMLElement | null {
  if (!depths) return null;
  const shown = depths.courses.slice(-MOST);
  const left = depths.courses.length - shown.length;
  return section(
    t("depths"),
    h("figure", { class: "log" }, chart(depths, shown)),
    h("ul", { class: "depth-key" }, ...shown.map((one, look) => line(one, look, unit))),
    h("p", { class: "words" }, t("depths-how") + (left ? ` ${t("depths-left", { n: left })}` : "")),
  );
}
