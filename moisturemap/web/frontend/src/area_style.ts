// How bands, what is unsure or unknown, and what dried or rose look: by hatch as well as by colour.

import type { FeatureLike } from "ol/Feature";
import { Fill, Stroke, Style } from "ol/style";

import { keptStyle } from "./kept_style";

/** A band of the map, in the colour the program gave it. */
export function bandStyle(feature: FeatureLike): Style {
  const fill = String(feature.get("colour"));
  return keptStyle(
    `band:${fill}`,
    () =>
      new Style({
        fill: new Fill({ color: fill }),
        stroke: new Stroke({ color: fill, width: 0.5 }),
      }),
  );
}

function pattern(kind: "lines" | "dots"): CanvasPattern | string {
  const ratio = devicePixelRatio || 1;
  const size = (kind === "dots" ? 14 : 9) * ratio;
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = size;
  const pen = canvas.getContext("2d")!;
  for (const [ink, width] of [
    ["rgb(255 255 255 / 75%)", 2.6],
    ["rgb(20 30 34 / 80%)", 1.1],
  ] as [string, number][]) {
    pen.strokeStyle = pen.fillStyle = ink;
    pen.lineWidth = width * ratio;
    pen.beginPath();
    if (kind === "dots") {
      pen.arc(size / 2, size / 2, width * 0.6 * ratio, 0, 7);
      pen.fill();
    } else {
      for (const shift of [-size, 0, size]) {
        pen.moveTo(shift, size);
        pen.lineTo(shift + size, 0);
      }
      pen.stroke();
    }
  }
  return pen.createPattern(canvas, "repeat") ?? "transparent";
}

export function unsureStyle(): Style {
  return keptStyle("unsure", () => new Style({ fill: new Fill({ color: pattern("lines") }) }));
}

export function unknownStyle(): Style {
  return keptStyle("unknown", () => new Style({ fill: new Fill({ color: pattern("dots") }) }));
}

export type Change = "dried" | "rose";

/** Paper-light what dried, dark what rose: told apart in grey, and neither as a wet reading is. */
export const CHANGE: Record<Change, { fill: string; rim: string }> = {
  dried: { fill: "#d9e8ef", rim: "#3280b0" },
  rose: { fill: "#1a2752", rim: "#1a2752" },
};

export function changeStyle(what: Change): (feature: FeatureLike) => Style[] {
  const { fill, rim } = CHANGE[what];
  const patch = (): Style =>
    new Style({ fill: new Fill({ color: fill }), stroke: new Stroke({ color: rim, width: 2 }) });
  const lines = (): Style => new Style({ fill: new Fill({ color: pattern("lines") }) });
  return () => [
    keptStyle(what, patch),
    ...(what === "rose" ? [keptStyle("rose-lines", lines)] : []),
  ];
}
