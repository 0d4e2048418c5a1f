// The plan on the screen: one OpenLayers map in metres, kept while tasks change.

import Feature, { type FeatureLike } from "ol/Feature";
import OlMap from "ol/Map";
import View from "ol/View";
import type { Coordinate } from "ol/coordinate";
import ScaleLine from "ol/control/ScaleLine";
import Zoom from "ol/control/Zoom";
import { boundingExtent, createEmpty, extend, isEmpty, type Extent } from "ol/extent";
import GeoJSON from "ol/format/GeoJSON";
import { LineString, Point, Polygon, type Geometry } from "ol/geom";
import type Interaction from "ol/interaction/Interaction";
import { defaults as defaultInteractions } from "ol/interaction/defaults";
import type Layer from "ol/layer/Layer";
import VectorLayer from "ol/layer/Vector";
import VectorImageLayer from "ol/layer/VectorImage";
import Projection from "ol/proj/Projection";
import VectorSource from "ol/source/Vector";
import type Style from "ol/style/Style";
import type { StyleFunction } from "ol/style/Style";

import type { Place, Wall } from "./geometry";
import { h } from "./dom";
import { setLabels, watchLabels, type Labelled } from "./labels";
import { nameAt, namePlace } from "./names";
import {
  lineStyle,
  nameStyle,
  outlineStyle,
  roomStyle,
  setTracing,
  wallsAreNamed,
} from "./plan_style";
import type { Line, Plan, Room } from "./plan_types";
import { t } from "./strings";

export const FRAME = new Projection({
  code: "plan",
  units: "m",
  extent: [-1e5, -1e5, 1e5, 1e5],
  getPointResolution: (resolution) => resolution,
});

/** Room left for buttons, scale bar and labels: top, right, bottom, left [px]. */
const FRAME_PADDING = [40, 52, 68, 76] as const;

const reader = new GeoJSON({ dataProjection: FRAME, featureProjection: FRAME });

export function readFeatures(collection: Collection): Feature<Geometry>[] {
  return reader.readFeatures(collection);
}

export interface Collection {
  type: "FeatureCollection";
  features: { type: "Feature"; geometry: unknown; properties: Record<string, unknown> }[];
}

export function closed(ring: Place[]): Place[] {
  return ring.length ? [...ring, ring[0]!] : ring;
}

export function open(ring: Coordinate[]): Place[] {
  return ring.slice(0, -1).map(([x, y]) => [x!, y!]);
}

export function roomFeature(room: Room, index: number): Feature<Geometry> {
  const feature = new Feature<Geometry>(new Polygon(room.rings.map(closed)));
  feature.setProperties({ what: "room", index, name: room.name });
  return feature;
}

export function lineFeature(line: Line, index: number): Feature<Geometry> {
  const geometry =
    line.shape === "point"
      ? new Point(line.places[0]!)
      : line.shape === "area"
        ? new Polygon([closed(line.places)])
        : new LineString(line.places);
  const feature = new Feature<Geometry>(geometry);
  feature.setProperties({ what: "line", index, kind: line.kind, name: line.name });
  return feature;
}

function pathsOf(geometry: Geometry | undefined): Place[][] {
  if (geometry instanceof Polygon) return geometry.getCoordinates() as Place[][];
  if (geometry instanceof LineString) return [geometry.getCoordinates() as Place[]];
  return geometry instanceof Point ? [[geometry.getCoordinates() as Place]] : [];
}

/** Names of services, joints and the like; walls are named only where the plan is drawn. */
function lineLabels(lines: Feature<Geometry>[]): Labelled[] {
  return lines.flatMap((feature) => {
    const [place, name] = [namePlace(feature.getGeometry()), String(feature.get("name") ?? "")];
    const named = name && !(feature.getGeometry() instanceof Point);
    if (!place || !named || String(feature.get("kind")).endsWith("wall")) return [];
    feature.set("name_place", place, true);
    return [{ feature, place, text: name, radius: 0, small: true, rank: 1 }];
  });
}

function lineNameStyle(feature: FeatureLike, resolution: number): Style[] {
  return wallsAreNamed() ? [] : nameAt(feature, resolution, String(feature.get("name")), true);
}

function roomLabel(feature: Feature<Geometry>): Labelled {
  const [x, y] = (feature.getGeometry() as Polygon).getInteriorPoint().getCoordinates() as Place;
  return {
    feature,
    place: [x, y],
    text: String(feature.get("name") ?? ""),
    radius: 0,
    small: false,
    rank: 3,
  };
}

