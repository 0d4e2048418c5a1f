// The key of the map: always there with the map, and able to turn layers off.

import { check, h, nextId, replace } from "./dom";
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
  { layers: ["anomalies"], key: "layer-anomalies", shown: true },
  { layers: ["holes"], key: "layer-holes", shown: true },
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

function hatch(dots: boolean): (pen: CanvasRenderingContext2D) => void {
  return (pen) => {
    pen.strokeStyle = pen.fillStyle = colour("ink");
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

const SYMBOLS: [layer: string, key: Key, sides: number, shade: string][] = [
  ["holes", "legend-hole", 0, "drill"],
  ["tests", "legend-test", 3, "ink"],
  ["anomalies", "legend-disturbed", 4, "warning"],
];

/** A ring, a triangle or a square. */
function symbol(sides: number, shade: string): (pen: CanvasRenderingContext2D) => void {
  return (pen) => {
    pen.strokeStyle = shade;
    pen.lineWidth = 2;
    pen.beginPath();
    if (sides === 0) pen.arc(11, 7, 5, 0, 7);
    else if (sides === 4) pen.rect(6, 2, 10, 10);
    else {
      pen.moveTo(11, 1.5);
      pen.lineTo(17, 12);
      pen.lineTo(5, 12);
      pen.closePath();
    }
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
  for (const level of levels.length > 6
    ? levels.filter((_, i) => i % 2 === 0 || i === levels.length - 1)
    : levels)
    limits.append(h("span", {}, String(level)));
  return h("div", {}, h("strong", {}, title), levels.length ? steps : null, limits);
}

/** Fill the legend of the plan for a map. */
export function legend(view: PlanView, answer: MapAnswer, present: Set<string>): void {
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
  const items = h("ul");
  if (answer.wet_level !== null)
    items.append(h("li", {}, line, t("legend-wet", { level: number(answer.wet_level) })));
  items.append(
    h("li", {}, swatch(hatch(false)), t("legend-unsure")),
    h("li", {}, swatch(hatch(true)), t("legend-unknown")),
  );
  for (const [layer, key, sides, shade] of SYMBOLS)
    if (present.has(layer)) items.append(h("li", {}, swatch(symbol(sides, colour(shade))), t(key)));
  const ramp = rampOf(
    answer.levels,
    answer.colours,
    t("legend-title", { instrument: answer.instrument }),
  );
  items.prepend(h("li", {}, t("dry-to-wet")));
  replace(view.legend, ramp, items);
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
