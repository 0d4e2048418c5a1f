// A second plan beside the first: whatever moves one moves the other.

import type Feature from "ol/Feature";
import OlMap from "ol/Map";
import type { Geometry } from "ol/geom";
import { defaults as defaultInteractions } from "ol/interaction/defaults";
import VectorLayer from "ol/layer/Vector";
import VectorImageLayer from "ol/layer/VectorImage";
import VectorSource from "ol/source/Vector";

import { h } from "./dom";
import { layout, setLabels } from "./labels";
import { nameLayer } from "./map_layers";
import { readFeatures, type Collection } from "./plan_features";
import { lineLabels, lineNameStyle, roomLabels } from "./plan_names";
import { lineStyle, nameStyle, outlineStyle, roomStyle } from "./plan_style";
import type { PlanView } from "./plan_view";
import type { StyleFunction } from "ol/style/Style";
import { t } from "./strings";

/** The same features once more, so that their names can stand elsewhere. */
function copyOf(source: VectorSource<Feature<Geometry>>): VectorSource<Feature<Geometry>> {
  return new VectorSource({ features: source.getFeatures().map((one) => one.clone()) });
}

export class SideView {
  private readonly target = h("div", { class: "canvas second", role: "img" });
  private readonly first = h("p", { class: "side-name" });
  private readonly second = h("p", { class: "side-name second" });
  private readonly map: OlMap;
  private readonly shown: VectorImageLayer<VectorSource>[] = [];
  private readonly carried = new Map<string, VectorLayer>();
  private names: [first: string, second: string] = ["", ""];

  /** Names have room where other things stand than on the first plan. */
  private readonly labels = layout();

  constructor(private readonly view: PlanView) {
    const [rooms, lines] = [copyOf(view.rooms), copyOf(view.lines)];
    setLabels("rooms", roomLabels(rooms.getFeatures()), this.labels);
    setLabels("lines", lineLabels(lines.getFeatures()), this.labels);
    this.map = new OlMap({
      target: this.target,
      controls: [],
      interactions: defaultInteractions({
        altShiftDragRotate: false,
        pinchRotate: false,
        doubleClickZoom: false,
      }),
      view: view.map.getView(),
      layers: [
        new VectorLayer({ source: rooms, style: roomStyle, zIndex: 10 }),
        new VectorLayer({ source: rooms, style: outlineStyle, zIndex: 39 }),
        new VectorLayer({ source: lines, style: lineStyle, zIndex: 40 }),
        new VectorLayer({ source: rooms, style: nameStyle, zIndex: 66 }),
        new VectorLayer({ source: lines, style: lineNameStyle, zIndex: 66 }),
      ],
    });
    view.canvas.parentElement!.append(this.target, this.first, this.second);
    view.canvas.parentElement!.classList.add("two-up");
    this.map.updateSize();
    view.map.updateSize();
    view.fit();
  }

  /** Show layers on the second plan, and call both by their names. */
  show(
    layers: [collection: Collection, style: StyleFunction, zIndex: number][],
    names: [first: string, second: string],
  ): void {
    for (const layer of this.shown.splice(0)) this.map.removeLayer(layer);
    for (const [collection, style, zIndex] of layers) {
      const source = new VectorSource({ features: readFeatures(collection) });
      const layer = new VectorImageLayer({ source, style, zIndex, imageRatio: 2 });
      this.shown.push(layer);
      this.map.addLayer(layer);
    }
    this.names = [this.first.textContent, this.second.textContent] = names;
    this.target.setAttribute("aria-label", t("second-plan", { visit: names[1] }));
  }

  /**
   * Draw a layer of the first plan that is of one visit where that visit stands, and there alone;
   * whether that is the first plan.
   */
  carry(name: string, style: StyleFunction, zIndex: number, visit: string | null): boolean {
    const here = this.names[0] === visit;
    this.put(name, style, zIndex, this.names[1] === visit);
    this.view.setVisible(name, here);
    if (!here) setLabels(name, []);
    return here;
  }

  /** Draw a layer of the first plan that is of no one visit on both. */
  share(name: string, style: StyleFunction, zIndex: number): void {
    this.put(name, style, zIndex, true);
  }

  private put(name: string, style: StyleFunction, zIndex: number, here: boolean): void {
    const before = this.carried.get(name);
    if (before) this.map.removeLayer(before);
    this.carried.delete(name);
    setLabels(name, [], this.labels);
    const drawn = this.view.source(name);
    if (drawn && here) {
      const source = copyOf(drawn);
      nameLayer(name, source.getFeatures(), this.labels);
      const layer = new VectorLayer({ source, style, zIndex });
      this.carried.set(name, layer);
      this.map.addLayer(layer);
    }
    // names stand elsewhere now
    for (const layer of this.map.getAllLayers()) if (layer instanceof VectorLayer) layer.changed();
  }

  remove(): void {
    this.view.canvas.parentElement?.classList.remove("two-up");
    for (const one of [this.target, this.first, this.second]) one.remove();
    this.map.setTarget(undefined);
    this.map.dispose();
    this.view.map.updateSize();
    this.view.fit();
  }
}
