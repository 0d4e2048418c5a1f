// Words of where the water comes from.

export const EN_SOURCE = {
  source: "Source",
  "source-how":
    "Where the water comes from: answer what you know, leave the rest. Nothing is named from one depth, and nothing here is an opinion on fault or cost.",
  questions: "Questions",
  "not-known": "not known",
  "none-of-that": "There was none",
  "weigh-causes": "Weigh the causes",
  weighing: "Working through the causes. This can take a minute.",
  "before-anything": "Before anything else",
  causes: "Causes and what speaks for and against them",
  cause: "Cause",
  standing: "Standing",
  "points-to": "pointed to",
  "still-open": "open",
  "spoken-against": "spoken against",
  "not-looked-at": "not looked at",
  "speaks-for": "For",
  "speaks-against": "Against",
  "not-told-from": "Cannot be told from",
  "measure-next": "What to measure next",
  pairs: "Pairs told apart",
  burden: "Burden",
  risk: "Risk",
  "score-now": "{kind}: {today} now, {gain}% to gain.",
} as const;
