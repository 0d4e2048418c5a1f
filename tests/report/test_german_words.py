"""The words and numbers of a German report, on floors of every kind."""

from __future__ import annotations

import re
import sys
from base64 import b64decode
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from matplotlib.figure import Figure

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "language"))

from sentences import english_lines

from moisturemap.bundles import Findings
from moisturemap.language import speaking
from moisturemap.report import ReportOptions, Supplement, pictures, write_report
from moisturemap.report.content import Picture
from moisturemap.survey import given_names

READ = (
    ("bakery", "metric"),
    ("clinic", "us"),
    ("messy", "metric"),
    ("messy", "us"),
    ("60", "us"),
    ("flat", "metric"),
    ("warehouse", "us"),
    ("twelve", "metric"),
)

DOCUMENTS = r"(?:[A-Z]+ ?[A-Z]?\d[\w-]*(?::\d{4})?(?:\+A\d)?|CFR|section|Abschnitt|OSHA) "
"""What a clause follows that has points of its own; versions stand behind the name of a program."""
BLANK = b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR4nGP4////fwAJ+wP9KobjigAAAABJRU5ErkJggg=="
)
"""A picture of one pixel."""
SETTINGS = re.compile(r"^(?:mapping|drilling|zones|detect): |drilling: |Matérn|^Versionen|^python ")
"""Lines that stand as the program and its settings are typed."""


def texts_of(path: Path) -> list[str]:
    """Return the lines of a report as web page, a cell of a table each."""
    page = re.sub(r"(?s)<style.*?</style>|<svg.*?</svg>|<wbr>|\u200b", "", path.read_text("utf-8"))
    parted = re.sub(
        r"</?(?:tr|t[dh]|p|li|h\d|table|d[tdl]|caption|figcaption|div)[^>]*>", "\n", page
    )
    lines = unescape(re.sub(r"<[^>]+>", "", parted)).splitlines()
    return [told for line in lines if (told := " ".join(line.split()))]


def undrawn(figure: Figure, caption: str, alt: str, **named: Any) -> Picture:
    """Return a picture with the words around it alone: what stands in it is not read here."""
    named.pop("below", None)
    size = (int(figure.get_figwidth() * 100), int(figure.get_figheight() * 100))
    return Picture(BLANK, b"<svg xmlns='http://www.w3.org/2000/svg'/>", caption, alt, size, **named)


def without(names: set[str], line: str) -> str:
    """Return a line without what the user named, fingerprints of files and figures alone.

    A cell of figures alone may be the label of a reading, which stays as it was written.
    """
    if re.fullmatch(r"[\d.]+", line):
        return ""
    for name in sorted(names, key=len, reverse=True):
        line = line.replace(name, "")
    return re.sub(r"\b[0-9a-f]{32,}\b", "", line)


@pytest.mark.thorough
@pytest.mark.parametrize(("name", "units"), READ)
def test_a_german_report_is_german(
    known: Callable[[str], tuple[Findings, Supplement]],
    name: str,
    units: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """No point in a number, no comma that could be its decimal sign, no English word.

    One name for each unit, and rooms stand behind their walls with one word.
    """
    monkeypatch.setattr(pictures, "drawn", undrawn)
    findings, supplement = known(name)
    names = given_names(findings.survey) | set(findings.survey.notes)
    options = ReportOptions(language="de", units=units, all_readings=False)
    supplement = replace(supplement, decision=findings.decision, drying=findings.drying)
    with speaking("de", names):
        path = tmp_path / "report.html"
        write_report(findings.study, path, options=options, supplement=supplement)
    told = texts_of(path)
    assert [one for one in told if re.search(r"\bZoll\b|wand vom ", one)] == []
    lines = [without(names, one) for one in told if not SETTINGS.search(one)]
    points = re.compile(r"(?<![\d.,:])\b\d+\.\d+\b(?!\.\d)")
    assert [one for one in lines if points.search(re.sub(DOCUMENTS + r"[\d.]+", "", one))] == []
    assert [one for one in lines if re.search(r"\d,\d+, ?\d", one)] == []
    assert english_lines("\n".join(lines), "de", names) == []
