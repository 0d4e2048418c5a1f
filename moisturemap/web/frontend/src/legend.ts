// The key of the map: always there with the map, and able to turn layers off.

import { CHANGE, type Change } from "./area_style";
import { check, h, nextId } from "./dom";
import { number } from "./numbers";
import { colour } from "./plan_style";
import type { MapAnswer } from "./map_types";
import type { PlanView } from "./plan_view";
import { t, type Key } from "./strings";

export interface Entry {
  layers: string[];
  key: Key;
  shown: boolean;
}

export const ENTRIES: Entry[] = [
  { layers: ["bands"], key: "layer-surface", shown: true },
  { layers: ["wet_line", "zones", "zone-areas"], key: "layer-zones", shown: true },
  { layers: ["unsure", "unknown"], key: "layer-uncertainty", shown: true },
  { layers: ["readings"], key: "layer-readings", shown: true },
  { layers: ["anomalies", "sweeps"], key: "layer-anomalies", shown: true },
  { layers: ["holes", "issued"], key: "layer-holes", shown: true },
  { layers: ["tests"], key: "layer-tests", shown: true },
];

function swatch(draw: (pen: CanvasRenderingContext2D) => void): HTMLCanvasElement {
  const canvas = h("canvas", { width: 44, height: 28, "aria-hidden": "true" });
  canvas.style.width = "22px";
  canvas.style.height = "14px";
  const pen = canvas.getContext("2d");
  if (pen) {
    pen.scale(2, 2);
    draw(pen);
  }
  return canvas;
}

function hatch(dots: boolean, ink = colour("ink")): (pen: CanvasRenderingContext2D) => void {
  return (pen) => {
    pen.strokeStyle = pen.fillStyle = ink;
    pen.strokeRect(0.5, 0.5, 21, 13);
    pen.beginPath();
    for (let x = -14; x < 24; x += 5) {
      if (dots) pen.fillRect(x, 4 + ((x / 5) % 2 ? 0 : 4), 1.5, 1.5);
      else {
        pen.moveTo(x, 14);
        pen.lineTo(x + 14, 0);
      }
    }
    pen.stroke();
  };
}

const SYMBOLS: [layer: string, key: Key, sign: Sign, shade: string][] = [
  ["holes", "legend-hole", "ring", "drill"],
  ["issued", "legend-issued", "disc", "drill"],
  ["blocked", "status-blocked", "struck", "drill"],
  ["tests", "legend-test", "triangle", "ink"],
  ["things", "legend-thing", "crossed", "warning"],
  ["contested", "legend-contested", "asked", "warning"],
  ["sweeps", "legend-sweep", "bar", "ink"],
  ["rising", "legend-rising", "double", "warning"],
  ["stagnant", "legend-stagnant", "double-dashed", "warning"],
];

type Sign =
  | "ring"
  | "disc"
  | "struck"
  | "triangle"
  | "crossed"
  | "asked"
  | "bar"
  | "double"
  | "double-dashed";

/** The sign of a layer as it stands on the plan, small. */
function symbol(sign: Sign, shade: string): (pen: CanvasRenderingContext2D) => void {
  const line = (pen: CanvasRenderingContext2D, ...places: [number, number][]): void =>
    places.forEach(([x, y], i) => (i ? pen.lineTo(x, y) : pen.moveTo(x, y)));
  return (pen) => {
    pen.strokeStyle = pen.fillStyle = shade;
    pen.lineWidth = 2;
    pen.beginPath();
    if (["ring", "disc", "struck"].includes(sign)) pen.arc(11, 7, 5, 0, 7);
    else if (sign === "triangle") line(pen, [11, 1.5], [17, 12], [5, 12], [11, 1.5]);
    else if (sign === "bar") {
      line(pen, [2, 7], [20, 7]);
      for (const x of [2, 20]) line(pen, [x, 2], [x, 12]);
    } else if (sign.startsWith("double")) {
      if (sign === "double-dashed") pen.setLineDash([5, 3.5]);
      for (const y of [4.5, 9.5]) line(pen, [0, y], [22, y]);
    } else if (sign === "asked") {
      pen.setLineDash([2, 2]);
      pen.arc(11, 7, 6, 0, 7);
      pen.font = "700 10px sans-serif";
      pen.textAlign = "center";
      pen.fillText("?", 11, 10.5);
    } else {
      pen.fillRect(5, 1, 12, 12);
      pen.strokeStyle = colour("surface");
      line(pen, [8, 4], [14, 10]);
      line(pen, [14, 4], [8, 10]);
    }
    if (sign === "disc" || sign === "struck") pen.fill();
    pen.stroke();
    if (sign !== "struck") return;
    pen.beginPath();
    pen.strokeStyle = colour("bad");
    line(pen, [4.5, 0.5], [17.5, 13.5]);
    line(pen, [17.5, 0.5], [4.5, 13.5]);
    pen.stroke();
  };
}

