"""What is said of a drawn line beside its kind: words that warn, and how wide it is."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from moisturemap.files import read_plan
from moisturemap.files.plan_words import stated_width_m

ROOM = [[0, 0], [6, 0], [6, 5], [0, 5], [0, 0]]


def _lines(folder: Path, properties: dict[str, object], unit: str = "m") -> list[tuple[str, tuple]]:
    scale = {"m": 1, "mm": 1000}[unit]
    features = [
        {"type": "Feature", "properties": said, "geometry": {"type": form, "coordinates": places}}
        for said, form, places in (
            ({"name": "hall"}, "Polygon", [[[scale * a for a in one] for one in ROOM]]),
            (properties, "LineString", [[1 * scale, 2 * scale], [5 * scale, 2 * scale]]),
        )
    ]
    file = folder / "plan.geojson"
    file.write_text(json.dumps({"type": "FeatureCollection", "features": features}), "utf-8")
    lines = read_plan(file, unit)[0].lines
    return [(line.kind, tuple(round(one, 3) for one in line.geometry.bounds)) for line in lines]


@pytest.mark.parametrize(
    "said",
    [
        {"kind": "annotation", "text": "PT strand"},
        {"kind": "annotation", "text": "DO NOT CORE"},
        {"kind": "label", "name": "LTHW"},
        {"kind": "label", "name": "SS 100"},
        {"kind": "note", "text": "culvert below"},
        {"kind": "text", "text": "radier précontraint"},
        {"kind": "interior-wall", "name": "cold water in chase"},
        {"kind": "exterior-wall", "Description": "gas pipe behind the lining"},
        {"kind": "furniture", "note": "floor box 230 V below"},
    ],
)
def test_a_line_that_words_call_a_service_is_one(tmp_path: Path, said: dict[str, object]) -> None:
    """Whatever its kind: it was left out, or counted as a wall that holes keep 0.1 m from."""
    assert [kind for kind, _ in _lines(tmp_path, said)] == ["known-service"]


@pytest.mark.parametrize(
    "said",
    [
        {"kind": "interior-wall", "name": "service door side"},
        {"kind": "exterior-wall", "note": "no pipes in it"},
    ],
)
def test_a_wall_stays_one_where_no_word_warns(tmp_path: Path, said: dict[str, object]) -> None:
    assert [kind for kind, _ in _lines(tmp_path, said)] == [said["kind"]]


@pytest.mark.parametrize("unit", ["m", "mm"])
def test_a_wide_service_is_kept_clear_of_from_its_sides(tmp_path: Path, unit: str) -> None:
    """A hole lay inside a drain of 1.2 m, 0.44 m from its centre line."""
    drain = {"kind": "known-service", "name": "drain", "width_mm": 1200}
    line, sides = _lines(tmp_path, drain, unit)
    assert line == ("known-service", (1, 2, 5, 2))
    assert sides == ("known-service", (1, 1.4, 5, 2.6))
    assert len(_lines(tmp_path, drain | {"width_mm": 60}, unit)) == 1


@pytest.mark.parametrize(
    ("properties", "name", "metres"),
    [
        ({"Diameter": "1000"}, "", 1.0),
        ({"breite_cm": "60,5"}, "", 0.605),
        ({"nominal width": "DN 300"}, "", 0.3),
        ({"DN": 150}, "", 0.15),
        ({"width": 1.2, "diameter_mm": 300}, "", 1.2),
        ({"width_in": 24}, "", 0.6096),
        ({}, "culvert 1.2 m wide", 1.2),
        ({}, "Kanal 40 cm breit", 0.4),
        ({"widths": 3, "width": None, "width_m": True}, "H1", 0.0),
        (None, "", 0.0),
    ],
)
def test_widths_are_understood_as_people_state_them(
    properties: object, name: str, metres: float
) -> None:
    assert stated_width_m(properties, name) == pytest.approx(metres)
