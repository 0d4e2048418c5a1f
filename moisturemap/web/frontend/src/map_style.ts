// How readings, bands, zones, anomalies, holes and tests look on the plan. What matters is told by
// shape or hatch as well as by colour.

import type { FeatureLike } from "ol/Feature";
import { LineString, Point } from "ol/geom";
import { Circle, Fill, RegularShape, Stroke, Style, type Text } from "ol/style";

import { labelOffset } from "./labels";
import { colour, label } from "./plan_style";
import { word } from "./strings";

const CONTESTED = "contested";
const SET_ASIDE = [
  "off-plan",
  "duplicate",
  "repeat-differs",
  "out-of-scale",
  "not-numeric",
  "other-instrument",
];
const cache = new Map<string, Style>();
const scheme = matchMedia("(prefers-color-scheme: dark)");
scheme.addEventListener("change", () => cache.clear());

export function keptStyle(key: string, make: () => Style): Style {
  let style = cache.get(key);
  if (!style) cache.set(key, (style = make()));
  return style;
}

let spacing = 1;

/** Tell how close readings stand [m], so that their dots leave the map to be seen. */
export function setSpacing(extent: number[], count: number): void {
  const [west, south, east, north] = extent as [number, number, number, number];
  spacing = Math.sqrt(Math.max((east - west) * (north - south), 0.01) / Math.max(count, 1));
}

/**
 * A reading: a dot; at or beyond the scale an arrowhead; set aside a cross; disturbed a square; over
 * what is contested a ring.
 */
export function readingStyle(feature: FeatureLike, resolution: number): Style {
  const flag = String(feature.get("flag") ?? "clear");
  const censored = String(feature.get("censored") ?? "");
  const shape = SET_ASIDE.includes(flag)
    ? "aside"
    : ["line", "spot", "mesh", "stray"].includes(flag)
      ? "disturbed"
      : censored || (flag === "full-scale" ? "above" : flag === CONTESTED ? CONTESTED : "");
  // Half a pixel is the finest step, so that few styles serve many readings.
  const size = Math.round(Math.min(3, Math.max(1, (0.13 * spacing) / resolution)) * 2) / 2;
  return keptStyle(`reading:${shape}:${size}`, () => {
    const fill = new Fill({ color: colour("surface") });
    const rim = size >= 2 ? 1.5 : 1;
    const stroke = new Stroke({ color: colour("ink"), width: rim });
    const large = 2 * size;
    if (shape === "aside")
      return new Style({
        image: new RegularShape({
          points: 4,
          radius: large,
          radius2: 0,
          angle: Math.PI / 4,
          stroke: new Stroke({ color: colour("quiet"), width: rim + 0.5 }),
        }),
      });
    if (shape === "disturbed")
      return new Style({
        image: new RegularShape({
          points: 4,
          radius: large,
          angle: Math.PI / 4,
          fill,
          stroke: new Stroke({ color: colour("warning"), width: rim + 0.5 }),
        }),
      });
    if (shape === CONTESTED)
      return new Style({
        image: new Circle({
          radius: large - 0.5,
          fill,
          stroke: new Stroke({ color: colour("ink"), width: rim + 0.5 }),
        }),
      });
    if (shape === "above")
      return new Style({
        image: new RegularShape({
          points: 3,
          radius: large,
          fill: new Fill({ color: colour("ink") }),
          stroke: new Stroke({ color: colour("surface"), width: rim }),
        }),
      });
    if (shape === "below")
      return new Style({
        image: new RegularShape({ points: 3, radius: large, angle: Math.PI, fill, stroke }),
      });
    const halo = size >= 2 ? new Stroke({ color: colour("surface"), width: 1.25 }) : undefined;
    return new Style({
      image: new Circle({ radius: size, fill: new Fill({ color: colour("ink") }), stroke: halo }),
    });
  });
}

export function stopStyle(feature: FeatureLike): Style {
  const state = String(feature.get("state"));
  if (state === "now") {
    const image = new Circle({
      radius: 13,
      fill: new Fill({ color: colour("accent") }),
      stroke: new Stroke({ color: colour("surface"), width: 3 }),
    });
    return new Style({
      image,
      text: label(String(feature.get("label")), false, { offsetY: -26 }),
      zIndex: 9,
    });
  }
  return keptStyle(`stop:${state}`, () => {
    const dot = (radius: number, inner: string, rim: string): Circle =>
      new Circle({
        radius,
        fill: new Fill({ color: colour(inner) }),
        stroke: new Stroke({ color: colour(rim), width: 2 }),
      });
    if (state === "read") return new Style({ image: dot(5, "ink", "surface") });
    // read once, and a second time later: the dot of one that is read in the ring of one to come
    if (state === "again") return new Style({ image: dot(3.5, "ink", "surface") });
    return new Style({ image: dot(5, "surface", "ink") });
  });
}

