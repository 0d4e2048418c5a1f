"""The sheet that goes on site holds every place once, with a box."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "figures"))

from legibility import faults

from moisturemap.bundles import LaidOut
from moisturemap.figures import Format
from moisturemap.figures.scan_plan import scan_plan
from moisturemap.report import scan_sheet
from moisturemap.report.content import Picture, Table
from moisturemap.units import Units
from moisturemap.workflow.scan_layout import lay_out_scan

DEMO_PLANS = Path(__file__).resolve().parents[2] / "demo_plans"


@pytest.fixture(scope="module")
def laid() -> LaidOut:
    """A layout of the invented flat."""
    return lay_out_scan(DEMO_PLANS / "flat", spacing=1.0)


def test_every_place_has_its_box(laid: LaidOut) -> None:
    """By room, in walking order; repeats are marked."""
    content = scan_sheet(laid)
    tables = [b for s in content.sections for b in s.blocks if isinstance(b, Table)]
    boxes = [table for table in tables if table.caption.startswith("Readings in")]
    listed = [row[at] for table in boxes for at in (0, 3, 6) for row in table.rows if row[at]]
    wanted = [
        f"{one.label}{' again' if one.purpose == 'repeat' else ''}"
        for room in laid.plan.rooms
        for one in laid.layout.places.sort_values("order").itertuples()
        if one.room == room.name
    ]
    assert listed == wanted
    pictures = [b for s in content.sections for b in s.blocks if isinstance(b, Picture)]
    assert len(pictures) == len(laid.plan.rooms)


@pytest.mark.parametrize("width", [120, 174])
def test_its_plans_are_legible(laid: LaidOut, width: float) -> None:
    """Names of places stand alone."""
    form = Format(width_mm=width, units=Units("us"))
    for room in laid.plan.rooms:
        assert not faults(scan_plan(laid, room, form))
