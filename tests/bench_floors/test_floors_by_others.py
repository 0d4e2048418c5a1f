"""The independent generator of invented floors: its physics, its promises, its repeatability."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

BENCH = Path(__file__).resolve().parents[2] / "scripts" / "bench"
NAME = "floors_by_others"


@pytest.fixture(scope="module")
def floors() -> Iterator[ModuleType]:
    """The package, loaded by its path."""
    sys.path.insert(0, str(BENCH))
    try:
        package = importlib.import_module(NAME)
        for part in ("wetting", "things", "meter", "raster"):
            importlib.import_module(f"{NAME}.{part}")
        yield package
    finally:
        sys.path.remove(str(BENCH))


def slab(floors: ModuleType, shape: tuple[int, int] = (41, 41), **changes: object) -> object:
    values = {
        "theta": np.zeros(shape),
        "inside": np.ones(shape, bool),
        "ease": np.ones(shape),
        "diffusivity": 0.1,
        "n": 6.0,
    }
    return floors.wetting.Slab(**(values | changes))


def test_water_is_kept(floors: ModuleType) -> None:
    """What the slab holds is what it took less what it lost, uneven slab and walls included."""
    rng = np.random.default_rng(1)
    inside = np.ones((41, 41), bool)
    inside[10:20, 15] = False
    one = slab(floors, inside=inside, ease=np.exp(rng.normal(0, 0.5, inside.shape)))
    supply = np.zeros(inside.shape)
    supply[20, 20] = 5.0
    for _ in range(12):
        one.advance(supply, np.full(inside.shape, 0.01), longest=0.5)
    assert one.water > 0.05
    assert one.lost > 0
    assert one.water == pytest.approx(one.taken - one.lost, rel=1e-9)
    assert one.theta[~inside].max() == 0
    assert one.theta.min() >= -1e-9
    assert one.theta.max() <= 1 + 1e-9


@pytest.mark.thorough
def test_a_straight_front_goes_with_the_square_root_of_time(floors: ModuleType) -> None:
    """One-dimensional uptake from a wet edge: sorptivity, Hall and Hoff, chapter 4."""
    one = slab(floors, shape=(3, 60))
    supply = np.zeros((3, 60))
    supply[:, 0] = 1e3
    days, beyond = [], []
    while one.days < 120:
        one.advance(supply, np.zeros((3, 60)), longest=2.0)
        days.append(one.days)
        beyond.append(one.water / 0.3 - 0.05)  # m of full saturation beyond the wet edge
    late = np.array(days) > 20
    slope = np.polyfit(np.log(np.array(days)[late]), np.log(np.array(beyond)[late]), 1)[0]
    assert slope == pytest.approx(0.5, abs=0.02)
    # Parlange 1975: S^2 is near the integral of (1 + theta) D, here (2n - 1) / n^2 D
    assert beyond[-1] / np.sqrt(days[-1]) == pytest.approx(np.sqrt(0.1 * 11 / 36), rel=0.06)


def pipe(floors: ModuleType, cover: float) -> object:
    steps = np.arange(-2, 2, 0.02)
    return floors.Thing(
        kind="copper pipe",
        geometry=LineString([(-2, 0), (2, 0)]),
        size=0.015,
        depth=cover,
        nodes=np.column_stack([steps, np.zeros_like(steps)]),
        cover=np.full(len(steps), cover),
        weight=np.full(len(steps), 0.02),
    )


def test_a_pipe_shows_less_the_deeper_and_the_farther_it_lies(floors: ModuleType) -> None:
    """Monotone in cover and in distance, nothing a metre away, and the stated gain at the top."""
    meter = floors.things.MeterField(reach=0.05, power=5.0, footprint=0.10, gain=0.2)
    over = np.array([[0.0, 0.0]])
    deeper = [meter.answer((pipe(floors, c),), over)[0] for c in (0.02, 0.03, 0.05, 0.08, 0.15)]
    assert np.all(np.diff(deeper) < 0)
    assert deeper[1] == pytest.approx(0.2, rel=0.02)
    assert deeper[-1] < 0.2 * deeper[0]
    away = np.column_stack([np.zeros(9), np.linspace(0, 1.2, 9)])
    farther = meter.answer((pipe(floors, 0.03),), away)
    assert np.all(np.diff(farther) <= 0)
    assert farther[-2:].max() < 1e-4 * farther[0]


def test_the_meter_sees_the_top_more_than_the_bottom(floors: ModuleType) -> None:
    """Half a column of water counts more above than below; empty and full count 0 and 1."""
    meter = floors.meter.draw_meter(np.random.default_rng(0))
    theta = np.array([0.0, 0.5, 1.0])
    below, above = (meter.sees(theta, 0.1, from_below=side) for side in (True, False))
    np.testing.assert_allclose(below[[0, 2]], [0, 1], atol=1e-12)
    np.testing.assert_allclose(above[[0, 2]], [0, 1], atol=1e-12)
    assert below[1] < 0.5 < above[1]


@pytest.mark.thorough
@pytest.mark.parametrize("family", ["clean", "dry", "mixed", "nothing"])
def test_families_hold_what_they_say(floors: ModuleType, family: str) -> None:
    """Water and things where the family has them, none where not; readings where they may be."""
    for seed in (0, 1, 7):
        floor = floors.make(family, seed)
        assert floor.truth_wet.any() == (family in ("clean", "mixed"))
        assert bool(floor.things) == (family in ("dry", "mixed"))
        if not floor.things:
            assert np.all(floor.disturbance == 0)
        assert 60 <= len(floor.values) <= 1700
        low, high = floor.scale
        assert floor.values.min() >= low
        assert floor.values.max() <= high
        rooms = shapely.union_all(floor.outline)
        assert shapely.contains_xy(rooms, floor.points).all()
        assert floor.dry_level < floor.wet_level < high
        assert floor.truth_wet.shape == (len(floor.y), len(floor.x))


@pytest.mark.thorough
def test_readings_are_signal_things_drift_and_noise(floors: ModuleType) -> None:
    """What is left of a reading is the stated noise, where the step does not swamp it."""
    checked = 0
    for family in floors.FAMILIES:
        for seed in (0, 1, 7):
            floor = floors.make(family, seed)
            if floor.meter.step > 2 * floor.meter.noise * floor.meter.span:
                continue
            checked += 1
            left = floor.values - floor.signal - floor.disturbance - floor.drift
            low, high = floor.scale
            inside = ~floor.wrong & (floor.values > low) & (floor.values < high)
            assert left[inside].std() == pytest.approx(floor.noise_sd, rel=0.2)
    assert checked >= 4


@pytest.mark.thorough
def test_the_same_seed_gives_the_same_floor(floors: ModuleType) -> None:
    """Readings, truth and sweeps repeat; another seed and another walk do not."""
    one, two, other = (floors.make("mixed", seed) for seed in (3, 3, 4))
    np.testing.assert_array_equal(one.values, two.values)
    np.testing.assert_array_equal(one.truth_wet, two.truth_wet)
    places = one.points[:30] + 0.05
    np.testing.assert_array_equal(one.sweep(places), two.sweep(places))
    assert not np.array_equal(one.sweep(places), one.sweep(places, seed=1))
    assert not np.array_equal(one.points, other.points)


def test_truth_of_patches_and_readings(floors: ModuleType) -> None:
    """Patches are the wet cells in parts; a reading is off, quiet or between, never two."""
    floor = floors.make("mixed", 0)
    patches = floors.wet_patches(floor, least=0.0)
    assert sum(patch.cells.sum() for patch in patches) == floor.truth_wet.sum()
    assert [p.area for p in patches] == sorted((p.area for p in patches), reverse=True)
    assert all(patch.peak > floor.wet_level for patch in patches)
    off, quiet = floors.off_readings(floor), floors.quiet_readings(floor)
    assert not np.any(off & quiet)
    assert all(np.isfinite(floors.peak_of(floor, thing)) for thing in floor.things)


def test_a_floor_survives_its_folder(floors: ModuleType, tmp_path: Path) -> None:
    """Places and readings come back as they went."""
    floor = floors.make("nothing", 2)
    places, values = floors.unpack(floors.pack(floor, tmp_path / "floor"))
    np.testing.assert_allclose(places, floor.points, atol=0.005)
    np.testing.assert_array_equal(values, floor.values)


def test_an_unknown_family_is_refused(floors: ModuleType) -> None:
    """The error names what is allowed."""
    with pytest.raises(ValueError, match=r"clean, dry, mixed, nothing"):
        floors.make("wet", 0)


@pytest.mark.thorough
def test_sweeps_settle_a_pipe_read_as_a_row_of_single_places(floors: ModuleType):
    """Nine of ten sweeps show it sharply; no even line fits, for its cover changes."""
    bench = importlib.import_module("things")
    case = bench.by_others("mixed", 2508)
    _, found = bench.standings(case, case.scene)
    after = bench.swept(case, found)
    assert after is not None
    _, settled = after
    now = [standing for truth, standing in settled if truth == "thing"]
    assert len(now) >= 8
    assert now.count("thing") >= 0.7 * len(now)
