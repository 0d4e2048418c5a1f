"""The wet level."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from shapely.geometry import box

from moisturemap.acceptance.unmapped import places_without_map
from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.survey import READING_COLUMNS, Instrument, ScanSettings, Survey, Visit
from moisturemap.zones import LevelOptions, choose_wet_level, map_visit, one_level_for, stated_level


def survey(scan: ScanSettings | None = None, repeats: tuple[float, ...] = (), **visit) -> Survey:
    """A survey that states what the test needs, with repeats read at one place."""
    rows = [
        {"visit": "v1", "instrument": "scanner", "x": 1.0, "y": 1.0, "value": value, "censored": ""}
        for value in repeats
    ]
    return Survey(
        "invented",
        FloorPlan((Room("hall", box(0, 0, 8, 6)),)),
        {"scanner": Instrument("scanner")},
        (Visit("v1", **visit),),
        pd.DataFrame(rows, columns=list(READING_COLUMNS)),
        scan=scan or ScanSettings(),
    )


def lattice(reading, step: float = 0.4) -> pd.DataFrame:
    """Readings of a function on a lattice over 8 x 6 m, with noise."""
    x, y = np.meshgrid(np.arange(step / 2, 8, step), np.arange(step / 2, 6, step))
    noise = np.random.default_rng(5).standard_normal(x.size)
    values = reading(x.ravel(), y.ravel()) + noise
    return pd.DataFrame({"x": x.ravel(), "y": y.ravel(), "value": values, "domain": "D1"})


@pytest.mark.parametrize(
    ("bases", "said"),
    [
        (("concrete slab", "Concrete slab "), False),
        (("concrete slab", ""), False),
        (("concrete slab", "calcium sulfate screed"), True),
    ],
)
@pytest.mark.parametrize("read", [True, False])
def test_a_level_held_against_another_material_says_so(bases, said, read):
    """Only of rooms that were read: what is dry reads differently on each material."""
    one = survey(ScanSettings(wet_level=50.0), repeats=(30.0, 31.0))
    rooms = tuple(
        Room(name, box(x, 0, x + 4, 6), slab=Slab(base=base))
        for name, x, base in zip(("hall", "study"), (0, 4), bases, strict=True)
    )
    rows = one.readings.assign(x=[1.0, 5.0 if read else 2.0])
    both = replace(one, plan=FloorPlan(rooms), readings=rows)
    level = choose_wet_level(both, "v1", np.array([1.0]))
    assert level.value == 50.0
    assert ("concrete slab and calcium sulfate screed" in level.explanation) == (said and read)


def test_a_stated_level_goes_before_everything():
    """The survey's own level is taken as it is."""
    stated = survey(ScanSettings(wet_level=55.0, dry_reference=(30.0, 31.0, 32.0)))
    level = choose_wet_level(stated, "v1", np.array([1.0, 2.0]))
    assert (level.value, level.how) == (55.0, "stated")
    assert "3 dry reference readings are not used" in level.explanation


def test_the_dry_reference_sets_mean_plus_tolerance_factor_times_sd():
    """Five readings: k = 4.203 at 95/95 (ISO 16269-6 table)."""
    values = (30.0, 31.0, 32.0, 33.0, 34.0)
    level = choose_wet_level(survey(ScanSettings(dry_reference=values)), None, np.array([]))
    assert level.how == "dry-reference"
    assert level.value == pytest.approx(32.0 + 4.203 * np.std(values, ddof=1), abs=2e-3)
    assert "4.20 times" in level.explanation


def test_a_slip_among_the_dry_readings_hides_no_wet_floor():
    """300 or 62 for 30, 3 for 33, a reading at full scale: each alone would lift the level."""
    good = (30.0, 31.0, 29.0, 32.0, 30.0)
    fair = choose_wet_level(survey(ScanSettings(dry_reference=good)), None, np.array([]))
    assert fair.value is not None
    for slip in (300.0, 100.0, 3.0, 62.0):
        scan = ScanSettings(dry_reference=(*good, slip))
        level = choose_wet_level(survey(scan), None, np.array([]))
        assert level.value == pytest.approx(fair.value)
        assert f"{slip:g} cannot be of such floor" in level.explanation


