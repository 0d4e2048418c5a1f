"""One number for one thing: words, tables, figures and JSON of invented floors agree."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

import moisturemap as mm
from moisturemap.bundles import Study
from moisturemap.figures import map_figure
from moisturemap.report.compose import compose
from moisturemap.report.content import Content, Table
from moisturemap.report.material import Material, Supplement
from moisturemap.results.brief import wet_words
from moisturemap.results.key_numbers import key_numbers
from moisturemap.results.summary import summarise
from moisturemap.survey import USED_FLAGS
from moisturemap.synthetic import FloorRecipe, make_floor

RECIPES = (
    FloorRecipe(width=7.0, depth=6.0, spacing=0.4),
    FloorRecipe(plumes=("edge",), spacing=0.5),
    FloorRecipe(width=5.0, depth=4.0, spacing=0.3, footprint=0.15),
)


@pytest.fixture(scope="module", params=range(len(RECIPES)))
def floor(request: pytest.FixtureRequest) -> tuple[Study, Content]:
    """Return an invented floor and what its report says."""
    study = mm.study(make_floor(RECIPES[request.param], 40 + request.param).survey)
    return study, compose(Material(study, supplement=Supplement(pictures=())))


def table_of(content: Content, caption: str) -> Table | None:
    """Return the table of a caption."""
    found = [b for one in content.sections for b in one.blocks if isinstance(b, Table)]
    return next((one for one in found if one.caption.startswith(caption)), None)


def said(content: Content) -> str:
    """Return everything a report says."""
    return " ".join(str(block) for one in content.sections for block in one.blocks)


def test_wet_areas_are_those_of_the_zones(floor: tuple[Study, Content]) -> None:
    """Page one, the table of zones, the JSON and what an issued report is held against."""
    study, content = floor
    whole = float(study.zones["area_m2"].sum()) if len(study.zones) else 0.0
    assert key_numbers(study, None)["wet area [m2]"] == pytest.approx(whole)
    told = summarise(study)["zones"]
    assert sum(zone["area_m2"] for zone in told) == pytest.approx(whole, abs=1e-3)
    table = table_of(content, "Wet zones")
    if table is None:
        assert not told
        return
    assert [row[3] for row in table.rows] == [f"{zone['area_m2']:.1f}" for zone in told]
    found = re.search(r"wet zones? of (?:about )?([\d.]+) m2", wet_words(study))
    assert found is not None
    assert found[1] == f"{whole:.1f}"
    parts = [f"{area:.1f}" for area in study.zones["area_m2"]]
    assert len(parts) < 2 or f"of about {found[1]} m2 together" in wet_words(study)
    for zone in told:
        assert f"{zone['area_m2']:.1f} m2 ({zone['area_low_m2']:.1f} to" in study.wet.statement


def test_what_is_outlined_beside_the_zones_is_told(floor: tuple[Study, Content]) -> None:
    """No ring on the map of page one is without a word: those too small to be zones are counted."""
    study, _ = floor
    small = [0.04, 0.9, 1.1]
    for areas, told in ((small[:1], ""), (small[:2], "1 smaller"), (small, "2 smaller")):
        wet = replace(study.wet, small_m2=tuple(areas))
        words = wet_words(replace(study, wet=wet))
        assert ("smaller patch" in words) == bool(told)
        assert f" {told}" in words
        assert not told or f"{max(areas):.1f} m2" in words


def test_a_map_without_a_wet_level_says_that_pale_floor_is_not_dry(
    floor: tuple[Study, Content],
) -> None:
    """Nothing is marked wet there, which no reader may take for dry."""
    study, _ = floor
    level = replace(study.wet.level, value=None)
    words = wet_words(replace(study, wet=replace(study.wet, level=level)))
    assert words.endswith("So nothing is marked wet, and pale floor is not shown to be dry.")


def test_what_cannot_be_told_is_one_area(floor: tuple[Study, Content]) -> None:
    """Words of page one, the statement, and the key of the hatching."""
    study, _ = floor
    open_m2 = f"{study.wet.unsure.area:.1f} m2"
    if study.wet.unsure.is_empty:
        return
    assert f"On {open_m2} the map cannot tell" in wet_words(study)
    assert f"for {open_m2} the map cannot tell" in study.wet.statement
    figure = map_figure(study)
    keyed = " ".join(text.get_text() for ax in figure.axes for text in ax.texts)
    assert f"cannot tell whether above the wet level: {open_m2}" in keyed


def test_readings_and_holes_are_counted_alike(floor: tuple[Study, Content]) -> None:
    """Set aside, listed, left out of the map; holes proposed and set out."""
    study, content = floor
    aside = int((~study.readings["flag"].isin(USED_FLAGS)).sum())
    table = table_of(content, "Readings set aside")
    assert (0 if table is None else len(table.rows)) == aside
    listed = table_of(content, "All ")
    assert listed is not None
    assert listed.caption.startswith(f"All {len(study.readings)} readings")
    if len(study.anomalies):
        assert f"{aside} of {len(study.readings)} readings are set aside" in said(content)
    holes = table_of(content, "Proposed holes")
    count = len(study.drill_plan)
    assert (0 if holes is None else len(holes.rows)) == count
    assert len(summarise(study)["holes"]) == count
    if count > 1:
        assert f"{count} places are proposed" in said(content)


def test_rooms_add_up_to_the_floor(floor: tuple[Study, Content]) -> None:
    """The floor as asked, of the JSON, and of its rooms."""
    study, content = floor
    area = sum(room.polygon.area for room in study.survey.plan.rooms)
    assert summarise(study)["floor_area_m2"] == pytest.approx(area, abs=0.05)
    assert f"{area:.1f} m2" in said(content)
