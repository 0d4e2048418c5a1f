// The value under the mouse, beside it. A finger taps instead and is told more.

import type MapBrowserEvent from "ol/MapBrowserEvent";
import Interaction from "ol/interaction/Interaction";

import { h } from "./dom";
import type { Place } from "./geometry";
import { number } from "./numbers";
import type { PlanView } from "./plan_view";
import { t } from "./strings";

export class Hover extends Interaction {
  private readonly box = h("div", { class: "hover", "aria-hidden": "true" });

  constructor(
    private readonly view: PlanView,
    private readonly words: (place: Place) => string,
  ) {
    super({
      handleEvent: (event: MapBrowserEvent) => {
        if (event.type === "pointermove") this.show(event);
        else if (event.type === "pointerdrag") this.box.remove();
        return true;
      },
    });
    view.element.addEventListener("pointerleave", () => this.box.remove(), true);
  }

  override setMap(map: Parameters<Interaction["setMap"]>[0]): void {
    super.setMap(map);
    if (!map) this.box.remove();
  }

  private show(event: MapBrowserEvent): void {
    const pointer = event.originalEvent as PointerEvent;
    const words =
      pointer.pointerType === "mouse" ? this.words(event.coordinate as unknown as Place) : "";
    this.box.textContent = words;
    if (!words) return this.box.remove();
    const [x, y] = event.pixel as [number, number];
    this.box.style.translate = `${x + 14}px ${y + 14}px`;
    if (!this.box.isConnected) this.view.canvas.append(this.box);
  }
}

/** What the band of the map at a place says. */
export function bandWords(view: PlanView, layer: string): (place: Place) => string {
  return (place) => {
    const band = view.source(layer)?.getFeaturesAtCoordinate(place)[0];
    if (!band) return "";
    return t("hover-band", { low: number(band.get("low")), high: number(band.get("high")) });
  };
}
