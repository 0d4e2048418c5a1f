// The page comes to the front: another page or device may have changed meanwhile what it shows.

import { Refused, Unreachable } from "./api";

/** Look again whenever the page comes to the front and nothing is asked; ends what it began. */
export function inFront(look: () => Promise<void>): () => void {
  const came = (): void => {
    if (document.visibilityState !== "visible" || document.querySelector("dialog[open]")) return;
    void look().catch((error: unknown) => {
      // The head says that the line is lost, and the next look comes with the line.
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
    });
  };
  document.addEventListener("visibilitychange", came);
  addEventListener("focus", came);
  return () => {
    document.removeEventListener("visibilitychange", came);
    removeEventListener("focus", came);
  };
}
