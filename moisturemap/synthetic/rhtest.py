"""Invented in-situ RH tests, related to the scan with a scatter of their own."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd
import shapely

from moisturemap.floorplan import FloorPlan
from moisturemap.survey import TEST_COLUMNS, Visit
from moisturemap.synthetic.field import MoistureField
from moisturemap.synthetic.recipe import FloorRecipe

RH_BASE, RH_PER_READING = 74.0, 0.35
"""RH of the dry floor [%RH] and its rise for each unit of the scan [%RH/reading]."""


def deep_rh(readings: np.ndarray, base: float) -> np.ndarray:
    """RH at the equivalent depth [%RH] that belongs to noise-free scan readings, saturating."""
    return np.asarray(
        100.0
        - (100.0 - RH_BASE)
        * np.exp(-RH_PER_READING * (np.asarray(readings) - base) / (100.0 - RH_BASE))
    )


def draw_tests(
    plan: FloorPlan,
    recipe: FloorRecipe,
    field: MoistureField,
    visit: Visit,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Draw in-situ RH tests at places spread over the range of the scan."""
    if recipe.tests == 0:
        return pd.DataFrame(columns=list(TEST_COLUMNS))
    west, south, east, north = plan.bounds
    places = rng.uniform((west, south), (east, north), (400, 2))
    places = places[shapely.covers(plan.outline.buffer(-0.3), shapely.points(places))]
    wetness = 0.5 ** ((recipe.visits - 1) * recipe.days_apart / recipe.half_life_days)
    scan = field.at(places, wetness)
    ranks = (np.arange(recipe.tests) + 0.5) / recipe.tests
    chosen = np.argsort(scan)[(ranks * len(scan)).astype(int)]
    rh = deep_rh(scan[chosen], recipe.base) + recipe.rh_scatter * rng.standard_normal(recipe.tests)
    started = visit.started
    frame = pd.DataFrame(
        {
            "test": np.arange(1, recipe.tests + 1),
            "visit": visit.id,
            "hole": [f"H{i + 1}" for i in range(recipe.tests)],
            "x": np.round(places[chosen, 0], 2),
            "y": np.round(places[chosen, 1], 2),
            "method": "in-situ-rh",
            "depth_mm": 60.0,
            "value": np.round(np.clip(rh, 20, 100), 1),
            "unit": "%RH",
            "temperature_c": 18.5,
            "air_temperature_c": 20.0,
            "air_rh_pct": 50.0,
            "drilled": None if started is None else started - timedelta(days=4),
            "placed": None if started is None else started - timedelta(days=4),
            "read": started,
            "instrument": "probe",
            "note": "",
            "source": "tests.csv",
            "row": np.arange(recipe.tests) + 2,
        }
    )
    return frame[list(TEST_COLUMNS)]
