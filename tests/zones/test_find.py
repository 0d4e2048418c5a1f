"""Wet zones of surfaces whose truth is known."""

from __future__ import annotations

import dataclasses

import geopandas as gpd
import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from moisturemap.anomalies import ANOMALY_COLUMNS, Anomalies
from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.geostat import Covariance
from moisturemap.zones import ZONE_COLUMNS, WetLevel, ZoneOptions, find_zones, hardly_sure_words
from moisturemap.zones.find import practical_range

LEVEL = WetLevel(50.0, "stated", "Wet level 50: stated.")
HALL = FloorPlan((Room("hall", box(0, 0, 8, 6)),))


def bump(x0: float, y0: float, radius: float = 1.0, base: float = 30.0, rise: float = 60.0):
    """A round swell that crosses 50 at 1.48 times its sd."""

    def reading(points: np.ndarray) -> np.ndarray:
        off = np.hypot(points[:, 0] - x0, points[:, 1] - y0)
        return base + rise * np.exp(-0.5 * (off / radius) ** 2)

    return reading


def find(surface, plan=HALL, level=LEVEL, **options):
    """Find zones with few draws."""
    return find_zones(
        surface.with_wet_level(level.value), level, plan, options=ZoneOptions(draws=300, **options)
    )


def test_a_round_patch_is_outlined_where_it_crosses_the_level(mapped):
    """Area and peak of a swell: the circle of radius sqrt(2 ln 3) sd."""
    wet = find(mapped(HALL, bump(3.0, 2.5)))
    assert list(wet.zones.columns) == list(ZONE_COLUMNS)
    zone = wet.zones.iloc[0]
    area = np.pi * 2.0 * np.log(3.0)
    assert len(wet.zones) == 1
    assert zone["zone"] == "A"
    assert zone["area_m2"] == pytest.approx(area, rel=0.05)
    assert np.hypot(zone["peak_x"] - 3.0, zone["peak_y"] - 2.5) < 0.2
    assert zone["confidence"] == 1.0
    assert zone["area_low_m2"] < zone["area_m2"] < zone["area_high_m2"]


def test_a_peak_stops_at_full_scale_and_says_so(mapped):
    """A map runs on beyond readings at full scale; a peak no meter shows is not stated."""
    surface = mapped(HALL, bump(3.0, 2.5))
    free, capped = find(surface), find(surface, scale=(0.0, 80.0))
    assert free.zones["peak"].iloc[0] == pytest.approx(90.0, abs=1.5)
    assert capped.zones["peak"].iloc[0] == 80.0
    assert "highest of the map 80 or more: full scale" in capped.statement
    assert "full scale" not in free.statement
    same = ["area_m2", "peak_x", "peak_y", "mean"]
    assert capped.zones[same].equals(free.zones[same])


def test_the_outline_has_no_steps_of_the_cells(mapped):
    """A circle's outline is no longer than 1.05 times its circumference."""
    zone = find(mapped(HALL, bump(3.0, 2.5))).zones.geometry.iloc[0]
    circumference = 2.0 * np.sqrt(np.pi * zone.area)
    assert zone.length < 1.05 * circumference


def test_sure_lies_in_the_zone_and_the_zone_in_possible(mapped):
    """Sure, outlined and possible floor are nested."""
    wet = find(mapped(HALL, bump(3.0, 2.5)))
    sure, zone = wet.sure.geometry.iloc[0], wet.zones.geometry.iloc[0]
    possible = wet.possible.geometry.iloc[0]
    assert zone.buffer(0.01).covers(sure)
    assert possible.buffer(0.01).covers(zone)
    assert 0 < sure.area < zone.area < possible.area


def test_more_confidence_makes_the_sure_set_smaller_and_the_possible_larger(mapped):
    """Both bounds move outwards with the confidence asked for."""
    surface = mapped(HALL, bump(3.0, 2.5), noise_sd=3.0)
    low, high = find(surface, confidence=0.5), find(surface, confidence=0.95)
    assert high.sure.area.sum() < low.sure.area.sum()
    assert high.possible.area.sum() > low.possible.area.sum()


def test_zones_stay_inside_the_rooms_and_reach_the_wall(mapped):
    """A patch at a wall is cut by the wall, not half a cell before it."""
    wet = find(mapped(HALL, bump(0.0, 3.0)))
    zone = wet.zones.geometry.iloc[0]
    assert HALL.outline.buffer(1e-9).covers(zone)
    assert zone.bounds[0] == pytest.approx(0.0, abs=1e-9)
    assert "touches the outer edge of the plan" in wet.zones["hint"].iloc[0]


