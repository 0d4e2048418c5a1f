"""What changed, found while the latest visit is mapped: the same as one after the other."""

from __future__ import annotations

import sys
import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from moisturemap.bundles import Study
from moisturemap.drying import DryingOptions
from moisturemap.errors import Cancelled, NotEnoughData
from moisturemap.geostat import allow_copies
from moisturemap.geostat.kriging import workers
from moisturemap.mapping.areas import poorly_known_area
from moisturemap.results import visit_layers
from moisturemap.results.map_layers import one_shape
from moisturemap.results.visit_layers import summarise_comparison
from moisturemap.survey import Survey
from moisturemap.workflow import drying, early_changes
from moisturemap.workflow.drying import compare_visits
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import study

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="copies on Linux alone")

DEMO = Path(__file__).resolve().parents[2] / "demo_plans" / "warehouse"
VISITS = ["v1", "v3", "v5"]


@pytest.fixture(scope="module")
def floor() -> Survey:
    """A part of the warehouse, every other row."""
    survey = read_survey(DEMO)
    rows = survey.readings
    kept = ((rows["y"] / 0.5).astype(int) % 2 == 0) & (rows["x"] > 20.0)
    return replace(survey, readings=rows[kept])


@pytest.fixture(scope="module")
def latest(floor: Survey) -> Study:
    """Its last visit, mapped."""
    return study(floor, with_holes=False)


@pytest.fixture
def copied(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two cores and leave to copy this process."""
    module = sys.modules["moisturemap.geostat.beside"]
    monkeypatch.setattr(module, "_may_be_copied", threading.Event())
    monkeypatch.setattr(workers.os, "sched_getaffinity", lambda who: {0, 1})
    allow_copies()


@pytest.mark.thorough
def test_beside_gives_what_one_after_the_other_gives(floor, latest, copied, monkeypatch):
    """Word for word and number for number, whichever part is done in a copy."""
    since = compare_visits(floor, visits=VISITS, study=latest)
    beside = compare_visits(floor, visits=VISITS, study=lambda: latest)
    monkeypatch.setattr(drying, "copies_work", lambda: False)
    alone = compare_visits(floor, visits=VISITS, study=lambda: latest)
    for one in (since, beside):
        assert summarise_comparison(one) == summarise_comparison(alone)
        for mine, theirs in zip(one.drying.levels, alone.drying.levels, strict=True):
            np.testing.assert_array_equal(mine.mean, theirs.mean)
            np.testing.assert_array_equal(mine.sd, theirs.sd)
        for name in ("change", "step", "rate"):
            mine, theirs = getattr(one.drying, name), getattr(alone.drying, name)
            assert mine.dataset.identical(theirs.dataset)
    _floor_hardly_known_is_that_of_each_visit(alone, monkeypatch)


def _floor_hardly_known_is_that_of_each_visit(compared, monkeypatch):
    """Looked for once where visits read the same places."""
    looked = []

    def look(*given):
        looked.append(given)
        return poorly_known_area(*given)

    monkeypatch.setattr(visit_layers, "poorly_known_area", look)
    layers = visit_layers.visit_layers(compared)[1]
    plan, drying_ = compared.survey.plan, compared.drying
    for one, surface, clean in zip(layers, drying_.levels, drying_.series.clean, strict=True):
        assert one["unknown"] == one_shape(poorly_known_area(surface, plan, clean.readings))
    assert len(looked) == 1


def test_changes_taken_to_another_level_or_other_readings_are_dropped(floor, latest, copied):
    """A map that came out otherwise than foreseen is compared by itself."""
    taken = early(floor)
    assert taken is not None
    assert taken.hold(latest)
    level = replace(latest.wet, level=replace(latest.wet.level, value=44.0))
    assert not taken.hold(replace(latest, wet=level))
    fewer = replace(latest.clean, locations=latest.clean.locations.iloc[:-1])
    assert not taken.hold(replace(latest, clean=fewer))
    grid = replace(latest.moisture.grid, x=latest.moisture.grid.x + 0.01)
    assert not taken.hold(replace(latest, moisture=replace(latest.moisture, grid=grid)))


def early(floor: Survey) -> early_changes.EarlyChanges | None:
    """The visits of the floor, compared early."""
    visits = [floor.visit(one) for one in VISITS]

    def clean(parts, last, level):
        return drying._cleaned(floor, visits, (parts, last), level)

    return early_changes.early_changes(floor, visits[-1], clean, DryingOptions())


def test_nothing_is_begun_where_no_level_is_stated(floor, copied, monkeypatch):
    """The readings of the latest visit give it then, and its map comes first."""
    silent = replace(floor, scan=replace(floor.scan, wet_level=None, dry_reference=()))
    assert early(silent) is None

    def refuse() -> Study:
        message = "mapped first"
        raise NotEnoughData(message)

    def begin(*_):
        message = "begun beside"
        raise AssertionError(message)

    monkeypatch.setattr(drying, "mapped_beside", begin)
    with pytest.raises(NotEnoughData, match="mapped first"):
        compare_visits(silent, visits=VISITS, study=refuse)
    with pytest.raises(NotEnoughData, match="mapped first"):
        compare_visits(floor, visits=VISITS[-1:], study=refuse)
    with pytest.raises(AssertionError, match="begun beside"):
        compare_visits(floor, visits=VISITS, study=refuse)


def test_refusals_and_stops_of_the_latest_map_pass(floor, copied):
    """With their words; nothing is left that computes."""

    def refuse() -> Study:
        message = "too few"
        raise NotEnoughData(message)

    with pytest.raises(NotEnoughData, match="too few"):
        compare_visits(floor, visits=VISITS, study=refuse)

    def stop(phrase: str, fraction: float) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        compare_visits(floor, visits=VISITS, progress=stop)
