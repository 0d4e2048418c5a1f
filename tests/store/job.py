"""An invented job to keep in project files."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pandas as pd
from shapely.geometry import LineString, Point, box

from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab
from moisturemap.survey import (
    Instrument,
    InstrumentCheck,
    Limit,
    ScanSettings,
    Survey,
    Visit,
)


def make_readings(count: int, seed: int = 1) -> pd.DataFrame:
    """Readings as the file readers hand them on."""
    rng = np.random.default_rng(seed)
    value = rng.integers(0, 999, count).astype(float)
    return pd.DataFrame(
        {
            "reading": np.arange(1, count + 1),
            "visit": "v1",
            "instrument": "m1",
            "x": rng.random(count) * 6,
            "y": rng.random(count) * 4,
            "value": value,
            "raw": [f"{one:g}" for one in value],
            "censored": "",
            "room": "Store",
            "label": "",
            "repeat": 0,
            "time": pd.Series([pd.NaT] * count, dtype="datetime64[us, UTC]"),
            "note": "",
            "source": "readings.csv",
            "row": [str(row + 2) for row in range(count)],
        }
    )


def make_survey(count: int = 30) -> Survey:
    """A small floor with everything a survey can hold."""
    plan = FloorPlan(
        (
            Room("Store", box(0, 0, 6, 4), Slab("cement screed", 65.0, 1, True, date(2026, 1, 5))),
            Room("Hall", box(6.2, 0, 9, 4), Slab(pour="second")),
        ),
        (
            PlanLine("day-joint", LineString([(6.1, 0), (6.1, 4)])),
            PlanLine("power-point", Point(1, 0), "P1"),
        ),
        ("A gap of 8 mm was closed.",),
    )
    when = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
    check = InstrumentCheck(when, "NaCl", 75.1, None, 20.0)
    tests = pd.DataFrame(
        {
            "test": [1, 2],
            "visit": "v1",
            "hole": ["H1", "H2"],
            "x": [1.0, np.nan],
            "y": [2.0, np.nan],
            "method": "in-situ-rh",
            "depth_mm": [26.0, np.nan],
            "value": [81.0, 74.5],
            "unit": "% RH",
            "temperature_c": [19.5, 20.0],
            "air_temperature_c": np.nan,
            "air_rh_pct": np.nan,
            "drilled": pd.to_datetime([when, None], utc=True),
            "placed": pd.NaT,
            "read": pd.to_datetime([when, when], utc=True),
            "instrument": "p1",
            "note": ["", "late"],
            "source": "tests.csv",
            "row": ["2", "3"],
            "censored": "",
            "drift_pct": [0.4, np.nan],
            "photo": ["IMG_1", ""],
        }
    )
    return Survey(
        "Invented bakery",
        plan,
        {
            "m1": Instrument("m1", scale=(0.0, 999.0), step=1.0),
            "p1": Instrument("p1", "rh-probe", serial="0042", uncertainty=1.5, checks=(check,)),
        },
        (Visit("v1", when, "A. Tester", 20.0, 55.0, None, (12.0, 14.0)),),
        make_readings(count),
        tests,
        scan=ScanSettings(dry_reference=(11.0, 13.0)),
        limit=Limit("in-situ-rh", 75.0, "% RH", "invented data sheet, revision 2"),
        room_limits={"Hall": Limit("in-situ-rh", 80.0, "% RH", "invented adhesive sheet")},
        notes=("Two blank rows were passed over.",),
    )


def assert_same_survey(one: Survey, other: Survey) -> None:
    """Everything but where it was read from."""
    for table in ("readings", "tests", "equipment"):
        pd.testing.assert_frame_equal(getattr(one, table), getattr(other, table))
    for name in (
        "name",
        "instruments",
        "visits",
        "scan",
        "limit",
        "room_limits",
        "notes",
        "details",
        "units",
        "timezone",
        "site",
        "plan",
    ):
        assert getattr(one, name) == getattr(other, name), name