def test_a_level_no_reading_can_stand_above_is_not_used():
    """Neither stated nor from dry readings that scatter too much."""
    for scan in (ScanSettings(wet_level=306.0), ScanSettings(dry_reference=(10.0, 50.0, 90.0))):
        bounded = survey(scan, (20.0,))
        meter = Instrument("scanner", scale=(0.0, 100.0))
        level = stated_level(replace(bounded, instruments={"scanner": meter}), "v1")
        assert level is not None
        assert level.value is None
        assert "no reading can stand above it" in level.explanation


def test_the_visits_own_dry_reference_goes_before_the_surveys():
    """A reference read on the day is the one that counts."""
    both = survey(ScanSettings(dry_reference=(60.0, 61.0, 62.0)), dry_reference=(30.0, 31.0, 32.0))
    level = choose_wet_level(both, None, np.array([]))
    assert level.value is not None
    assert level.value < 45.0


def test_repeats_shrink_the_margin_of_a_short_dry_reference():
    """With the noise known from repeats, three reference readings need less margin."""
    scan = ScanSettings(dry_reference=(30.0, 31.0, 32.0))
    alone = choose_wet_level(survey(scan), None, np.array([]))
    repeats = tuple(30.0 + np.random.default_rng(1).standard_normal(30))
    helped = choose_wet_level(survey(scan, repeats), None, np.array([]))
    assert alone.value is not None
    assert helped.value is not None
    assert 31.0 < helped.value < alone.value
    assert "repeat scatter" in helped.explanation


def test_one_dry_reading_without_repeats_sets_no_level():
    """One reading has no scatter, so no margin can be explained."""
    level = choose_wet_level(survey(ScanSettings(dry_reference=(30.0,))), None, np.array([31.0]))
    assert level.value is None
    assert "take at least 3" in level.explanation


def test_a_wet_patch_on_even_floor_is_two_populations():
    """A tight dry level and a tight wet one, at their places."""
    table = lattice(lambda x, y: np.where(np.hypot(x - 2, y - 2) < 1.2, 70.0, 35.0))
    level = choose_wet_level(survey(), None, table)
    assert level.how == "two-populations"
    assert level.value is not None
    assert 37.0 < level.value < 68.0
    assert "likelihood ratio" in level.explanation


@pytest.mark.parametrize(
    "trend",
    [
        lambda x, y: 30.0 + 5.0 * x,
        lambda x, y: 35.0 + 0.0 * x,
        lambda x, y: 30.0 + 12.0 * np.sin(0.35 * x) * np.cos(0.3 * y),
    ],
    ids=["plane", "even", "swell"],
)
def test_a_smooth_floor_is_one_population(trend):
    """Neither a plane nor a slow swell is called two populations."""
    level = choose_wet_level(survey(), None, lattice(trend))
    assert level.value is None
    assert level.how == "none"
    assert "No wet zone is drawn" in level.explanation
    assert "does not say the floor is dry" in level.explanation


def test_why_readings_are_not_two_populations_is_said_and_nothing_that_contradicts_it():
    """Three readings far above the rest are too few, though chance and distance speak for them."""
    values = np.random.default_rng(3).normal(31.0, 0.5, 60)
    values[:3] = (70.0, 71.0, 72.0)
    said = choose_wet_level(survey(), None, values).explanation
    assert "the smaller would be of 3.0 readings (4 or more needed)" in said
    assert "by chance" not in said
    assert "sd of the drier floor" not in said


@pytest.mark.thorough
def test_a_wet_room_among_many_is_found():
    """Simulated chances must reach 0.05 divided by the rooms weighed, however many they are."""
    dry = [lattice(lambda x, y: 35.0 + 0.0 * x, 1.0).assign(domain=f"D{n}") for n in range(2, 8)]
    wet = lattice(lambda x, y: np.where((x < 3) & (y < 3), 62.0, 35.0), 0.6)
    level = choose_wet_level(survey(), None, pd.concat([wet, *dry]))
    assert level.how == "two-populations"
    assert 38.0 < level.value < 60.0


