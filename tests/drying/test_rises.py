"""Floor that took up water between two visits comes first, whatever it did before and after."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
import xarray as xr
from invented_visits import Recipe, Wet, invent

from moisturemap.bundles import VisitComparison
from moisturemap.drying import DryingOptions, took_up_sentence
from moisturemap.drying.change_map import (
    ChangeMap,
    make_change_map,
    step_sentence,
    with_common_sd,
)
from moisturemap.drying.changes import floor_of
from moisturemap.drying.rises import Rise, with_rises
from moisturemap.workflow.drying import compare_visits

DAYS = (0.0, 7.0, 14.0, 21.0, 35.0)


@dataclass(frozen=True)
class WettedAgain(Wet):
    """A place that dries, takes up water on day 17, and ends drier than it began."""

    def at(self, points: np.ndarray, day: float) -> np.ndarray:
        """Rise above dry floor on a day."""
        distance = np.hypot(points[:, 0] - self.x, points[:, 1] - self.y)
        since = day if day < 17.0 else day - 17.0
        size = self.rise * (1.0 if day < 17.0 else 0.7) * 0.5 ** (since / self.half_life)
        return size * np.exp(-0.5 * (distance / self.reach) ** 2)


@pytest.fixture(scope="module")
def wetted_again() -> VisitComparison:
    """A floor wetted again between the third and the fourth visit."""
    wet = WettedAgain(3.0, 3.5, 40.0, 1.5, 8.0)
    return compare_visits(invent(Recipe(days=DAYS, wets=(wet,), dry_reference=8), 3).survey)


@pytest.mark.thorough
def test_a_rise_between_two_visits_is_said_first(wetted_again: VisitComparison) -> None:
    """Though the floor is drier on the latest visit than on the first."""
    drying = wetted_again.drying
    assert drying.rising.empty
    assert [(one.begin, one.end) for one in drying.rises] == [("v3", "v4")]
    (rise,) = drying.rises
    assert rise.geometry.contains(shapely.Point(3.0, 3.5))
    assert 3.0 < rise.area_m2 < 14.0
    # 40 x 0.5^(14/8) = 11.9 on the third visit, 28 x 0.5^(4/8) = 19.8 on the fourth
    assert rise.change == pytest.approx(7.9, abs=3.0)
    assert drying.leak is not None
    assert drying.statements[0] == drying.leak.sentence
    assert took_up_sentence(drying.rises) in drying.leak.sentence
    assert "between v3 and v4 on" in drying.leak.sentence


@pytest.mark.thorough
def test_a_zone_that_rose_between_two_visits_gets_no_latest_day(
    wetted_again: VisitComparison,
) -> None:
    """Its forecast names the two visits."""
    for one in wetted_again.drying.forecasts:
        assert one.why_open == "rewetted"
        assert one.kept_wet > 0.1


@pytest.mark.thorough
def test_floor_that_only_dries_shows_no_rise() -> None:
    """Nor does drift of the meter that dry references tell."""
    recipe = Recipe(days=DAYS, wets=(Wet(3.0, 3.5, 34.0, 1.8, 12.0),), dry_reference=8)
    shifted = Recipe(**{**vars(recipe), "offsets": (0.0, 2.0, -1.0, 3.0, 1.0)})
    found = compare_visits(invent(shifted, 8).survey).drying
    assert found.rises == ()
    assert found.leak is None


@pytest.mark.thorough
@pytest.mark.parametrize(("drift", "known"), [(0.0, True), (3.0, False)])
def test_a_rise_less_than_the_assumed_drift_shows_against_the_driest_floor(
    drift: float, known: bool
) -> None:
    """No drift of a meter raises one place; but a floor that all came up is not one that rose."""
    wet = WettedAgain(3.0, 3.5, 27.0, 1.5, 8.0)
    dry = WettedAgain(3.0, 3.5, 0.0, 1.5, 8.0)
    offsets = (0.0, 0.0, 0.0, drift, drift)
    recipe = Recipe(days=DAYS, wets=(wet if known else dry,), dry_reference=0, offsets=offsets)
    drying = compare_visits(invent(recipe, 3).survey).drying
    assert [(one.begin, one.end) for one in drying.rises] == ([("v3", "v4")] if known else [])


@pytest.mark.thorough
def test_a_change_with_another_common_error_is_the_one_kriged_with_it(
    wetted_again: VisitComparison,
) -> None:
    """What is common to all places enters no kriging."""
    drying, latest = wetted_again.drying, wetted_again.latest
    series, options = drying.series, DryingOptions()
    floor = floor_of(series, latest.domains, latest.moisture.grid, latest.survey.plan)
    known = replace(series, offsets=tuple(replace(one, sd=0.3) for one in series.offsets))
    weights = series.change_weights(2, 3)
    whole = make_change_map("step", floor, known, weights, options)
    told = make_change_map("step", floor, series, weights, options)
    other = with_common_sd(told, floor, known.common_sd(weights), options.discovery)
    assert told.area_m2 != whole.area_m2
    assert other.area_m2 == pytest.approx(whole.area_m2)
    assert other.detectable == pytest.approx(whole.detectable)
    for name in ("mean", "sd"):
        np.testing.assert_allclose(other.dataset[name], whole.dataset[name], rtol=1e-9)
    assert [one.common_sd for one in other.fields.values()] == [known.common_sd(weights)]


def test_the_map_of_the_last_step_names_a_rise_it_does_not_show() -> None:
    """Nothing says that the floor rose on 0.0 m2 where page one says where it took up water."""
    area = {"dried": 0.0, "rose": 0.0, "not-shown": 500.0}
    step = ChangeMap(
        "step", ("v4", "v5"), xr.Dataset(), {}, {}, {"rose": shapely.Polygon()}, area, 2.8
    )
    place = shapely.Point(25.0, 3.0).buffer(2.5)
    rise = Rise("v4", "v5", "hall", 20.4, 25.0, 3.0, 2.6, place)
    earlier = replace(rise, begin="v3", end="v4", area_m2=12.9)
    told = with_rises(step, (earlier, rise))
    words = "it rose on 20.4 m2 round (25.0, 3.0) in hall."
    assert step_sentence(told).endswith(words)
    field = SimpleNamespace(how="same-places")
    assert replace(told, fields={"hall": field}).sentence.endswith(words)  # type: ignore[dict-item]
    assert "12.9" not in step_sentence(told)
    assert with_rises(step, (earlier,)) is step
    shown = replace(step, shapes={"rose": place.buffer(1.0)})
    strict = "By the stricter look over all pairs of visits, it rose on 20.4 m2"
    assert strict in step_sentence(with_rises(shown, (earlier, rise)))