def test_zones_are_named_by_peak(mapped):
    """A is the wettest."""

    def two(points: np.ndarray) -> np.ndarray:
        return bump(2.0, 3.0, rise=40.0)(points) + bump(6.0, 3.0, base=0.0)(points)

    zones = find(mapped(HALL, two)).zones
    assert list(zones["zone"]) == ["A", "B"]
    assert zones["peak"].is_monotonic_decreasing
    assert zones["peak_x"].iloc[0] == pytest.approx(6.0, abs=0.2)


def test_a_zone_runs_through_a_thin_wall_of_one_slab(mapped):
    """Two rooms on one slab share a zone, which names both."""
    plan = FloorPlan((Room("west room", box(0, 0, 3.95, 6)), Room("east room", box(4.05, 0, 8, 6))))
    zones = find(mapped(plan, bump(4.0, 3.0)), plan).zones
    assert len(zones) == 1
    assert set(zones["rooms"].iloc[0].split(", ")) == {"west room", "east room"}
    assert plan.outline.buffer(1e-9).covers(zones.geometry.iloc[0])


def test_without_a_level_there_are_no_zones_and_the_reason_is_said(mapped):
    """None gives empty tables with all columns."""
    none = WetLevel(None, "none", "No distinct wet zone: too few readings.")
    wet = find(mapped(HALL, bump(3.0, 2.5)), level=none)
    for table in (wet.zones, wet.sure, wet.possible):
        assert table.empty
    assert list(wet.zones.columns) == list(ZONE_COLUMNS)
    assert wet.statement == none.explanation


def test_a_dry_floor_has_no_zone_but_says_what_stays_open(mapped):
    """All below the level."""
    wet = find(mapped(HALL, lambda points: np.full(len(points), 30.0)))
    assert wet.zones.empty
    assert wet.statement.startswith("No wet zone")


def test_an_all_wet_floor_is_one_zone(mapped):
    """All above the level: the whole room, also as sure."""
    wet = find(mapped(HALL, lambda points: np.full(len(points), 80.0)))
    assert wet.zones["area_m2"].tolist() == [pytest.approx(48.0)]
    assert wet.sure.area.sum() == pytest.approx(48.0)


def test_a_patch_too_small_and_unsure_is_mentioned_not_outlined(mapped):
    """Its area is in the statement."""
    wet = find(mapped(HALL, bump(3.0, 2.5, rise=21.5), noise_sd=2.0), smallest_m2=2.0)
    assert wet.zones.empty
    assert "too small for this scan to outline" in wet.statement
    assert "as a wet zone (largest" in wet.statement  # the map draws it all the same


def test_floor_without_a_level_is_not_said_to_lie_below_it(mapped):
    """Of rooms of another material, mapped with the rest, the level says nothing."""
    surface = mapped(HALL, bump(3.0, 2.5)).with_wet_level(50.0)
    apart = dataclasses.replace(surface, unlevelled=(surface.domains[0].key,))
    told, kept = (find_zones(one, LEVEL, HALL).statement for one in (apart, surface))
    assert "read outside hall, where there is no wet level, lies below it" in told
    assert "no wet level" not in kept


def test_a_small_patch_that_is_surely_wet_is_kept(mapped):
    """Size does not matter where the draws leave no doubt."""
    assert len(find(mapped(HALL, bump(3.0, 2.5)), smallest_m2=40.0).zones) == 1


def test_a_zone_along_a_joint_says_so(mapped):
    """The hint gives its evidence and calls itself no finding."""
    joint = PlanLine("movement-joint", LineString([(3.0, 1.0), (3.0, 5.0)]), "J1")
    plan = FloorPlan(HALL.rooms, (joint,))

    def ridge(points: np.ndarray) -> np.ndarray:
        along = np.clip(np.abs(points[:, 1] - 3.0) - 1.5, 0, None)
        return 30.0 + 50.0 * np.exp(-0.5 * ((points[:, 0] - 3.0) ** 2 + along**2) / 0.6**2)

    surface = mapped(HALL, ridge)
    hint = find_zones(surface, LEVEL, plan, options=ZoneOptions(draws=200)).zones["hint"].iloc[0]
    assert "not a finding" in hint
    assert "along the movement joint J1" in hint


def test_a_zone_along_a_flagged_line_says_so(mapped):
    """The flagged line is named."""
    row = dict.fromkeys(ANOMALY_COLUMNS, 0.0)
    row |= {"anomaly": "L1", "kind": "line", "geometry": LineString([(0.5, 2.5), (5.5, 2.5)])}
    found = Anomalies(gpd.GeoDataFrame([row], geometry="geometry"), gpd.GeoDataFrame())
    surface = mapped(HALL, bump(3.0, 2.5))
    zones = find_zones(surface, LEVEL, HALL, anomalies=found, options=ZoneOptions(draws=200)).zones
    assert "along the flagged line L1" in zones["hint"].iloc[0]


