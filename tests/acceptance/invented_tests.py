"""An invented floor with tests that pass, to be spoilt one thing at a time."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pandas as pd
from shapely.geometry import box

from moisturemap.acceptance import DecideOptions, Decision
from moisturemap.acceptance import decide as decide_on
from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.survey import Instrument, InstrumentCheck, Limit, Survey, Visit

READ = datetime(2026, 3, 9, 10, tzinfo=UTC)
AS_OF = READ + timedelta(days=2)
SLAB = Slab("concrete slab", 150.0, 1, False, date(2025, 3, 1), on="ground")
LIMIT = Limit("in-situ-rh", 85.0, "%RH", "data sheet of the adhesive, revision 4")


def decide(survey: Survey, study: object = None, **options: object) -> Decision:
    """Decide two days after the tests were read, unless told otherwise."""
    chosen = DecideOptions(**{"as_of": AS_OF, **options})  # type: ignore[arg-type]
    return decide_on(survey, study, options=chosen)  # type: ignore[arg-type]


def probe(name: str = "P1", deviation: float = 0.4) -> Instrument:
    """A probe with certificate and salt checks the day before and the day after."""
    checks = tuple(
        InstrumentCheck(
            READ + timedelta(days=days, hours=hour), salt, value + deviation, None, 20.0
        )
        for days in (-1, 1)
        for hour, (salt, value) in enumerate((("NaCl", 75.47), ("KCl", 85.11)))
    )
    return Instrument(
        name,
        "rh-probe",
        serial="S-17",
        certificate="C-204",
        uncertainty=1.5,
        checks=checks,
        calibrated=date(2025, 9, 1),
    )


def good_test(number: int, x: float, y: float, value: float = 78.0, **changes: object) -> dict:
    """A test by the book, 40% deep, read 26 h after drilling."""
    made = {
        "test": number,
        "visit": "v1",
        "hole": f"H{number}",
        "x": x,
        "y": y,
        "method": "in-situ-rh",
        "depth_mm": 60.0,
        "value": value,
        "unit": "%RH",
        "temperature_c": 20.0,
        "slab_temperature_c": 20.1,
        "air_temperature_c": 21.0,
        "air_rh_pct": 48.0,
        "drilled": READ - timedelta(hours=27),
        "lined": READ - timedelta(hours=26),
        "placed": READ - timedelta(hours=26),
        "read": READ,
        "drift_pct": 0.4,
        "conditioned_hours": 72.0,
        "service_conditions": True,
        "edition": "ASTM F2170-19a",
        "instrument": "P1",
        "note": "",
        "source": "tests.csv",
        "row": str(number + 1),
    }
    return {**made, **changes}


def floor(tests: list[dict], **changes: object) -> Survey:
    """A shop floor of 8 by 6 m with four exterior walls."""
    frame = pd.DataFrame(tests)
    for name in ("drilled", "lined", "placed", "read", "second_read"):
        if name in frame:
            frame[name] = pd.to_datetime(frame[name], utc=True)
    survey = Survey(
        "invented shop",
        FloorPlan((Room("shop", box(0, 0, 8, 6), SLAB),)),
        {"P1": probe()},
        (Visit("v1", READ),),
        pd.DataFrame(),
        frame,
        limit=LIMIT,
    )
    return replace(survey, **changes)


AROUND = ((0.6, 3.0), (7.4, 3.0), (4.0, 0.6), (4.0, 5.4))
"""Within 0.91 m of each wall."""


def good_tests(**changes: object) -> list[dict]:
    """Four tests by the book, one by each wall."""
    return [good_test(n, x, y, **changes) for n, (x, y) in enumerate(AROUND, start=1)]


def surface_test(number: int, x: float, y: float, method: str, **changes: object) -> dict:
    """A test on the surface or a sample of nearly the whole slab: 96 h in place, heating off."""
    made = {
        "method": method,
        "depth_mm": 140.0 if method in ("carbide", "oven-dry") else None,
        "drilled": None,
        "lined": None,
        "drift_pct": None,
        "placed": READ - timedelta(hours=96),
        "heating_off_hours": 120.0,
        "surface_bare": True,
        "open_hours": 30.0,
        "surface": "ground clean",
        "edition": "",
    }
    return good_test(number, x, y, **{**made, **changes})


def hood(number: int, x: float, y: float, value: float = 78.0, **changes: object) -> dict:
    """A hood test by the book: two readings a day apart that agree."""
    second = {"second_value": value, "second_read": READ + timedelta(hours=25)}
    return surface_test(number, x, y, "hood-rh", value=value, **{**second, **changes})


def mver(value: float | None, **changes: object) -> dict:
    """An emission test by the book: a dish exposed for 66 h."""
    made = {"unit": "lb/1000 ft2/24 h", "placed": READ - timedelta(hours=66)}
    return surface_test(1, 0.6, 3.0, "mver", value=value, **{**made, **changes})


def tool(kind: str) -> dict[str, Instrument]:
    """An instrument that needs no salt check."""
    return {"P1": Instrument("P1", kind, serial="S-3", certificate="C-9", uncertainty=0.1)}
