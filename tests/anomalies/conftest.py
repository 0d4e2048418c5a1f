"""Floors with one thing in them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from moisturemap.anomalies import Anomalies, detect
from moisturemap.floorplan import domains
from moisturemap.survey import clean_readings
from moisturemap.synthetic import FloorRecipe, SyntheticFloor, make_floor

SMALL = FloorRecipe(width=6.0, depth=4.5, spacing=0.25, footprint=0.14, strength=(7.0, 8.0))


def search(floor: SyntheticFloor) -> Anomalies:
    """Detect on the latest visit, with the earlier ones at hand."""
    survey = floor.survey
    parts = domains(survey.plan)
    cleaned = [clean_readings(survey, visit.id, domains=parts) for visit in survey.visits]
    return detect(cleaned[-1], survey.plan, parts, earlier=cleaned[:-1])


@pytest.fixture(scope="session")
def searched() -> Callable[..., tuple[SyntheticFloor, Anomalies]]:
    """A floor of a changed small recipe and what is found on it; kept for the session."""
    kept: dict[tuple[object, ...], tuple[SyntheticFloor, Anomalies]] = {}

    def make(seed: int = 1, **changes: object) -> tuple[SyntheticFloor, Anomalies]:
        key = (seed, *sorted((name, str(value)) for name, value in changes.items()))
        if key not in kept:
            floor = make_floor(replace(SMALL, **changes), seed)
            kept[key] = (floor, search(floor))
        return kept[key]

    return make
