// How the plan is fitted into sight, and once more as long as the user has not moved it.

import type OlMap from "ol/Map";
import { containsExtent, extend, isEmpty, type Extent } from "ol/extent";

import { setFrame, type Box } from "./labels";

type Padding = [top: number, right: number, bottom: number, left: number];

/** Room left for buttons, scale bar and labels: top, right, bottom, left [px]. */
const FRAME_PADDING: Padding = [62, 52, 68, 76];

/** Room between the plan and a form beside it [px]. */
const GAP = 16;
/** Share of the canvas that has to stay free of a form for the plan to be fitted beside it. */
const ROOM = 0.3;

/** The padding of a canvas [px], with what a form beside the plan covers of it. */
function besides(canvas: HTMLElement, padding: Padding): Padding {
  const form = document.querySelector("dialog.side[open]")?.getBoundingClientRect();
  const box = canvas.getBoundingClientRect();
  if (!form || form.left >= box.right || form.top >= box.bottom) return padding;
  const [top, right, bottom, left] = padding;
  if (form.left - box.left > ROOM * box.width)
    return [top, Math.max(right, box.right - form.left + GAP), bottom, left];
  if (form.top - box.top > ROOM * box.height)
    return [top, right, Math.max(bottom, box.bottom - form.top + GAP), left];
  return padding;
}

/** What stands over the canvas beside the plan, words over which are not read. */
const OVER = ".ol-zoom button, .fit, .corner, .tools, .ol-scale-line, .north";

export class PlanFit {
  /** Where the plan stood after it was fitted, and what was fitted with it. */
  private fitted = "";
  private wide: number | undefined;
  private beyond: Extent | null = null;

  constructor(
    private readonly map: OlMap,
    private readonly canvas: HTMLElement,
    private readonly whole: () => Extent,
  ) {
    new ResizeObserver(() => this.resized()).observe(canvas);
  }

  fit(extra: Extent | null): void {
    const extent = this.whole();
    if (extra) extend(extent, extra);
    if (isEmpty(extent)) extend(extent, [0, 0, 10, 8]);
    this.map.updateSize();
    const padding = besides(this.canvas, FRAME_PADDING);
    this.map.getView().fit(extent, { padding, maxZoom: 40 });
    [this.fitted, this.beyond, this.wide] = [this.standing(), extra, this.map.getSize()?.[0]];
    const resolution = this.map.getView().getResolution()!;
    setFrame({ extent, padding, resolution, over: this.over(resolution) });
  }

  /** The buttons and signs over the canvas [px from 0, 0 of the plan]. */
  private over(resolution: number): Box[] {
    const canvas = this.canvas.getBoundingClientRect();
    const [x, y] = this.map.getView().getCenter() as [number, number];
    const left = canvas.left + canvas.width / 2 - x / resolution;
    const top = canvas.top + canvas.height / 2 + y / resolution;
    const found = this.canvas.parentElement?.querySelectorAll(OVER) ?? [];
    return Array.from(found, (one) => one.getBoundingClientRect())
      .filter((box) => box.width > 0)
      .map((box): Box => [box.left - left, box.top - top, box.right - left, box.bottom - top]);
  }

  reveal(rooms: Extent | null): void {
    if (this.fitted !== this.standing() || !rooms || isEmpty(rooms)) return;
    if (!containsExtent(this.map.getView().calculateExtent(), rooms)) this.fit(this.beyond);
  }

  settle(): void {
    const before = this.map.getSize()?.[1];
    this.map.updateSize();
    if (this.map.getSize()?.[1] !== before && this.fitted === this.standing())
      this.fit(this.beyond);
  }

  /** Fit once more when the screen was turned or split anew, unless the user has moved the plan. */
  private resized(): void {
    this.map.updateSize();
    const wide = this.map.getSize()?.[0];
    if (wide && wide !== this.wide && this.fitted === this.standing()) this.fit(this.beyond);
  }

  /** Where the plan stands on the screen. */
  standing(): string {
    const view = this.map.getView();
    return [...view.getCenter()!, view.getResolution()].join(" ");
  }
}