/** The ramp of a map with its limits. */
export function rampOf(levels: number[], colours: string[], title: string): HTMLElement {
  const steps = h("div", { class: "steps", "aria-hidden": "true" });
  for (const shade of colours) {
    const step = h("span");
    step.style.background = shade;
    steps.append(step);
  }
  const limits = h("div", { class: "limits" });
  const every = Math.ceil(levels.length / 6);
  for (const level of levels.filter((_, i) => i % every === 0 || i === levels.length - 1))
    limits.append(h("span", {}, String(level)));
  return h("div", {}, h("strong", {}, title), levels.length ? steps : null, limits);
}

/** What the dots mean: hardly any reading near. */
export function unknownKey(): HTMLElement {
  return h("li", {}, swatch(hatch(true)), t("legend-unknown"));
}

/** What the colours, the wet line and the hatches mean. */
function readingKey(wetLevel: number | null): HTMLElement {
  const line = swatch((pen) => {
    pen.moveTo(0, 7);
    pen.lineTo(22, 7);
    for (const [ink, width] of [
      ["#ffffff", 7],
      ["#1c2329", 4],
    ] as [string, number][]) {
      pen.strokeStyle = ink;
      pen.lineWidth = width;
      pen.stroke();
    }
  });
  const items = h("ul", {}, h("li", {}, t("dry-to-wet")));
  if (wetLevel !== null)
    items.append(h("li", {}, line, t("legend-wet", { level: number(wetLevel) })));
  items.append(h("li", {}, swatch(hatch(false)), t("legend-unsure")), unknownKey());
  return items;
}

/** What the signs on the plan mean. */
function signKeys(present: Set<string>): HTMLElement[] {
  return SYMBOLS.filter(([layer]) => present.has(layer)).map(([, key, sign, shade]) =>
    h("li", {}, swatch(symbol(sign, colour(shade))), t(key)),
  );
}

/** Fill the legend of the plan for one visit among others. */
export function visitLegend(
  view: PlanView,
  levels: number[],
  colours: string[],
  title: string,
  wetLevel: number | null,
  signs: string[],
): void {
  const items = readingKey(wetLevel);
  items.append(...signKeys(new Set(signs)));
  view.tellLegend(rampOf(levels, colours, title), items);
}

/** Fill the legend of the plan for what changed between visits. */
export function changeLegend(view: PlanView, signs: string[]): void {
  const patch = (what: Change | null): HTMLCanvasElement =>
    swatch((pen) => {
      if (what) {
        const { fill, rim } = CHANGE[what];
        pen.fillStyle = fill;
        pen.fillRect(1, 1, 20, 12);
        if (what === "rose") hatch(false, "#ffffff")(pen);
        pen.strokeStyle = rim;
      } else pen.strokeStyle = colour("ink");
      pen.lineWidth = what ? 2 : 1;
      pen.strokeRect(1, 1, 20, 12);
    });
  const items = h("ul");
  for (const what of ["dried", "rose", null] as const)
    items.append(h("li", {}, patch(what), t(`change-${what ?? "none"}`)));
  items.append(...signKeys(new Set(signs)));
  view.tellLegend(h("strong", {}, t("change-legend")), items);
}

/** Fill the legend of the plan for a map and the signs on it, or for the signs alone. */
export function legend(view: PlanView, answer: MapAnswer | null, present: Set<string>): void {
  const items = answer ? readingKey(answer.wet_level) : h("ul");
  items.append(...signKeys(present));
  if (!answer) return view.tellLegend(items.childElementCount > 0 && items);
  const title = t("legend-title", { instrument: answer.instrument });
  view.tellLegend(rampOf(answer.levels, answer.colours, title), items);
}

/** Switches for the layers of the map. */
export function layerSwitches(view: PlanView, present: Set<string>): HTMLElement {
  const id = nextId("layers");
  const box = h(
    "fieldset",
    { id, class: "two" },
    h("legend", { class: "visually-hidden" }, t("layers")),
  );
  for (const entry of ENTRIES) {
    if (!entry.layers.some((name) => present.has(name))) continue;
    const set = (shown: boolean): void => {
      entry.shown = shown;
      for (const name of entry.layers) view.setVisible(name, shown);
    };
    set(entry.shown);
    box.append(check(t(entry.key), entry.shown, set));
  }
  return box;
}
