"""Wet floor that one test alone does not speak for."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point

from moisturemap import read_survey, study
from moisturemap.acceptance.shared_zone import parts_under_limits
from moisturemap.survey import Limit
from moisturemap.zones.standing_out import read_wet, standing_out


def floor_of(folder, value, plan="hall;POLYGON ((0 0, 12 0, 12 4, 0 4, 0 0))\n", level=None):
    """A floor of 12 x 4 m read every 0.5 m, ``value(x, y)`` at each place."""
    rng = np.random.default_rng(2)
    rows = ["x,y,value"]
    for y in np.arange(0.25, 4.0, 0.5):
        for x in np.arange(0.25, 12.0, 0.5):
            rows.append(f"{x},{y},{value(x, y) + rng.standard_normal():.1f}")
    (folder / "readings.csv").write_text("\n".join(rows), encoding="utf-8")
    (folder / "plan.wkt").write_text(plan)
    told = "" if level is None else f"wet_level = {level}\n"
    (folder / "survey.toml").write_text(
        '[survey]\nname = "Hall"\ncoordinates = "m"\ntimezone = "UTC"\n'
        '[plan]\nfile = "plan.wkt"\n'
        '[[instruments]]\nid = "S"\nkind = "relative"\nscale = [0, 100]\n'
        '[[visits]]\nid = "v1"\nstarted = 2026-03-02T10:00:00Z\n'
        'readings = [{ file = "readings.csv", instrument = "S" }]\n'
        f"[scan]\ndry_reference = [30, 31, 29, 31, 30, 29, 31, 30, 30, 31]\n{told}",
        encoding="utf-8",
    )
    return study(read_survey(folder / "survey.toml"))


def patch(x, y, at, rise, width=0.7):
    return rise * np.exp(-0.5 * ((x - at) ** 2 + (y - 2.0) ** 2) / width**2)


ROOMS = "shop;POLYGON ((0 0, 6 0, 6 4, 0 4, 0 0))\noffice;POLYGON ((6 0, 12 0, 12 4, 6 4, 6 0))\n"


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("shop", "office", "asked"),
    [
        (("in-situ-rh", 85.0), ("in-situ-rh", 75.0), ["office"]),
        (("in-situ-rh", 75.0), ("in-situ-rh", 85.0), ["shop"]),
        (("in-situ-rh", 85.0), ("carbide", 2.0), ["office", "shop"]),
        (("in-situ-rh", 85.0), ("in-situ-rh", 85.0), []),
    ],
)
def test_a_zone_under_several_limits_is_tested_under_each(tmp_path, shop, office, asked):
    """What passes under a looser limit beside it says nothing under a stricter one."""
    made = floor_of(tmp_path, lambda x, y: 30.0 + patch(x, y, 6.0, 25.0, 1.2), ROOMS)
    units = {"in-situ-rh": "%RH", "carbide": "CM-%"}
    limits = {
        name: Limit(method, value, units[method], "an invented sheet")
        for name, (method, value) in {"shop": shop, "office": office}.items()
    }
    found = parts_under_limits(made, limits)
    assert sorted(one.room for one in found) == asked
    for one in found:
        assert one.within_m == 0.0
        own = made.survey.plan.room(one.room).polygon
        assert own.buffer(1e-6).covers(one.part)
        assert one.part.distance(Point(6.0, 2.0)) < 1.0


@pytest.mark.thorough
def test_a_damp_strip_between_two_patches_takes_no_demand_away(tmp_path):
    """Under a level too high readings alone ask, each peak of them."""

    def wet(x, y, between):
        low = between if 2.0 < x < 10.0 else 30.0
        return max(low, 30.0 + max(patch(x, y, 2.0, 26.0), patch(x, y, 10.0, 25.0)))

    for between in (30.0, 37.0):
        made = floor_of(tmp_path, lambda x, y, b=between: wet(x, y, b), level=70.0)
        tops = sorted(one.places[0][0] for one in standing_out(made))
        assert len(tops) == 2
        assert tops[0] < 3.0
        assert tops[1] > 9.0


@pytest.mark.thorough
@pytest.mark.parametrize("damp", [0.0, 6.0, 10.0])
def test_damp_readings_elsewhere_take_no_demand_away(tmp_path, damp):
    """They widen the scatter of the whole floor and not that of its driest quarter."""

    def wet(x, y):
        dampened = damp if x > 5.0 and round(2 * (x + y)) % 2 else 0.0
        return 30.0 + patch(x, y, 2.5, 25.0) + dampened

    made = floor_of(tmp_path, wet, level=60.0)
    found = standing_out(made)
    assert any(abs(one.places[0][0] - 2.5) < 1.0 for one in found)


@pytest.mark.thorough
def test_a_zone_read_wet_stays_so_whatever_stands_elsewhere(tmp_path):
    """The map's variance grows with readings at full scale; what was read in the zone does not."""

    def wet(x, y, top):
        return 30.0 + min(70.0, patch(x, y, 2.0, top)) + patch(x, y, 9.5, 8.0, 0.8)

    for top in (15.0, 200.0):
        made = floor_of(tmp_path, lambda x, y, t=top: wet(x, y, t))
        zones = made.wet.zones
        far = zones[zones.geometry.centroid.x > 7.0]
        assert set(far["zone"]) <= set(read_wet(made))
        assert len(far)
