// What the program says of drying, as it travels.

import type { Collection } from "./plan_features";

export interface DryingAnswer {
  /** Last entry of the record whose data it is of. */
  record: number;
  visits: string[];
  statements: string[];
  leak: { areas: string[]; sentence: string; steps: string[] } | null;
  notes: string[];
  change: string;
  areas: Record<string, unknown>[];
  features: Record<string, unknown>[];
  wet_areas: { visit: string; area_m2: number; low_m2: number; high_m2: number }[];
  forecasts: { zone: string; basis: string; sentence: string; look_back: string }[];
  air: Record<string, unknown>[];
  drives: Record<string, unknown>[];
  /** Humidity at depth by loggers in holes and tests; null where none was followed. */
  depths: DepthCourses | null;
  levels: number[];
  colours: string[];
  maps: VisitMap[];
  /** What changed, areas that stay wet, and what disturbs readings, on the latest visit. */
  layers: { dried: Collection; rose: Collection; areas: Collection; things: Collection };
  wet_level: number | null;
  level_words: string;
  differing: string[];
  instrument: string;
}

export interface DepthCourses {
  visits: { visit: string; day: number }[];
  courses: DepthCourse[];
  limits: { rooms: string; value: number }[];
}

/** One place and depth: days since the first visit, and humidity in %RH. */
export interface DepthCourse {
  name: string;
  depth_mm: number;
  logged: boolean;
  day: number[];
  rh: number[];
  low: number[];
  high: number[];
}

export interface VisitMap {
  visit: string;
  bands: Collection;
  wet_line: Collection;
  unsure: Collection;
  unknown: Collection;
}

/** Where machines would do more, and what it would gain. */
export interface Placement {
  visit: string;
  moves: Collection;
  scores: {
    kind: string;
    unit: string;
    today: number | null;
    proposed: number | null;
    gain_pct: number | null;
    exact: boolean;
  }[];
  statements: string[];
  cautions: string[];
  notes: string[];
}
