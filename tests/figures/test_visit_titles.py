"""The maps of visits say how much floor reads wet, never an area of nought."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import pytest

from moisturemap.figures import Format
from moisturemap.figures.drying_maps import _visit_title
from moisturemap.units import Units


@pytest.mark.parametrize(
    ("area_m2", "units", "told"),
    [
        (0.0, "metric", "less than 0.1 m2 above wet level"),
        (0.04, "us", "less than 1.1 ft2 above wet level"),
        (0.06, "metric", "about 0.1 m2 above wet level"),
        (8.1, "metric", "about 8.1 m2 above wet level"),
    ],
)
def test_no_visit_is_titled_with_an_area_of_nought(area_m2: float, units: str, told: str) -> None:
    """The smallest wet floor cannot be ruled out by a scan."""
    visit = SimpleNamespace(id="v1", started=datetime(2026, 3, 4, tzinfo=UTC))
    drying: Any = SimpleNamespace(
        series=SimpleNamespace(visits=(visit,)), wet_areas=(SimpleNamespace(area_m2=area_m2),)
    )
    title = _visit_title(drying, 0, Format(units=Units(units)))
    assert title == f"v1 · 2026-03-04\n{told}"
