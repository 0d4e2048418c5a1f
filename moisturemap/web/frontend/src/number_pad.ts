// The pad under one number: large keys, the way on far from what stores another value.

import { button, h } from "./dom";
import { t } from "./strings";

const PAD = [
  "1",
  "2",
  "3",
  "full",
  "4",
  "5",
  "6",
  "back",
  "7",
  "8",
  "9",
  "skip",
  ".",
  "0",
  "⌫",
  "store",
];

export interface PadActions {
  type: (sign: string) => void;
  wipe: () => void;
  full: () => void;
  back: () => void;
  skip: () => void;
  store: () => void;
}

export function numberPad(on: PadActions): HTMLElement {
  const acts: Record<string, [string, () => void]> = {
    full: [t("full-scale"), on.full],
    back: [t("back"), on.back],
    skip: [t("skip-place"), on.skip],
    store: [t("store-next"), on.store],
  };
  const pad = h("div", { class: "pad", role: "group", "aria-label": t("number-pad") });
  for (const sign of PAD) {
    const act = acts[sign];
    if (act) pad.append(button(act[0], act[1], sign === "store" ? "main small" : "small"));
    else if (sign === "⌫") pad.append(button(sign, on.wipe, "", { "aria-label": t("wipe") }));
    else pad.append(button(sign, () => on.type(sign)));
  }
  return pad;
}
