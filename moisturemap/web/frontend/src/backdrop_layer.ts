// The picture under the plan, drawn turned and scaled as it lies on the floor.

import ImageLayer from "ol/layer/Image";
import ImageCanvas from "ol/source/ImageCanvas";

import { extentOf, type Backdrop } from "./backdrop";
import type { PlanView } from "./plan_view";

/** Where a picture is had from; the address changes when the picture does. */
export function addressOf(base: string, { photo, rectangle }: Backdrop): string {
  const straight = rectangle
    ? `?rectangle=${encodeURIComponent(
        JSON.stringify({
          corners: rectangle.corners.map(([u, v]) => [tenths(u), tenths(v)]),
          sides: rectangle.sides,
        }),
      )}`
    : "";
  return `${base}/pictures/${photo}${straight}`;
}

function tenths(pixels: number): number {
  return Math.round(pixels * 10) / 10;
}

export async function loadPicture(url: string): Promise<HTMLImageElement> {
  const image = new Image();
  image.src = url;
  await image.decode();
  return image;
}

/** Keeps one picture on the plan; what cannot be loaded is told once. */
export class BackdropLayer {
  private url = "";
  private image: HTMLImageElement | null = null;
  private backdrop: Backdrop | null = null;
  private layer: ImageLayer<ImageCanvas> | null = null;

  constructor(
    private readonly view: PlanView,
    private readonly base: string,
    private readonly failed: (backdrop: Backdrop) => void,
  ) {}

  show(backdrop: Backdrop | null, opacity = backdrop?.opacity ?? 1): void {
    const same = backdrop !== null && backdrop === this.backdrop && this.layer !== null;
    this.backdrop = backdrop;
    if (!backdrop) return this.hide();
    const url = addressOf(this.base, backdrop);
    if (url !== this.url) return void this.load(url, backdrop);
    if (!same || this.layer?.getOpacity() !== opacity) this.put(opacity);
  }

  hide(): void {
    this.layer = null;
    this.view.under(null, null);
  }

  private async load(url: string, backdrop: Backdrop): Promise<void> {
    this.url = url;
    this.image = null;
    this.hide();
    this.view.under(null, extentOf(backdrop));
    try {
      const image = await loadPicture(url);
      if (this.url !== url) return;
      this.image = image;
      if (this.backdrop) this.put(this.backdrop.opacity);
    } catch {
      if (this.url === url && this.backdrop) {
        this.url = "";
        this.failed(backdrop);
      }
    }
  }

  private put(opacity: number): void {
    const { image, backdrop } = this;
    if (!image || !backdrop) return;
    const source = new ImageCanvas({
      ratio: 1,
      projection: this.view.map.getView().getProjection(),
      canvasFunction: (extent, resolution, pixelRatio, size) => {
        const canvas = document.createElement("canvas");
        [canvas.width, canvas.height] = size.map(Math.round) as [number, number];
        const [x0, y0, a, b] = backdrop.placed;
        const k = pixelRatio / resolution;
        const draw = canvas.getContext("2d");
        draw?.setTransform(
          a * k,
          -b * k,
          b * k,
          a * k,
          (x0 - extent[0]!) * k,
          (extent[3]! - y0) * k,
        );
        draw?.drawImage(image, 0, 0, backdrop.width, backdrop.height);
        return canvas;
      },
    });
    this.layer = new ImageLayer({ source, zIndex: 1, opacity });
    this.view.under(this.layer, extentOf(backdrop));
  }
}
