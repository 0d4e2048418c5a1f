// The bar between plan and panel: dragged, or moved with the arrow keys; its place is kept.

import { h } from "./dom";
import { keep, kept } from "./keep";
import { t } from "./strings";

/** Least and most of the screen that the panel may take [%]. */
const [LEAST, MOST] = [18, 70];
const STEP = 4;
/** About what the panel takes where nobody has set it [%]. */
const USUAL = 40;

interface Shares {
  beside: number | null;
  below: number | null;
}

/** A bar that sets how much of the shell its panel takes, beside the plan or below it. */
export function splitter(shell: HTMLElement, moved: () => void): HTMLElement {
  const shares: Shares = kept<Shares>("panel") ?? { beside: null, below: null };
  const beside = (): boolean => getComputedStyle(bar).cursor === "col-resize";
  const bar = h("div", {
    class: "split",
    role: "separator",
    tabindex: 0,
    "aria-label": t("resize-panel"),
    "aria-valuemin": LEAST,
    "aria-valuemax": MOST,
  });
  const show = (): void => {
    if (shares.beside !== null) shell.style.setProperty("--panel-wide", `${shares.beside}vw`);
    if (shares.below !== null) {
      shell.style.setProperty("--panel-tall", `${shares.below}fr`);
      shell.style.setProperty("--plan-tall", `${100 - shares.below}fr`);
    }
    bar.setAttribute("aria-valuenow", String(shares[beside() ? "beside" : "below"] ?? USUAL));
  };
  const put = (share: number): void => {
    const way = beside() ? "beside" : "below";
    shares[way] = Math.round(Math.min(MOST, Math.max(LEAST, share)));
    show();
    moved();
  };
  const take = (event: PointerEvent): void => {
    if (!bar.hasPointerCapture(event.pointerId)) return;
    const { left, right, top, bottom } = area(shell);
    put(
      beside()
        ? (100 * (right - event.clientX)) / (right - left)
        : (100 * (bottom - event.clientY)) / (bottom - top),
    );
  };
  bar.addEventListener("pointerdown", (event) => bar.setPointerCapture(event.pointerId));
  bar.addEventListener("pointermove", take);
  bar.addEventListener("pointerup", () => keep("panel", shares));
  bar.addEventListener("keydown", (event) => {
    const more = { ArrowLeft: STEP, ArrowUp: STEP, ArrowRight: -STEP, ArrowDown: -STEP };
    const step = more[event.key as keyof typeof more];
    if (step === undefined) return;
    event.preventDefault();
    put((shares[beside() ? "beside" : "below"] ?? shareOf(shell, beside())) + step);
    keep("panel", shares);
  });
  show();
  return bar;
}

/** How much the panel takes as it stands [%]. */
function shareOf(shell: HTMLElement, beside: boolean): number {
  const { left, right, top, bottom } = area(shell);
  const panel = shell.querySelector(".panel")!.getBoundingClientRect();
  return beside ? (100 * panel.width) / (right - left) : (100 * panel.height) / (bottom - top);
}

/** Where plan and panel are together: the whole width, or the height between head and tasks. */
function area(shell: HTMLElement): { left: number; right: number; top: number; bottom: number } {
  const plan = shell.querySelector(".plan")!.getBoundingClientRect();
  const panel = shell.querySelector(".panel")!.getBoundingClientRect();
  return { left: 0, right: innerWidth, top: plan.top, bottom: panel.bottom };
}
