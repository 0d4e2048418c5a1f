// Colours span the scale of the instrument, so that visits and jobs can be compared, or, where asked,
// what was read on this floor. The choice is kept for each job.

import { check } from "./dom";
import { keep, kept } from "./keep";
import { t } from "./strings";
import type { Context } from "./task";

function name(context: Context): string {
  return `own-colours:${context.project.id}`;
}

export function keptColours(context: Context): boolean {
  return kept<boolean>(name(context)) ?? false;
}

export function colourChoice(context: Context): HTMLElement {
  return check(t("own-colours"), keptColours(context), (own) => {
    keep(name(context), own);
    context.reopen();
  });
}
