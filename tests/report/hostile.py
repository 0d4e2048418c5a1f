"""Text that tries to be more than text, and how to find it again in a document."""

import dataclasses
import re

from moisturemap.bundles import Findings
from moisturemap.report.wording import printable

HOSTILE = {
    "markup": "<script>alert(1)</script><b>bold</b> & &amp; <!-- -->",
    "formula": "=CMD()|'/c calc'!A1",
    "typesetting": "#let x = 1 $x^2$ \\ *b* _i_ @ref <label> `raw` // end /* */ #panic()",
    "control": "bell\x07 null\x00 escape\x1b[31m",
    "turning": "\u202eevil\u202c",
    "right-to-left": "\u0645\u0631\u062d\u0628\u0627",
    "emoji": "wet \U0001f4a7 floor",
    "long": "n" * 10_000,
    "lines": "one\ntwo",
    "fields": "{ PAGE } «x» %s {0} {{x}} ${y}",
}


def spoiled(findings: Findings, text: str) -> Findings:
    """Return the findings with a text in every place people may write into."""
    survey, study = findings.survey, findings.study
    room = dataclasses.replace(survey.plan.rooms[0], name=text)
    line = dataclasses.replace(survey.plan.lines[0], name=text)
    plan = dataclasses.replace(survey.plan, rooms=(room,), lines=(line,))
    meter = dataclasses.replace(survey.instruments["m1"], serial=text, certificate=text)
    visit = dataclasses.replace(survey.visits[0], operator=text, note=text)
    spoiled_survey = dataclasses.replace(
        survey,
        name=text,
        plan=plan,
        visits=(visit,),
        notes=(text,),
        instruments={**survey.instruments, "m1": meter},
        details={"client": text, "site": text},
        tests=survey.tests.assign(note=text, hole=text),
    )
    readings = study.readings.assign(room=text, raw=text)
    found = dataclasses.replace(study.found, readings=readings)
    made = dataclasses.replace(study, survey=spoiled_survey, visit=visit, found=found)
    return dataclasses.replace(findings, survey=spoiled_survey, study=made)


def squeezed(text: str) -> str:
    """Return a text without what a page may put into it or take from it: blanks and breaks."""
    return re.sub(r"[\s\u200b\u00ad]+", "", text)


def expected(text: str) -> str:
    """Return what must be found of a text."""
    return squeezed(printable(text))