export class PlanView {
  readonly map: OlMap;
  readonly element: HTMLElement;
  readonly canvas: HTMLElement;
  readonly rooms = new VectorSource<Feature<Geometry>>();
  readonly lines = new VectorSource<Feature<Geometry>>();
  private readonly added = new Map<string, Layer>();
  private interactions: Interaction[] = [];
  private readonly scale = new ScaleLine({ minWidth: 110, maxWidth: 230 });
  private fitted: number | undefined;
  private renaming = false;
  private picture: Layer | null = null;
  private pictured: Extent | null = null;
  private taps: ((place: Place, features: FeatureLike[], touch: boolean) => void) | null = null;
  readonly legend = h("div", { class: "legend" });
  readonly tools = h("div", { class: "tools" });
  /** Upper right corner, for what concerns the whole page. */
  readonly corner = h("div", { class: "corner" });

  constructor() {
    const target = h("div", {
      class: "canvas",
      tabindex: 0,
      role: "application",
      "aria-label": t("canvas-label"),
    });
    this.canvas = target;
    const fit = h(
      "button",
      {
        type: "button",
        class: "fit",
        title: t("fit"),
        "aria-label": t("fit"),
        onclick: () => this.fit(),
      },
      "⤢",
    );
    this.element = h(
      "section",
      { class: "plan", "aria-label": t("plan-region") },
      h(
        "div",
        { class: "canvas-box" },
        target,
        this.tools,
        fit,
        this.corner,
        h("p", { class: "north" }, h("span", { "aria-hidden": "true" }, "▲"), t("plan-north")),
      ),
      this.legend,
    );
    this.map = new OlMap({
      target,
      controls: [
        new Zoom({ zoomInTipLabel: t("zoom-in"), zoomOutTipLabel: t("zoom-out") }),
        this.scale,
      ],
      interactions: defaultInteractions({
        altShiftDragRotate: false,
        pinchRotate: false,
        doubleClickZoom: false,
      }),
      view: new View({
        projection: FRAME,
        center: [5, 4],
        resolution: 0.02,
        minResolution: 0.0005,
        maxResolution: 2,
        enableRotation: false,
      }),
      moveTolerance: 4,
    });
    this.map.addLayer(
      new VectorLayer({
        source: this.rooms,
        style: roomStyle,
        zIndex: 10,
        properties: { name: "rooms" },
      }),
    );
    this.map.addLayer(
      new VectorLayer({
        source: this.rooms,
        style: outlineStyle,
        zIndex: 39,
        properties: { name: "outlines" },
      }),
    );
    this.map.addLayer(
      new VectorLayer({
        source: this.lines,
        style: lineStyle,
        zIndex: 40,
        properties: { name: "lines" },
      }),
    );
    this.map.addLayer(
      new VectorLayer({
        source: this.rooms,
        style: nameStyle,
        zIndex: 66,
        properties: { name: "names" },
      }),
    );
    this.map.addLayer(
      new VectorLayer({
        source: this.lines,
        style: lineNameStyle,
        zIndex: 66,
        properties: { name: "line-names" },
      }),
    );
    watchLabels(() => this.rename());
    this.map.on("singleclick", (event) => {
      if (!this.taps) return;
      const touch =
        event.originalEvent instanceof PointerEvent && event.originalEvent.pointerType === "touch";
      const features = this.map.getFeaturesAtPixel(event.pixel, { hitTolerance: touch ? 14 : 6 });
      this.taps([event.coordinate[0]!, event.coordinate[1]!], features, touch);
    });
    // Where the plan stands on the screen, for whoever drives the page by script.
    this.map.on("moveend", () => {
      const view = this.map.getView();
      target.dataset.view = [...view.getCenter()!, view.getResolution()].join(" ");
    });
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.redraw());
    new ResizeObserver(() => this.map.updateSize()).observe(target);
  }

  setUnit(unit: "m" | "ft"): void {
    this.scale.setUnits(unit === "m" ? "metric" : "imperial");
  }

  /** Draw names again whose places changed, once for all changes of this moment. */
  private rename(): void {
    if (this.renaming) return;
    this.renaming = true;
    queueMicrotask(() => {
      this.renaming = false;
      for (const layer of this.map.getAllLayers())
        if (layer instanceof VectorLayer) layer.changed();
    });
  }

  redraw(): void {
    for (const layer of this.map.getAllLayers()) layer.changed();
  }

  show(plan: Plan | null): void {
    this.rooms.clear();
    this.lines.clear();
    setLabels("rooms", []);
    setLabels("lines", []);
    if (!plan) return;
    this.rooms.addFeatures(plan.rooms.map(roomFeature));
    setLabels("rooms", this.rooms.getFeatures().map(roomLabel));
    this.lines.addFeatures(plan.lines.map(lineFeature));
    setLabels("lines", wallsAreNamed() ? [] : lineLabels(this.lines.getFeatures()));
  }

  fit(extra: Extent | null = null): void {
    const extent = createEmpty();
    for (const source of [this.rooms, this.lines])
      if (source.getFeatures().length) extend(extent, source.getExtent()!);
    if (extra) extend(extent, extra);
    if (isEmpty(extent) && this.pictured) extend(extent, this.pictured);
    if (isEmpty(extent)) extend(extent, [0, 0, 10, 8]);
    this.map.updateSize();
    this.map.getView().fit(extent, { padding: [...FRAME_PADDING], maxZoom: 40 });
    this.fitted = this.map.getView().getResolution();
  }

  /** Fit once more when the legend has taken its room, unless the user has moved the plan. */
  settle(): void {
    const before = this.map.getSize()?.[1];
    this.map.updateSize();
    if (this.map.getSize()?.[1] !== before && this.fitted === this.map.getView().getResolution())
      this.fit();
  }

  /** Put a named layer on the plan, in place of one of that name. */
  layer(
    name: string,
    features: Feature<Geometry>[],
    style: StyleFunction,
    zIndex: number,
    heavy = false,
  ): VectorSource<Feature<Geometry>> {
    this.drop(name);
    const source = new VectorSource<Feature<Geometry>>({ features });
    const options = { source, style, zIndex, properties: { name } };
    const layer = heavy
      ? new VectorImageLayer({ ...options, imageRatio: 2 })
      : new VectorLayer({ ...options, declutter: false });
    this.map.addLayer(layer);
    this.added.set(name, layer);
    return source;
  }

  collection(
    name: string,
    collection: Collection,
    style: StyleFunction,
    zIndex: number,
    heavy = false,
  ): VectorSource<Feature<Geometry>> {
    return this.layer(name, reader.readFeatures(collection), style, zIndex, heavy);
  }

  layerNamed(name: string): Layer | null {
    return this.added.get(name) ?? null;
  }

  source(name: string): VectorSource<Feature<Geometry>> | null {
    return (
      (this.added.get(name)?.getSource() as VectorSource<Feature<Geometry>> | undefined) ?? null
    );
  }

  setVisible(name: string, visible: boolean): void {
    this.added.get(name)?.setVisible(visible);
  }

  drop(name: string): void {
    const layer = this.added.get(name);
    if (layer) this.map.removeLayer(layer);
    this.added.delete(name);
    setLabels(name, []);
  }

  /** Corners and walls of rooms and lines near a place, but of one of them. */
  around(place: Place, reach: number, but: Feature | null = null): [Place[], Wall[]] {
    const [x, y] = place;
    const extent = [x - reach, y - reach, x + reach, y + reach];
    const corners: Place[] = [];
    const walls: Wall[] = [];
    for (const source of [this.rooms, this.lines])
      for (const feature of source.getFeaturesInExtent(extent)) {
        if (feature === but) continue;
        for (const path of pathsOf(feature.getGeometry())) {
          corners.push(...path);
          path.slice(1).forEach((to, i) => walls.push([path[i]!, to]));
        }
      }
    return [corners, walls];
  }

  /** The name of the room at a place, or null off the floor. */
  roomAt(place: Place): string | null {
    const room = this.rooms.getFeaturesAtCoordinate(place)[0];
    return room ? String(room.get("name")) : null;
  }

  use(...interactions: Interaction[]): void {
    for (const one of interactions) {
      this.map.addInteraction(one);
      this.interactions.push(one);
    }
  }

  stop(): void {
    for (const one of this.interactions) this.map.removeInteraction(one);
    this.interactions = [];
  }

  onTap(taps: ((place: Place, features: FeatureLike[], touch: boolean) => void) | null): void {
    this.taps = taps;
  }

  /** Everything a task put here goes; the plan itself stays. */
  clear(): void {
    this.stop();
    this.onTap(null);
    for (const name of [...this.added.keys()]) this.drop(name);
    this.legend.replaceChildren();
    this.tools.replaceChildren();
  }

  /** Show a picture under the rooms, or none; its extent is fitted where there is no room. */
  under(layer: Layer | null, extent: Extent | null): void {
    if (this.picture) this.map.removeLayer(this.picture);
    this.picture = layer;
    this.pictured = extent;
    setTracing(layer !== null);
    this.rooms.changed();
    if (layer) this.map.addLayer(layer);
  }

  centreOn(places: Place[]): void {
    const extent = boundingExtent(places);
    this.map.getView().setCenter([(extent[0]! + extent[2]!) / 2, (extent[1]! + extent[3]!) / 2]);
  }
}