export function wayStyle(): Style {
  return keptStyle(
    "way",
    () =>
      new Style({ stroke: new Stroke({ color: colour("quiet"), width: 1.5, lineDash: [2, 5] }) }),
  );
}

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

/** The text of a feature where its layout puts it. */
function placedLabel(
  feature: FeatureLike,
  resolution: number,
  text: string,
  small: boolean,
  below: number,
): Text | undefined {
  const offset = labelOffset(feature, resolution, { dx: 0, dy: below });
  return text && offset
    ? label(text, small, { offsetX: offset.dx, offsetY: offset.dy })
    : undefined;
}

/** A proposed hole: a ring and its number; pinned has a filled middle. */
export function holeStyle(feature: FeatureLike, resolution: number): Style[] {
  const ink = colour("drill");
  const status = String(feature.get("status"));
  const rim = new Stroke({ color: colour("surface"), width: 7 });
  const ring = new Stroke({ color: ink, width: 3.5 });
  const middle = status === "proposed" ? "rgb(255 255 255 / 70%)" : ink;
  return [
    new Style({ image: new Circle({ radius: 11, stroke: rim }) }),
    new Style({
      image: new Circle({ radius: 11, stroke: ring, fill: new Fill({ color: middle }) }),
      text: placedLabel(feature, resolution, String(feature.get("hole") ?? ""), false, 24),
    }),
  ];
}

/** A calibrated test: a triangle, with what `nameTests` wrote; small and unnamed where holes are chosen. */
export function testStyle(feature: FeatureLike, resolution: number): Style[] {
  const muted = Boolean(feature.get("muted"));
  const ink = colour(muted ? "quiet" : "ink");
  const image = new RegularShape({
    points: 3,
    radius: muted ? 7 : 11,
    fill: new Fill({ color: colour("surface") }),
    stroke: new Stroke({ color: ink, width: muted ? 2 : 3 }),
  });
  return [
    new Style({
      image,
      text: placedLabel(feature, resolution, String(feature.get("text") ?? ""), true, 20),
    }),
  ];
}

export function machineStyle(feature: FeatureLike, resolution: number): Style[] {
  const mover = feature.get("kind") === "air-mover";
  const turn = (Number(feature.get("direction_deg") ?? 0) * Math.PI) / 180;
  const stroke = new Stroke({ color: colour("ink"), width: 3 });
  const fill = new Fill({ color: colour("surface") });
  const image = mover
    ? new RegularShape({ points: 3, radius: 15, fill, stroke, rotation: Math.PI / 2 - turn })
    : new RegularShape({ points: 6, radius: 15, fill, stroke });
  const name = `${feature.get("machine") ?? ""} ${word("machine", String(feature.get("kind")))}`;
  return [new Style({ image, text: placedLabel(feature, resolution, name, true, 26) })];
}

export function spotStyle(): Style {
  return new Style({
    image: new RegularShape({
      points: 4,
      radius: 14,
      radius2: 2,
      stroke: new Stroke({ color: colour("accent"), width: 3 }),
      fill: new Fill({ color: colour("accent") }),
    }),
  });
}

export function changeStyle(what: "dried" | "rose"): (feature: FeatureLike) => Style[] {
  return () =>
    what === "dried"
      ? [
          keptStyle(
            "dried",
            () =>
              new Style({
                fill: new Fill({ color: "#91bace" }),
                stroke: new Stroke({ color: "#3280b0", width: 1.5 }),
              }),
          ),
        ]
      : [
          keptStyle(
            "rose",
            () =>
              new Style({
                fill: new Fill({ color: "#1a2752" }),
                stroke: new Stroke({ color: "#1a2752", width: 1.5 }),
              }),
          ),
          keptStyle("rose-lines", () => new Style({ fill: new Fill({ color: pattern("lines") }) })),
        ];
}

/** A proposed move: an arrow from here to there. */
export function moveStyle(feature: FeatureLike): Style[] {
  const geometry = feature.getGeometry();
  if (!(geometry instanceof LineString)) return [];
  const places = geometry.getCoordinates();
  const [from, to] = [places.at(-2)!, places.at(-1)!];
  const turn = Math.atan2(to[1]! - from[1]!, to[0]! - from[0]!);
  const ink = colour("accent");
  const head = new RegularShape({
    points: 3,
    radius: 10,
    rotation: Math.PI / 2 - turn,
    fill: new Fill({ color: ink }),
  });
  return [
    new Style({ stroke: new Stroke({ color: colour("surface"), width: 6 }) }),
    new Style({ stroke: new Stroke({ color: ink, width: 3, lineDash: [10, 6] }) }),
    new Style({ geometry: new Point(to), image: head }),
  ];
}
