// The frame of the plan on the page: its canvas, the buttons on it, plan north and the legend.

import { button, h, replace, type Child } from "./dom";
import { t } from "./strings";

export interface PlanFrame {
  element: HTMLElement;
  canvas: HTMLElement;
  /** Upper left, for the task. */
  tools: HTMLElement;
  /** Upper right corner, for what concerns the whole page. */
  corner: HTMLElement;
  /** Fill the legend anew; where the plan is low it is folded to a button with its colours. */
  tell: (...pieces: Child[]) => void;
}

export function planFrame(fit: () => void): PlanFrame {
  const canvas = h("div", {
    class: "canvas",
    tabindex: 0,
    role: "application",
    "aria-label": t("canvas-label"),
  });
  const [tools, corner] = [h("div", { class: "tools" }), h("div", { class: "corner" })];
  const legend = h("div", { class: "legend", id: "legend" });
  const turn = (open: boolean): void => {
    element.classList.toggle("keyed", open);
    key.setAttribute("aria-expanded", String(open));
  };
  const flip = (): void => turn(!element.classList.contains("keyed"));
  const key = button("", flip, "key-of-map", { "aria-controls": "legend", hidden: true });
  const whole = button("⤢", fit, "fit", { title: t("fit"), "aria-label": t("fit") });
  const north = h(
    "p",
    { class: "north" },
    h("span", { "aria-hidden": "true" }, "▲"),
    t("plan-north"),
  );
  const box = h("div", { class: "canvas-box" }, canvas, tools, whole, corner, north);
  const element = h("section", { class: "plan", "aria-label": t("plan-region") }, box, legend, key);
  const tell = (...pieces: Child[]): void => {
    replace(legend, ...pieces);
    const ramp = legend.querySelector(".steps")?.cloneNode(true);
    replace(key, h("span", {}, t("map-key")), ramp);
    key.hidden = !pieces.length;
    turn(key.getAttribute("aria-expanded") === "true" && pieces.length > 0);
  };
  return { element, canvas, tools, corner, tell };
}
