// English: all words of the page. What a place such as {name} stands for is filled in when shown.

import { EN_MAP } from "./en_map";
import { EN_PLAN } from "./en_plan";
import { EN_TESTS } from "./en_tests";

export const en = { ...EN_PLAN, ...EN_MAP, ...EN_TESTS } as const;
