"""The invented floor of a search for a source: a clinic, dry when covered, blistered a year later.

A heating pipe in the slab began to leak half a year after the vinyl was laid. The humidities at
depth follow from a simulation of that story with probe noise on top.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from shapely.geometry import LineString, Point, box

from moisturemap.slab import DiffusivityCurve, FedSlab, Isotherm, Material, follow
from moisturemap.synthetic import Plume, Service

Array = NDArray[np.float64]

PLACED, COVERED, LEAK = date(2024, 2, 12), date(2024, 8, 26), date(2025, 3, 3)
VISITS = {"v1": date(2024, 8, 12), "v2": date(2025, 9, 8), "v3": date(2025, 11, 10)}
THICKNESS = 160.0
CELLS = 40
WARD = box(0, 0, 11, 7)
STORE = box(11.1, 0, 15, 7)
LEAK_PLACE = Point(6.4, 4.3)
PIPE = LineString([(6.4, 0), (6.4, 7)])
HOLES = {"K1": (6.75, 4.0), "K2": (2.1, 1.6), "K3": (13.0, 3.4), "K4": (9.6, 5.6)}
DEPTHS = {"": 64.0, "a": 20.0, "b": 125.0}
"""Suffix of a hole's name and its depth [mm]."""


def day_of(one: date) -> float:
    """Days since placing."""
    return float((one - PLACED).days)


def humidity(*, leaking: bool) -> Callable[[date, float], float]:
    """Humidity [%RH] of the slab over days and depths, with or without the leak."""
    width = np.full((1, CELLS), THICKNESS / CELLS)
    material = Material.made([Isotherm(0.5, linear_share=0.4)], [DiffusivityCurve(0.15, 0.8, 9.0)])
    slab = FedSlab(
        material, np.zeros(1, dtype=int), width, np.full((1, CELLS), 34.0), np.ones((1, CELLS))
    )
    source = int(0.62 * CELLS)

    def exchange(now: float, then: float) -> tuple[Array, Array]:
        film, outside = np.zeros((1, CELLS)), np.zeros((1, CELLS))
        open_ = now < day_of(COVERED)
        film[0, 0], outside[0, 0] = (8.0, 0.45) if open_ else (0.006, 0.5)
        if leaking and now >= day_of(LEAK):
            film[0, source], outside[0, source] = 6.0, 1.0
        return film, outside

    days = np.array([day_of(one) + 3 for one in VISITS.values()])
    times = np.unique(np.r_[np.linspace(0.0, days[-1], 900), days, np.geomspace(0.05, 30, 40)])
    times = np.unique(np.r_[times, day_of(COVERED), day_of(LEAK)])
    found = follow(slab, np.full((1, CELLS), 0.92), exchange, times, days)[0]
    depth = slab.depth_mm[0]
    frames = {one: 100.0 * frame for one, frame in zip(VISITS.values(), found, strict=True)}
    return lambda day, depth_mm: float(np.interp(depth_mm, depth, frames[day]))


def tests_of(visit: str, rng: np.random.Generator) -> pd.DataFrame:
    """Return the in-situ tests of one visit."""
    wet, plain = humidity(leaking=True), humidity(leaking=False)
    day, records = VISITS[visit], []
    holes = {"K2": HOLES["K2"], "K3": HOLES["K3"], "K4": HOLES["K4"]} if visit == "v1" else HOLES
    for number, (hole, place) in enumerate(holes.items()):
        suffixes = DEPTHS if hole == "K1" else {"": 64.0, "b": 125.0}
        for suffix, depth in suffixes.items() if visit != "v1" else [("", 64.0)]:
            true = (wet if hole == "K1" else plain)(day, depth)
            start = datetime.combine(day, datetime.min.time()) + timedelta(hours=9 + number / 3)
            records.append(_record(f"{hole}{suffix}", place, depth, true, start, rng))
    return pd.DataFrame(records)


