// The map as the program sends it.

import type { Collection } from "./plan_features";

export interface MapAnswer {
  /** Last entry of the record whose data it is of. */
  record: number;
  /** The latest map with the few readings that changed since; the whole one is to be asked for. */
  quick: boolean;
  visit: string;
  instrument: string;
  disclaimer: string;
  wet_level: number | null;
  wet_explanation: string;
  /** Expected floor above the wet level, as Drying counts it. */
  wet_area: string;
  /** Places whose values contradict each other, and which is mapped. */
  differing: string[];
  statement: string;
  quality: string;
  not_mapped: string[];
  notes: string[];
  anomaly_limits: string[];
  levels: number[];
  colours: string[];
  seconds: number;
  layers: Record<string, Collection>;
  decisions: { anomalies: AnomalyDecision[]; holes: HoleDecision[] };
}

export interface AnomalyDecision {
  verdict: string;
  kind: string;
  places: [number, number][];
  why: string;
  who: string;
  when: string;
}

export interface HoleDecision {
  verdict: string;
  x: number;
  y: number;
  to: [number, number] | null;
  why: string;
  who: string;
  when: string;
}

export interface PlaceAnswer {
  x: number;
  y: number;
  room: string;
  domain: string;
  value: number | null;
  low: number | null;
  high: number | null;
  p_wet: number | null;
  sentences: string[];
  readings: {
    reading: number;
    label: string;
    distance_m: number;
    value: number | null;
    censored: string;
    flag: string;
    reason: string;
  }[];
}
