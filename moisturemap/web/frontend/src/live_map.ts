// The map while readings are still being taken: bands only, drawn again after each reading;
// and before the first map of a visit, while that is computed.

import { Latest, Refused, Unreachable } from "./api";
import { h, replace } from "./dom";
import { rampOf, unknownKey } from "./legend";
import { bandStyle, unknownStyle } from "./area_style";
import type { Collection } from "./plan_features";
import { t } from "./strings";
import type { Context } from "./task";

interface Live {
  bands: Collection | null;
  /** Floor far from every reading so far. */
  unknown?: Collection;
  levels: number[];
  colours: string[];
  sentence: string;
}

export class LiveMap {
  readonly element = h("p", { class: "words" });
  private readonly latest = new Latest();

  constructor(private readonly context: Context) {}

  /** Draw the readings so far; whether there is a map of them. */
  async redraw(): Promise<boolean> {
    try {
      const answer = await this.latest.ask<Live>(
        this.context.path(`live?visit=${encodeURIComponent(this.context.visit ?? "")}`),
      );
      if (!answer) return false;
      replace(this.element, answer.sentence);
      if (!answer.bands) return false;
      this.context.view.collection("live", answer.bands, bandStyle, 20, true);
      if (answer.unknown)
        this.context.view.collection("live-unknown", answer.unknown, unknownStyle, 25, true);
      this.context.view.tellLegend(
        rampOf(answer.levels, answer.colours, t("quick-legend")),
        h("ul", {}, h("li", {}, t("dry-to-wet")), unknownKey()),
      );
      this.context.view.settle();
      return true;
    } catch (error) {
      if (!(error instanceof Refused || error instanceof Unreachable)) throw error;
      replace(this.element, t("live-not", { why: error.message }));
      return false;
    }
  }

  drop(): void {
    this.latest.drop();
    for (const name of ["live", "live-unknown"]) this.context.view.drop(name);
    this.context.view.tellLegend();
  }
}
