// English: all words of the page. What a place such as {name} stands for is filled in when shown.

import { EN_DRILL } from "./en_drill";
import { EN_DRYING } from "./en_drying";
import { EN_FLOORS } from "./en_floors";
import { EN_MAP } from "./en_map";
import { EN_PAGE } from "./en_page";
import { EN_PLAN } from "./en_plan";
import { EN_READINGS } from "./en_readings";
import { EN_REPORT } from "./en_report";
import { EN_SOURCE } from "./en_source";
import { EN_TESTS } from "./en_tests";

export const en = {
  ...EN_FLOORS,
  ...EN_PAGE,
  ...EN_PLAN,
  ...EN_READINGS,
  ...EN_MAP,
  ...EN_DRILL,
  ...EN_TESTS,
  ...EN_REPORT,
  ...EN_DRYING,
  ...EN_SOURCE,
} as const;