def test_rooms_a_level_tells_nothing_of_are_named():
    """Whoever stated a wrong material, or none, learns where it matters."""
    rows = pd.DataFrame({"x": [1.0, 5.0], "y": 1.0})
    rooms = (
        Room("hall", box(0, 0, 4, 6), slab=Slab(base="cement screed")),
        Room("wash house", box(4, 0, 8, 6), slab=Slab(base="concrete")),
    )
    one = replace(survey(), plan=FloorPlan(rooms), readings=rows)
    said = one_level_for(one, "cement screed")
    assert said.startswith("No wet level for wash house (concrete): the one used is of cement")


def test_a_patch_that_fades_out_is_wet_ground():
    """Water thins towards its rim: the wet population is wide, and still far from the dry one."""
    table = lattice(lambda x, y: 38.0 + 24.0 * np.exp(-((x - 2) ** 2 + (y - 2) ** 2) / 0.75))
    level = choose_wet_level(survey(), None, table)
    assert level.value is not None
    assert 40.0 < level.value < 56.0


def test_bare_values_need_stronger_evidence():
    """Without places, two clear groups are still found and the weakness is said."""
    rng = np.random.default_rng(3)
    values = np.concatenate([35 + rng.standard_normal(150), 70 + rng.standard_normal(30)])
    level = choose_wet_level(survey(), None, values)
    assert level.how == "two-populations"
    assert "their places not being used" in level.explanation


def test_few_or_equal_readings_show_nothing():
    """Too few readings and constant readings give a plain answer."""
    few = choose_wet_level(survey(), None, np.arange(10.0))
    equal = choose_wet_level(survey(), None, np.full(50, 40.0))
    assert few.value is None
    assert "too few" in few.explanation
    assert equal.value is None
    assert "every reading is 40" in equal.explanation


def test_the_level_is_the_same_every_time():
    """The same readings give the same level and words."""
    table = lattice(lambda x, y: np.where(x < 2, 60.0, 30.0))
    first = choose_wet_level(survey(), None, table)
    assert choose_wet_level(survey(), None, table) == first


def test_options_out_of_range_are_refused():
    """A coverage of 95 instead of 0.95 is a mistake."""
    with pytest.raises(OptionError, match="coverage"):
        LevelOptions(coverage=95.0)


def test_a_level_is_not_applied_to_the_scale_of_another_meter() -> None:
    """60 of a meter that ends at 100 is nothing on one that ends at 999."""
    stated = survey(ScanSettings(wet_level=60.0), (30.0, 31.0, 32.0))
    wide = replace(
        stated, instruments={**stated.instruments, "m2": Instrument("m2", scale=(0.0, 999.0))}
    )
    assert choose_wet_level(wide, None, np.array([]), options=LevelOptions(meter="scanner")).value
    other = choose_wet_level(wide, None, np.array([300.0]), options=LevelOptions(meter="m2"))
    assert other.value is None
    assert "are of scanner" in other.explanation


def test_contradicting_repeats_do_not_widen_the_margin() -> None:
    """Two slips of the pen among repeats say nothing of the noise of the meter."""
    rng = np.random.default_rng(3)
    places = [(x, y) for x in np.arange(0.5, 8, 1.0) for y in np.arange(0.5, 6, 1.0)]
    rows = [
        {"visit": "v1", "instrument": "scanner", "x": x, "y": y, "value": value, "censored": ""}
        for k, (x, y) in enumerate(places)
        for value in (20.0 + rng.normal(0, 1), 77.0 if k in (4, 9) else 20.0 + rng.normal(0, 1))
    ]
    scan = ScanSettings(dry_reference=tuple(20.0 + rng.normal(0, 1, 10)))
    slips = replace(survey(scan), readings=pd.DataFrame(rows, columns=list(READING_COLUMNS)))
    level = choose_wet_level(slips, None, np.array([]))
    assert level.value is not None
    assert level.value < 28.0


