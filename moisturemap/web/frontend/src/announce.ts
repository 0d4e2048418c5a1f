// What is said to everybody, on the screen and aloud.

import { button, h } from "./dom";
import { t } from "./strings";

/** Room above the scale bar and the compass of the plan, and beside it [px]. */
const [ABOVE_PX, BESIDE_PX] = [64, 16];

let live: HTMLElement | null = null;

/** Stand at the foot of the plan where one is shown, whose buttons are at its top. */
function place(): void {
  const box = document.querySelector(".canvas-box")?.getBoundingClientRect();
  const style = live!.style;
  if (!box?.height) {
    live!.removeAttribute("style");
    return;
  }
  style.bottom = `${innerHeight - box.bottom + Math.min(ABOVE_PX, box.height / 4)}px`;
  style.left = `${box.left + box.width / 2}px`;
  style.maxWidth = `min(40rem, ${box.width - BESIDE_PX}px)`;
}

/** Say something to everybody: shown for a while at the foot, and read out. */
export function announce(
  words: string,
  kind: "note" | "bad" = "note",
  act?: [label: string, run: () => void],
): void {
  if (!live) {
    live = h("div", { class: "announce", role: "status", "aria-live": "polite" });
    document.body.append(live);
    addEventListener("resize", place);
  }
  place();
  const item = h("p", { class: kind }, words);
  if (kind === "bad") item.append(button(t("close"), () => item.remove(), "plain"));
  else setTimeout(() => item.remove(), act ? 15_000 : 5000);
  if (act) {
    const [label, run] = act;
    item.append(
      button(
        label,
        () => {
          item.remove();
          run();
        },
        "plain",
      ),
    );
  }
  live.replaceChildren(item);
}

/** Take back what was said, when it is about something no longer shown. */
export function hush(): void {
  live?.replaceChildren();
}
