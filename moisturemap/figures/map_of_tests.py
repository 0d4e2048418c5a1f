"""Where the calibrated tests stand on the floor, and how each place compares with the limit.

The scan lies pale beneath: it guides where to test. Only the marks of tests carry a verdict, each
at its own place; no area between them does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd
from matplotlib.figure import Figure
from shapely.geometry import Point

from moisturemap.acceptance import Decision, sealed_words
from moisturemap.bundles import Study
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.floor_map import drawn_on, room_entries
from moisturemap.figures.key import Entry, Heading, Key, Row
from moisturemap.figures.labels import SMALLEST_PT, Floor, Label, name_rooms
from moisturemap.figures.material_scales import material_scales
from moisturemap.figures.samples import line_names
from moisturemap.figures.sheet import Format, Sheet, Texts
from moisturemap.figures.signs_of_tests import (
    SIGNS,
    UNCOUNTED,
    WORDS,
    draw_sign,
    sign_of,
    sign_of_spot,
)
from moisturemap.figures.style import INK, MUTED
from moisturemap.floorplan import FloorPlan
from moisturemap.language import keep_as_they_are, spelling, spoken
from moisturemap.quantities import three_figures
from moisturemap.survey import Survey
from moisturemap.units import Units

PALE = 0.35
"""Opacity of the scan beneath the tests."""

MARK_IN, LABEL_PT = 0.15, 7.0
"""Width of a mark [in] and type size of its result [pt]."""

SAME_PLACE = 0.05
"""Holes within this distance are one place [m]."""


@dataclass(frozen=True, slots=True)
class ProbedPlace:
    """A tested place: the sign of the worst verdict there, and what to write beside it."""

    x: float
    y: float
    sign: str
    name: str
    results: tuple[str, ...]


def map_of_tests(decision: Decision, found: Study | Survey, form: Format = Format()) -> Figure:
    """Draw the places of the tests with their results.

    Over the pale map of the scan with a study, over the bare plan with a survey.
    """
    study = found if isinstance(found, Study) else None
    survey = found if isinstance(found, Survey) else found.survey
    plan = survey.plan
    sheet = Sheet(plan.bounds, form)
    places = _places(decision, form.units)
    floor, labels, listed = _place(sheet, places, plan)
    rooms = [(room.name, room.polygon) for room in plan.rooms] if len(plan.rooms) > 1 else []
    drawn = drawn_on(study, sheet.scale) if study is not None and rooms else ()
    names, numbered = name_rooms(floor, rooms, drawn)
    scales = () if study is None else material_scales(study)
    mapped = any(scale.levels.size for scale in scales)
    seen = {place.sign for place in places}
    entries: list[Entry] = [Heading("Calibrated tests")]
    entries += [Row(sign, words) for sign, words in WORDS.items() if sign in seen]
    if mapped:
        words = "relative scan, darker reads higher: guides where to test"
        entries.append(Row("scan", words))
    entries += [Row(*one) for one in line_names(plan).items()]
    entries += room_entries(numbered)
    entries += [Heading("Results")] if listed else []
    entries += [Row(place.sign, ", ".join(place.results)) for place in listed]
    texts = _texts(decision, survey.name, scanned=study is not None)
    figure, (ax,) = sheet.draw(texts, Key(tuple(entries)))
    for scale in scales:
        scale.draw(ax, plan)
    for shape in ax.patches:
        shape.set(alpha=PALE, linewidth=0)
    layers.draw_plan(ax, plan)
    for place, label in zip(places, labels, strict=True):
        draw_sign(ax, place.sign, place.x, place.y, size=8.0, zorder=10)
        layers.draw_leader(ax, label, place.x, place.y, INK)
    layers.write_labels(ax, labels, INK)
    layers.write_labels(ax, names, MUTED, 9)
    return figure


def _place(
    sheet: Sheet, places: Sequence[ProbedPlace], plan: FloorPlan
) -> tuple[Floor, list[Label], Sequence[ProbedPlace]]:
    """Write the results beside their places, or where they find no room only names.

    Returns the floor, the labels, and the places whose results have to stand in the key.
    """
    ways: tuple[tuple[Sequence[ProbedPlace], str], ...] = (
        ((), "walls"),
        (places, "walls"),
        ((), "services"),
        (places, "services"),
        (places, ""),
    )
    for listed, clear_of in ways:
        floor = sheet.floor()
        if clear_of:
            layers.keep_off_plan(floor, plan, walls=clear_of == "walls")
        for place in places:
            floor.occupy(place.x, place.y, MARK_IN, MARK_IN)
        words = [one.name if listed else "\n".join(one.results) for one in places]
        marked = list(zip(places, words, strict=True))
        found = [
            floor.beside_if_free(p.x, p.y, text, LABEL_PT, gap=MARK_IN / 2) for p, text in marked
        ]
        labels = [label for label in found if label is not None]
        astray = any(_strays(plan, p, one) for p, one in zip(places, labels, strict=False))
        if len(labels) == len(places) and (listed or not astray):
            return floor, labels, listed
    return (
        floor,
        [floor.beside(p.x, p.y, text, SMALLEST_PT, gap=MARK_IN / 2) for p, text in marked],
        places,
    )


def _strays(plan: FloorPlan, place: ProbedPlace, label: Label) -> bool:
    """Whether a label was led off its mark into another room, where it would be read as its."""
    if not label.led:
        return False
    both = (Point(place.x, place.y), Point(label.x, label.y))
    return not any(all(map(room.polygon.covers, both)) for room in plan.rooms)


def _places(decision: Decision, units: Units) -> list[ProbedPlace]:
    tests = decision.tests.dropna(subset=["x", "y"])
    places = []
    for _, here in tests.groupby(["x", "y"], sort=False):
        x, y = (float(one) for one in here[["x", "y"]].to_numpy(dtype=float)[0])
        signs = [sign_of(test) for test in here.to_dict("records")]
        judged = here[[sign != UNCOUNTED for sign in signs]]
        lines = [_result(test, judged, units) for test in judged.to_dict("records")]
        for spot in decision.spots:
            near = abs(spot.x - x) + abs(spot.y - y) < SAME_PLACE
            if near and spot.governs and spot.estimate is not None:
                signs.append(sign_of_spot(spot))
            if near and spot.governs and spot.sealed is not None:
                value, *_ = sealed_words(spot.sealed, spot.limit_pct)
                lines.append(spoken(f"once sealed {value} %RH"))
        worst = next(one for one in SIGNS if one in signs)
        name = str(here["hole"].iat[0])
        keep_as_they_are(["\n".join(lines)])
        places.append(ProbedPlace(x, y, worst, name, tuple(lines) or (name,)))
    return places


def _result(test: dict[Any, Any], judged: pd.DataFrame, units: Units) -> str:
    """Return a hole with its result, and the depth where the hole was read at several."""
    twice = (judged["hole"] == test["hole"]).sum() > 1 and not pd.isna(test["depth_mm"])
    at = " " + spoken(f"at {units.depth(test['depth_mm'])}") if twice else ""
    spelt, value = spelling(), three_figures(test["value"], test["limit"])
    result = spelt.finished(spelt.number(f"{value} {test['unit']}"))
    told = f"{test['hole']}{at} {result}"
    keep_as_they_are([told])
    return told


NOT_SCANNED = "No scan was made: nothing is known of the floor between them."


def _texts(decision: Decision, name: str, *, scanned: bool) -> Texts:
    limits = {
        f"{limit.value:g} {limit.unit} ({limit.source})"
        for limit in decision.limits.values()
        if limit is not None
    }
    told = f"Limit {'; '.join(sorted(limits))}" if limits else "No limit is stated"
    words = (
        f"{decision.sentence} Results hold for the tested places at the time they were read; "
        "the floor between them is not judged."
    )
    return Texts(f"{name}: calibrated tests", told, words if scanned else f"{words} {NOT_SCANNED}")
