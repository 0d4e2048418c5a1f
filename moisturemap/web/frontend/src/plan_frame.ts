// The frame of the plan on the page: its canvas, the buttons on it, plan north and the legend.

import { button, h } from "./dom";
import { t } from "./strings";

export interface PlanFrame {
  element: HTMLElement;
  canvas: HTMLElement;
  /** Upper left, for the task. */
  tools: HTMLElement;
  /** Upper right corner, for what concerns the whole page. */
  corner: HTMLElement;
  legend: HTMLElement;
}

export function planFrame(fit: () => void): PlanFrame {
  const canvas = h("div", {
    class: "canvas",
    tabindex: 0,
    role: "application",
    "aria-label": t("canvas-label"),
  });
  const [tools, corner] = [h("div", { class: "tools" }), h("div", { class: "corner" })];
  const legend = h("div", { class: "legend" });
  const whole = button("⤢", fit, "fit", { title: t("fit"), "aria-label": t("fit") });
  const north = h(
    "p",
    { class: "north" },
    h("span", { "aria-hidden": "true" }, "▲"),
    t("plan-north"),
  );
  const box = h("div", { class: "canvas-box" }, canvas, tools, whole, corner, north);
  const element = h("section", { class: "plan", "aria-label": t("plan-region") }, box, legend);
  return { element, canvas, tools, corner, legend };
}
