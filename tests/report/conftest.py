"""A small invented floor with tests, studied and judged once."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import cache

import numpy as np
import pandas as pd
import pytest
from shapely.geometry import LineString, box

from moisturemap.bundles import DryingPlan, Findings
from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab
from moisturemap.provenance import Fingerprint, Provenance
from moisturemap.report import Supplement
from moisturemap.survey import Instrument, InstrumentCheck, Limit, Survey, Visit
from moisturemap.workflow.judge import judge_or_map
from moisturemap.workflow.placement import plan_drying

from .floors import study_floor

WHEN = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)


def _readings() -> pd.DataFrame:
    across, up = np.meshgrid(np.arange(0.25, 5, 0.5), np.arange(0.25, 4, 0.5))
    x, y = across.ravel(), up.ravel()
    noise = np.random.default_rng(3).normal(0, 1.5, x.size)
    value = np.round(30 + 35 * np.exp(-((x - 4) ** 2 + (y - 1) ** 2) / 1.5) + noise)
    count = x.size
    frame = pd.DataFrame(
        {
            "reading": np.arange(1, count + 1),
            "visit": "v1",
            "instrument": "m1",
            "x": x,
            "y": y,
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
    off_plan = frame.tail(1).assign(reading=count + 1, x=9.0, raw="44", value=44.0)
    return pd.concat([frame, off_plan], ignore_index=True)


def _tests() -> pd.DataFrame:
    hour = pd.Timedelta(hours=1)
    return pd.DataFrame(
        {
            "test": [1, 2, 3],
            "visit": "v1",
            "hole": ["H1", "H2", "H3"],
            "x": [4.0, 1.0, 2.5],
            "y": [1.0, 3.0, 2.0],
            "method": "in-situ-rh",
            "depth_mm": 40.0,
            "value": [88.0, 70.0, 72.0],
            "unit": "%RH",
            "temperature_c": 20.0,
            "air_temperature_c": 20.0,
            "air_rh_pct": 50.0,
            "drilled": pd.Timestamp(WHEN) - 100 * hour,
            "placed": pd.Timestamp(WHEN) - 99 * hour,
            "read": pd.Timestamp(WHEN),
            "instrument": "p1",
            "note": "",
            "source": "tests.csv",
            "row": ["2", "3", "4"],
            "censored": "",
        }
    )


@pytest.fixture(scope="session")
def floor() -> Survey:
    checks = tuple(
        InstrumentCheck(when, "NaCl", 75.4, None, 20.0)
        for when in (datetime(2026, 2, 28, 9, tzinfo=UTC), datetime(2026, 3, 2, 9, tzinfo=UTC))
    )
    main = PlanLine("known-service", LineString([(0, 3), (5, 3)]), "main")
    slab = Slab("concrete slab", 100.0, 1, False, datetime(2025, 9, 1).date())
    return Survey(
        "Invented store",
        FloorPlan((Room("Store", box(0, 0, 5, 4), slab),), (main,)),
        {
            "m1": Instrument("m1", scale=(0.0, 100.0), step=1.0, serial="S-1"),
            "p1": Instrument(
                "p1", "rh-probe", serial="S-2", certificate="C-7", uncertainty=1.5, checks=checks
            ),
        },
        (Visit("v1", WHEN, "A. Tester", 20.0, 50.0, 19.0, (30.0, 31.0, 29.0, 32.0)),),
        _readings(),
        _tests(),
        limit=Limit("in-situ-rh", 85.0, "%RH", "invented adhesive sheet, revision 2"),
        notes=("One blank row was passed over.",),
        provenance=Provenance(inputs=(Fingerprint("readings.csv", 1234, "ab" * 32),)),
        details={"client": "Client of nobody", "covering": "rubber tiles"},
    )


@pytest.fixture(scope="session")
def findings(floor: Survey) -> Findings:
    return judge_or_map(floor, as_of=WHEN.date() + timedelta(days=5))


@pytest.fixture(scope="session")
def recorded(findings: Findings) -> Findings:
    """The same, as read from a project file."""
    told = {"record_number": 12, "record_hash": "cd" * 32, "project": "job.gpkg"}
    provenance = dataclasses.replace(findings.survey.provenance, options=told)
    survey = dataclasses.replace(findings.survey, provenance=provenance)
    study = dataclasses.replace(findings.study, survey=survey)
    return dataclasses.replace(findings, survey=survey, study=study)


@pytest.fixture(scope="session")
def two_visits(floor: Survey) -> DryingPlan:
    """The same floor a week later, drier, with two machines."""
    later = Visit("v2", WHEN + timedelta(days=7), "A. Tester", 21.0, 45.0, 19.0)
    second = floor.readings.assign(visit="v2", value=30 + 0.7 * (floor.readings["value"] - 30))
    readings = pd.concat([floor.readings, second], ignore_index=True)
    readings["reading"] = np.arange(1, len(readings) + 1)
    machines = pd.DataFrame(
        {
            "machine": ["D1", "F1"],
            "visit": "v2",
            "kind": ["dehumidifier", "air-mover"],
            "x": [1.0, 2.0],
            "y": [3.0, 3.0],
            "direction_deg": [np.nan, 90.0],
            "capacity": [40.0, np.nan],
            "unit": ["l/day", ""],
            "note": "",
            "source": "machines.csv",
            "row": ["2", "3"],
        }
    )
    survey = dataclasses.replace(
        floor, visits=(*floor.visits, later), readings=readings, equipment=machines
    )
    return plan_drying(survey)


@pytest.fixture(scope="session")
def known(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], tuple[Findings, Supplement]]:
    """``known(name)``: a floor of ``study_floor``, studied once."""
    return cache(lambda name: study_floor(name, tmp_path_factory.mktemp(name)))