@pytest.mark.parametrize("square", [True, False])
def test_an_even_zone_with_straight_edges_may_be_heating(mapped, square):
    """Pipes nearer to each other than the scanner resolves lift a part of a room evenly."""

    def part(points: np.ndarray) -> np.ndarray:
        if not square:
            return bump(2.0, 3.0)(points)
        edge = np.minimum(4.0 - points[:, 0], points[:, 1] - 1.0)
        return 30.0 + 40.0 / (1.0 + np.exp(-edge / 0.08))

    zone = find(mapped(HALL, part)).zones.iloc[0]
    assert zone["standing"] == "wet"
    assert ("heating pipes" in zone["hint"]) == square


def test_the_mean_is_the_block_average(mapped):
    """The zone's mean and sd come from the field, over the zone's cells."""
    surface = mapped(HALL, bump(3.0, 2.5))
    zone = find(surface).zones.iloc[0]
    grid = surface.grid
    inside = [zone.geometry.contains(Point(*c)) for c in grid.centres()]
    plain = surface.dataset["mean"].to_numpy()[grid.inside][inside].mean()
    assert zone["mean"] == pytest.approx(plain, abs=0.5)
    assert 0 < zone["mean_sd"] < 1.0


def test_the_zones_are_the_same_every_time(mapped):
    """Same surface, same zones."""
    surface = mapped(HALL, bump(3.0, 2.5))
    one, two = find(surface), find(surface)
    assert one.statement == two.statement
    assert one.zones.geometry.iloc[0].equals(two.zones.geometry.iloc[0])


def test_progress_may_stop_the_work(mapped):
    """What progress raises goes through."""

    def stop(phrase: str, fraction: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        find_zones(mapped(HALL, bump(3.0, 2.5)), LEVEL, HALL, progress=stop)


@pytest.mark.parametrize("noise", [0.5, 2.5, 5.0])
@pytest.mark.parametrize(
    ("middle", "radius", "rise"), [((3, 2.5), 1.0, 40), ((0.2, 0.3), 2.5, 60), ((4, 3), 9.0, 60)]
)
def test_an_interval_contains_its_area_and_no_area_exceeds_the_floor(
    mapped, noise, middle, radius, rise
):
    """In the middle, cut off by a corner, and over nearly all of the floor."""
    wet = find(mapped(HALL, bump(*middle, radius, 30.0, rise), noise_sd=noise))
    zones, floor = wet.zones, HALL.rooms[0].polygon.area
    assert (zones["area_low_m2"] <= zones["area_m2"]).all()
    assert (zones["area_m2"] <= zones["area_high_m2"]).all()
    assert (zones["area_high_m2"] <= floor + 1e-6).all()
    assert zones["area_m2"].sum() <= floor + 1e-6
    assert (zones["sure_m2"] <= zones["area_m2"] + 1e-9).all()


def test_a_zone_that_is_hardly_sure_says_so(mapped):
    """An outline where floor is as likely above the level as not; 34 m2 with 0.4 sure misled."""
    wet = find(mapped(HALL, bump(3.0, 2.5)))
    assert hardly_sure_words(wet.zones, wet.sure) == ""
    doubtful = wet.zones.assign(area_m2=34.4, sure_m2=0.4)
    said = "Of the 34.4 m2 outlined 0.4 m2 are surely above it"
    assert said in hardly_sure_words(doubtful, wet.sure)
    assert hardly_sure_words(wet.zones.iloc[:0], wet.sure) == ""


def test_no_more_of_the_zones_is_sure_than_of_the_floor(mapped):
    """One statement told 0.4 m2 wholly above the level, and 0.6 m2 of the zones surely above it."""
    wet = find(mapped(HALL, bump(3.0, 2.5)))
    little = wet.sure.assign(geometry=wet.sure.geometry.centroid.buffer(0.2, quad_segs=64))
    doubtful = wet.zones.assign(area_m2=34.4, sure_m2=0.6)
    told = f"outlined {little.area.sum():.1f} m2 are surely"
    assert told in hardly_sure_words(doubtful, little)


@pytest.mark.parametrize("kind", ["exponential", "matern32", "matern52", "spherical"])
def test_the_practical_range_is_where_the_correlation_ends(kind):
    """At a twentieth; that of a spherical one at nothing."""
    model = Covariance(kind, 4.0, 1.7, 0.3)
    left = model.correlation([practical_range(model)])[0]
    assert left == pytest.approx(0.0 if kind == "spherical" else 0.05, abs=1e-12)
