// Confirming sweeps as a walk: their readings one after another, from one end to the other.

import { ask } from "./api";
import type { Place } from "./geometry";
import { keep, kept } from "./keep";
import type { Collection } from "./plan_features";
import type { Context } from "./task";
import { walkName, type Stop, type WalkState } from "./walk_state";

/**
 * The places of sweeps. Names used before on this visit are not given again, so that a second round
 * replaces nothing of the first.
 */
export function sweepStops(sweeps: Collection, used: string[], from: number): Stop[] {
  const rounds = used.map((label) => Number(/^W(\d+)\./.exec(label)?.[1] ?? 0));
  const last = Math.max(0, ...rounds);
  let order = from;
  return sweeps.features.flatMap(({ properties: p }, index) => {
    const count = Number(p.readings);
    const [x0, y0, x1, y1] = [p.from_x, p.from_y, p.to_x, p.to_y].map(Number) as [
      number,
      number,
      number,
      number,
    ];
    return Array.from({ length: count }, (_, i): Stop => {
      const share = count > 1 ? i / (count - 1) : 0;
      return {
        order: (order += 1),
        purpose: "sweep",
        label: `W${last + index + 1}.${i + 1}`,
        x: Math.round((x0 + (x1 - x0) * share) * 1000) / 1000,
        y: Math.round((y0 + (y1 - y0) * share) * 1000) / 1000,
        room: String(p.room),
      };
    });
  });
}

/** Put the sweeps into the walk of this visit, after what is open there, and begin with them. */
export async function walkSweeps(
  context: Context,
  instrument: string,
  sweeps: Collection,
): Promise<void> {
  const query = `readings?visit=${encodeURIComponent(context.visit ?? "")}`;
  const { readings } = await ask<{ readings: { label: string }[] }>(context.path(query), {
    patient: true,
  });
  const begun = kept<WalkState>(walkName(context));
  const used = [...readings, ...(begun?.stops ?? [])].map((one) => one.label);
  const last = Math.max(0, ...(begun?.stops ?? []).map((one) => one.order));
  const stops = sweepStops(sweeps, used, last);
  const way = stops.map((one): Place => [one.x, one.y]);
  const state: WalkState = begun
    ? { ...begun, stops: [...begun.stops, ...stops], at: begun.stops.length, draft: "" }
    : { instrument, stops, at: 0, typed: {}, draft: "", way: [way] };
  keep(walkName(context), state);
  context.go("readings");
}
