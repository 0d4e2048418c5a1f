"""The sheet that goes on site holds every place once, with a box."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "figures"))

from legibility import faults

from moisturemap.bundles import LaidOut
from moisturemap.figures import Format
from moisturemap.figures.labels import extent
from moisturemap.figures.scan_plan import scan_plan
from moisturemap.language import speaking
from moisturemap.report import scan_sheet
from moisturemap.report.content import Bullets, Picture, Table
from moisturemap.results.layout import export_layout, sweep_rows
from moisturemap.units import Units
from moisturemap.workflow.scan_layout import lay_out_scan

DEMO_PLANS = Path(__file__).resolve().parents[2] / "demo_plans"


@pytest.fixture(scope="module")
def laid() -> LaidOut:
    """A layout of the invented flat."""
    return lay_out_scan(DEMO_PLANS / "flat", spacing=1.0)


@pytest.mark.thorough
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


@pytest.mark.thorough
@pytest.mark.parametrize("width", [120, 174])
def test_its_plans_are_legible(laid: LaidOut, width: float) -> None:
    """Names of places stand alone."""
    form = Format(width_mm=width, units=Units("us"))
    for room in laid.plan.rooms:
        assert not faults(scan_plan(laid, room, form))


@pytest.mark.thorough
def test_each_name_stands_by_its_own_place() -> None:
    """A name at the far wall was taken for that of a place there; without room it is left out."""
    laid = lay_out_scan(DEMO_PLANS / "flat", spacing=0.5)
    room = laid.plan.room("loft room")
    places = laid.layout.places[laid.layout.places["room"] == room.name]
    at = {str(one.label): (one.x, one.y) for one in places.itertuples()}
    (ax,) = [one for one in scan_plan(laid, room).axes if one.collections]
    across = ax.get_window_extent().width / np.ptp(ax.get_xlim()) / ax.figure.dpi  # [in/m]
    named = [text for text in ax.texts if text.get_text() in at]
    assert len(named) > 60
    for text in named:
        (x, y), (place_x, place_y) = text.get_position(), at[text.get_text()]
        width, height = extent([text.get_text()], text.get_fontsize(), "bold")
        assert abs(x - place_x) * across < width / 2 + 0.15
        assert abs(y - place_y) * across < height / 2 + 0.15


@pytest.mark.thorough
def test_sweeps_of_an_earlier_scan_come_with_their_places(tmp_path: Path) -> None:
    """What the first scan could not tell stands on the sheet and in a file to type into."""
    laid = lay_out_scan(DEMO_PLANS / "bakery", spacing=2.0)
    assert laid.sweeps is not None
    section = next(one for one in scan_sheet(laid).sections if "Sweeps" in one.title)
    tables = [one for one in section.blocks if isinstance(one, Table)]
    assert [len(one.columns) for one in tables] == list(laid.sweeps["readings"])
    rows = sweep_rows(laid.sweeps)
    assert len(rows) == laid.sweeps["readings"].sum()
    ends = rows[rows["label"].str.endswith("-1")]
    assert ends["x"].to_numpy() == pytest.approx(laid.sweeps["from_x"], abs=2e-3)
    assert "scan-sweeps.csv" in {path.name for path in export_layout(laid, tmp_path)}


@pytest.mark.thorough
def test_the_sheet_is_written_in_the_language_asked_for(laid: LaidOut) -> None:
    """Title, what to note, what the grid can miss and each caption, not only the page's foot."""
    rooms = {room.name for room in laid.plan.rooms}
    english = scan_sheet(laid)
    with speaking("de", rooms):
        german = scan_sheet(laid)
    assert (german.title, german.language) == ("Messblatt", "de")
    for before, after in zip(english.sections, german.sections, strict=True):
        assert after.title != before.title or before.title in rooms
        for told, said in zip(before.blocks, after.blocks, strict=True):
            if isinstance(told, Bullets) and isinstance(said, Bullets):
                assert not set(told.items) & set(said.items)
            if isinstance(told, Picture | Table) and isinstance(said, Picture | Table):
                assert said.caption != told.caption
