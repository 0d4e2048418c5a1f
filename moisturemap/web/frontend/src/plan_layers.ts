// The layers every plan has: floors under the colours of a map, outlines, lines and names over them.

import Feature from "ol/Feature";
import type { Geometry } from "ol/geom";
import VectorLayer from "ol/layer/Vector";
import VectorSource from "ol/source/Vector";
import type { StyleFunction } from "ol/style/Style";

import { lineNameStyle } from "./plan_names";
import { lineStyle, nameStyle, outlineStyle, roomStyle } from "./plan_style";

type Features = VectorSource<Feature<Geometry>>;

export function planLayers(rooms: Features, lines: Features): VectorLayer[] {
  const layers: [name: string, source: Features, style: StyleFunction, zIndex: number][] = [
    ["rooms", rooms, roomStyle, 10],
    ["outlines", rooms, outlineStyle, 39],
    ["lines", lines, lineStyle, 40],
    ["names", rooms, nameStyle, 66],
    ["line-names", lines, lineNameStyle, 66],
  ];
  return layers.map(
    ([name, source, style, zIndex]) =>
      new VectorLayer({ source, style, zIndex, properties: { name } }),
  );
}