def two_materials(scan: ScanSettings) -> Survey:
    """A hall of concrete at 30, wet at 70, beside a study of screed at 60, wet at 90."""
    x, y = np.meshgrid(np.arange(0.25, 8, 0.5), np.arange(0.25, 6, 0.5))
    x, y = x.ravel(), y.ravel()
    value = np.where(x < 4, 30.0, 60.0) + np.random.default_rng(3).standard_normal(x.size)
    value += np.where(np.hypot(x - 2, y - 3) < 1.0, 40.0, 0.0)
    value += np.where(np.hypot(x - 6, y - 3) < 1.0, 30.0, 0.0)
    rooms = (
        Room("hall", box(0, 0, 4, 6), slab=Slab(base="concrete slab")),
        Room("study", box(4, 0, 8, 6), slab=Slab(base="calcium sulfate screed")),
    )
    fixed = {"visit": "v1", "instrument": "scanner", "censored": ""}
    rows = [fixed | {"x": a, "y": b, "value": v} for a, b, v in zip(x, y, value, strict=True)]
    table = pd.DataFrame(rows, columns=list(READING_COLUMNS))
    one = survey(scan)
    return replace(one, plan=FloorPlan(rooms), readings=table)


def test_a_level_of_one_material_draws_no_zone_in_another():
    """Dry screed reads above the concrete's level: no zone, but words, and a test is asked for."""
    one = two_materials(ScanSettings(wet_level=50.0, base="Concrete slab"))
    found = map_visit(one)
    assert set(found.zones["rooms"]) == {"hall"}
    assert found.unlevelled_rooms == ("study",)
    inside = found.moisture.grid.inside
    p_wet, east = found.surface["p_wet"].to_numpy(), found.moisture.grid.x > 4
    assert np.isnan(p_wet[:, east]).all()
    assert np.isfinite(p_wet[:, ~east][inside[:, ~east]]).all()
    assert "No wet level for study (calcium sulfate screed)" in found.wet.level.explanation
    asked = [high for high in places_without_map(one, found) if high.room == "study"]
    assert [high.value for high in asked] == [found.readings["value"].max()]


def test_a_level_of_nobody_knows_which_material_is_held_against_all():
    """Nothing is left undrawn where the survey does not say of which material the level is."""
    found = map_visit(two_materials(ScanSettings(wet_level=50.0)))
    assert found.unlevelled_rooms == ()
    assert "Say in [scan] base which of them" in found.wet.level.explanation
    assert set(found.zones["rooms"]) == {"hall", "study"}


@pytest.mark.thorough
def test_two_populations_of_one_material_set_no_level_for_another():
    """The level comes from the readings of one domain, and is of its material."""
    found = map_visit(two_materials(ScanSettings()))
    level = found.wet.level
    assert level.how == "two-populations"
    assert level.base in ("concrete slab", "calcium sulfate screed")
    assert len(found.unlevelled_rooms) == 1
    assert not set(found.zones["rooms"]) & set(found.unlevelled_rooms)


def test_one_raised_repeat_does_not_raise_the_level():
    """Twelve places read twice, one 15 higher the second time: that tells nothing of noise."""
    steps = np.random.default_rng(2).integers(-2, 3, 12).astype(float)
    one = survey(ScanSettings(dry_reference=(30.0, 31.0, 32.0, 33.0, 34.0)))

    def level(raised: float) -> float:
        fixed = {"visit": "v1", "instrument": "scanner", "y": 1.0, "censored": ""}
        again = [40.0 + step for step in steps]
        again[3] += raised
        rows = [fixed | {"x": k, "value": 40.0} for k in range(12)]
        rows += [fixed | {"x": k, "value": value} for k, value in enumerate(again)]
        read = replace(one, readings=pd.DataFrame(rows, columns=list(READING_COLUMNS)))
        known = stated_level(read, "v1")
        assert known is not None
        assert known.value is not None
        return known.value

    assert level(15.0) == pytest.approx(level(0.0), rel=0.02)
