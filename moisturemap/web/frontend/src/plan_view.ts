// The plan on the screen: one OpenLayers map in metres, kept while tasks change.

import Feature, { type FeatureLike } from "ol/Feature";
import OlMap from "ol/Map";
import View from "ol/View";
import ScaleLine from "ol/control/ScaleLine";
import Zoom from "ol/control/Zoom";
import { boundingExtent, createEmpty, extend, isEmpty, type Extent } from "ol/extent";
import type { Geometry } from "ol/geom";
import type Interaction from "ol/interaction/Interaction";
import { defaults as defaultInteractions } from "ol/interaction/defaults";
import type Layer from "ol/layer/Layer";
import VectorLayer from "ol/layer/Vector";
import VectorImageLayer from "ol/layer/VectorImage";
import VectorSource from "ol/source/Vector";
import type { StyleFunction } from "ol/style/Style";

import type { Place, Wall } from "./geometry";
import { setDots, setLabels, watchLabels } from "./labels";
import {
  FRAME,
  lineFeature,
  pathsOf,
  readFeatures,
  roomFeature,
  type Collection,
} from "./plan_features";
import { PlanFit } from "./plan_fit";
import { planFrame, type PlanFrame } from "./plan_frame";
import { planLayers } from "./plan_layers";
import { lineLabels, roomLabels } from "./plan_names";
import { setTracing } from "./plan_style";
import type { Plan } from "./plan_types";
import { t } from "./strings";

/** A bar of whole metres is named in metres: OpenLayers writes 1000 mm. */
function wholeMetres(canvas: HTMLElement): void {
  const bar = canvas.querySelector(".ol-scale-line-inner");
  const metres = /^(\d+)000 mm$/.exec(bar?.textContent ?? "")?.[1];
  if (bar && metres) bar.textContent = `${metres} m`;
}

export class PlanView {
  readonly map: OlMap;
  readonly element: HTMLElement;
  readonly canvas: HTMLElement;
  readonly rooms = new VectorSource<Feature<Geometry>>();
  readonly lines = new VectorSource<Feature<Geometry>>();
  private readonly added = new Map<string, Layer>();
  private interactions: Interaction[] = [];
  private readonly scale = new ScaleLine({ minWidth: 90, maxWidth: 180 });
  private readonly fitting: PlanFit;
  private renaming = false;
  private picture: Layer | null = null;
  private pictured: Extent | null = null;
  private taps: ((place: Place, features: FeatureLike[], touch: boolean) => void) | null = null;
  readonly tellLegend: PlanFrame["tell"];
  readonly tools: HTMLElement;
  /** Upper right corner, for what concerns the whole page. */
  readonly corner: HTMLElement;

  constructor() {
    const frame = planFrame(() => this.fit());
    const target = frame.canvas;
    ({
      canvas: this.canvas,
      element: this.element,
      tools: this.tools,
      tell: this.tellLegend,
      corner: this.corner,
    } = frame);
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
    for (const layer of planLayers(this.rooms, this.lines)) this.map.addLayer(layer);
    watchLabels(() => this.rename());
    // A single tap is told from a double one after 250 ms; by then the plan may have moved, and the
    // place is the one that lay under the finger.
    let tapped = (): void => undefined;
    this.map.on("click", (event) => {
      const touch =
        event.originalEvent instanceof PointerEvent && event.originalEvent.pointerType === "touch";
      const features = this.map.getFeaturesAtPixel(event.pixel, { hitTolerance: touch ? 14 : 6 });
      const place: [number, number] = [event.coordinate[0]!, event.coordinate[1]!];
      tapped = () => this.taps?.(place, features, touch);
    });
    this.map.on("singleclick", () => tapped());
    this.map.on("postrender", () => wholeMetres(target));
    // Where the plan stands on the screen, for whoever drives the page by script.
    this.map.on("moveend", () => {
      target.dataset.view = this.fitting.standing();
    });
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.redraw());
    this.fitting = new PlanFit(this.map, target, () => this.whole());
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
    setLabels("rooms", roomLabels(this.rooms.getFeatures()));
    this.lines.addFeatures(plan.lines.map(lineFeature));
    setLabels("lines", lineLabels(this.lines.getFeatures()));
  }

  fit(extra: Extent | null = null): void {
    this.fitting.fit(extra);
  }

  /** Fit once more when the legend has taken its room, unless the user has moved the plan. */
  settle(): void {
    this.fitting.settle();
  }

  /** Show a plan, fitted once more when a wall moved out of sight: unless the user moved it. */
  showWhole(plan: Plan): void {
    this.show(plan);
    this.fitting.reveal(this.rooms.getExtent());
  }

  /** All there is to be shown. */
  private whole(): Extent {
    const extent = createEmpty();
    for (const source of [this.rooms, this.lines])
      if (source.getFeatures().length) extend(extent, source.getExtent()!);
    return isEmpty(extent) && this.pictured ? [...this.pictured] : extent;
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
    return this.layer(name, readFeatures(collection), style, zIndex, heavy);
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
    if (name === "readings") setDots(null);
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
    this.tellLegend();
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
