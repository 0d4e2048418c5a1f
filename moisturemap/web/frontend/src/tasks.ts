// The tasks of a job, in the order of the work.

import { DrillPage } from "./drill_page";
import { DryingPage } from "./drying_page";
import { MapPage } from "./map_page";
import { PlanPage } from "./plan_page";
import { ReadingsPage } from "./readings_page";
import { ReportPage } from "./report_page";
import { SourcePage } from "./source_page";
import { t, type Key } from "./strings";
import type { Context, ProjectInfo, Task } from "./task";
import { TestsPage } from "./tests_page";

export type Starting = Task & { start: () => Promise<void> };

export const TASKS: {
  name: string;
  key: Key;
  make: (context: Context) => Starting;
  state: (info: ProjectInfo) => string;
}[] = [
  {
    name: "plan",
    key: "plan",
    make: (c) => new PlanPage(c),
    state: (i) => t("n-rooms", { n: i.rooms.length }),
  },
  {
    name: "readings",
    key: "readings",
    make: (c) => new ReadingsPage(c),
    state: (i) => t("n-readings", { n: i.readings }),
  },
  { name: "map", key: "map", make: (c) => new MapPage(c), state: () => "" },
  { name: "drill", key: "drill-plan", make: (c) => new DrillPage(c), state: () => "" },
  {
    name: "tests",
    key: "tests",
    make: (c) => new TestsPage(c),
    state: (i) => t("n-tests", { n: i.tests }),
  },
  {
    name: "drying",
    key: "drying",
    make: (c) => new DryingPage(c),
    state: (i) => t("n-visits", { n: i.visits.length }),
  },
  { name: "source", key: "source", make: (c) => new SourcePage(c), state: () => "" },
  { name: "report", key: "report", make: (c) => new ReportPage(c), state: () => "" },
];