def _record(
    hole: str,
    place: tuple[float, float],
    depth: float,
    true: float,
    start: datetime,
    rng: np.random.Generator,
) -> dict[str, object]:
    lined = start + timedelta(minutes=12)
    return {
        "hole": hole,
        "x": place[0],
        "y": place[1],
        "method": "in-situ RH",
        "depth_mm": depth,
        "thickness_mm": THICKNESS,
        "value": round(true + 0.5 * rng.standard_normal(), 1),
        "unit": "%RH",
        "temperature_c": 19.8,
        "probe_temperature_c": 19.9,
        "slab_temperature_c": 19.6,
        "air_temperature_c": 21.0,
        "air_rh_pct": 46,
        "drilled": f"{start.isoformat()}+01:00",
        "lined": f"{lined.isoformat()}+01:00",
        "placed": f"{lined.isoformat()}+01:00",
        "read": f"{(start + timedelta(hours=74)).isoformat()}+01:00",
        "drift_pct": 0.2,
        "conditioned_hours": 120,
        "service_conditions": "yes",
        "instrument": "probe 4",
        "operator": "L. Ansah",
        "note": "",
    }


def scan_value(places: Array, visit: str, rough: Array) -> Array:
    """Return the noise-free reading of a visit: a patch over the leak that grows."""
    strength = {"v1": 0.0, "v2": 30.0, "v3": 38.0}[visit]
    patch = Plume("leak", LEAK_PLACE, strength, 1.35).at(places) if strength else 0.0
    pipe = Service("pipe", PIPE, 9.0, 0.16).at(places)
    return 27.0 + rough + patch + pipe


SALTS = "".join(
    f"""
[[instruments.checks]]
when = {day}T08:00:00+01:00
reference = "{salt}"
read = {value + 0.3:.1f}
temperature_c = 20.0
"""
    for day in (
        "2024-08-09",
        "2024-08-19",
        "2025-09-05",
        "2025-09-15",
        "2025-11-07",
        "2025-11-17",
    )
    for salt, value in (("NaCl", 75.5), ("KCl", 85.1))
)

CLINIC = f"""\
# Everything in this folder is invented. answers.toml beside it goes with `investigate`.

[survey]
name = "Clinic, ward 2"
coordinates = "m"
covering = "vinyl sheet"
adhesive = "water-borne, batch on file"

[plan]
file = "plan.geojson"

[[rooms]]
name = "ward"
base = "concrete slab"
heated = false
thickness_mm = {THICKNESS:g}
drying_faces = 1
placed = {PLACED}
covered = {COVERED}
first_fault = 2025-06-16
membrane = "drawing-only"
build_up = "slab"

[[rooms]]
name = "store"
base = "concrete slab"
heated = false
thickness_mm = {THICKNESS:g}
drying_faces = 1
placed = {PLACED}
covered = {COVERED}
membrane = "drawing-only"
build_up = "slab"

[[instruments]]
id = "scanner C"
kind = "relative"
scale = [0, 100]
step = 1
serial = "C-3310"

[[instruments]]
id = "probe 4"
kind = "rh-probe"
serial = "P-31"
certificate = "C-2024-71"
calibrated = 2025-06-02
uncertainty = 1.5           # expanded (k = 2), %RH
{SALTS}
[limit]
method = "in-situ-rh"
value = 85
unit = "%RH"
source = "data sheet of the adhesive (invented), revision 2"

[scan]
wet_level = 42              # agreed on site from the store, which stayed dry
""" + "".join(
    f"""
[[visits]]
id = "{name}"
started = {day}T08:30:00+01:00
operator = "L. Ansah"
air_temperature_c = 21.0
air_rh_pct = {rh}
slab_temperature_c = {slab}
surface_temperatures = [[0.4, 6.5, {slab - 1.5}], [6.4, 4.3, {slab + 1.0}]]
readings = [{{ file = "scan-{name}.csv", instrument = "scanner C" }}]
tests = [{{ file = "tests-{name}.csv" }}]
"""
    for (name, day), rh, slab in zip(VISITS.items(), (52, 49, 44), (20.5, 20.0, 19.0), strict=True)
)

ANSWERS = """\
# What the caretaker and the site manager said. Every question may be left out or "not-known".
[answers]
pipes = "drawn"
pressure_test = "none"
leak_survey = "none"
flood = "none"
heating = "steady"
outside_ground = "below"
cleaning = "damp"
seen = ["blisters"]
adhesive = "no"
taped_sheet = "not-done"
"""
