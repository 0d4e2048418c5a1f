// German: all words of the page; what is missing here stays English.

import { DE_DRYING, DE_REPORT, DE_SOURCE } from "./de_drying";
import { DE_DRILL, DE_MAP } from "./de_map";
import { DE_FLOORS, DE_PAGE } from "./de_page";
import { DE_PLAN } from "./de_plan";
import { DE_READINGS } from "./de_readings";
import { DE_TESTS } from "./de_tests";

export const de = {
  ...DE_FLOORS,
  ...DE_PAGE,
  ...DE_PLAN,
  ...DE_READINGS,
  ...DE_MAP,
  ...DE_DRILL,
  ...DE_TESTS,
  ...DE_REPORT,
  ...DE_DRYING,
  ...DE_SOURCE,
};
