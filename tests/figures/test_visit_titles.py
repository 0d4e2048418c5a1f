"""The maps of visits say how much floor reads wet, never an area of nought."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import pytest

from moisturemap.figures import Format
from moisturemap.figures.drying_maps import TITLE_PT, _titled, _visit_title
from moisturemap.figures.typeface import POINTS_PER_INCH, width_of
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


@pytest.mark.parametrize(
    ("width_mm", "height_mm"), [(174, 100), (174, 70), (261, 90), (120, None), (80, None)]
)
def test_no_title_reaches_the_next_map(width_mm: float, height_mm: float | None) -> None:
    """On low sheets maps are small and stand beside each other: there titles take more lines."""
    visits = tuple(
        SimpleNamespace(id=f"v{k}", started=datetime(2026, 9, k, tzinfo=UTC)) for k in range(1, 6)
    )
    areas = tuple(SimpleNamespace(area_m2=101.3) for _ in visits)
    drying: Any = SimpleNamespace(
        levels=visits, series=SimpleNamespace(visits=visits), wet_areas=areas
    )
    plan: Any = SimpleNamespace(bounds=(0.0, 0.0, 32.0, 20.0))
    sheet, titles = _titled(drying, plan, Format(width_mm=width_mm, height_mm=height_mm))
    for lines in (title.split("\n") for title in titles):
        assert " ".join(lines).endswith("about 101.3 m2 above wet level")
        assert max(width_of(line, TITLE_PT) for line in lines) <= sheet.name_width
        assert len(lines) * TITLE_PT * 1.2 / POINTS_PER_INCH <= sheet.head
