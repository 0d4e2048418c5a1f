"""Rooms of building models made by the library that reads them; areas worked out by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from moisturemap.errors import FormatError, OptionError, PlanError
from moisturemap.files import read_plan

ifcopenshell = pytest.importorskip("ifcopenshell", reason="needs the extra ifc")

RECTANGLE = [(0, 0), (5, 0), (5, 4), (0, 4)]
ELL = [(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)]
"""3 x 1 and 1 x 1: 4 m2."""


@pytest.mark.parametrize("metres", [1.0, 0.001, 0.3048], ids=["m", "mm", "ft"])
def test_spaces_become_rooms_in_metres(tmp_path: Path, metres: float, building_model: Any) -> None:
    """5 x 4 = 20 m2 and an ell of 4 m2 beside it, whatever the unit of the model."""
    model = building_model(metres)
    ground = model.storey("Ground floor", 0.0)
    hall = model.space(ground, "0.01", RECTANGLE)
    hall.LongName = "Hall"
    model.space(ground, "0.02", ELL, at=(5.0, 0.0, 0.0))
    plan, notes = read_plan(model.write(tmp_path / "house.ifc"))
    assert {room.name: round(room.polygon.area, 6) for room in plan.rooms} == {
        "0.01 Hall": 20.0,
        "0.02": 4.0,
    }
    assert plan.bounds == pytest.approx((0.0, 0.0, 8.0, 4.0))
    assert any("Ground floor" in note for note in notes)


def test_a_storey_is_chosen_by_its_name(tmp_path: Path, building_model: Any) -> None:
    """Several storeys are listed, lowest first; the one named is read."""
    model = building_model()
    model.space(model.storey("First floor", 3.0), "1.01", ELL, at=(0, 0, 3.0))
    model.space(model.storey("Cellar", -3.0), "C.01", RECTANGLE, at=(0, 0, -3.0))
    path = model.write(tmp_path / "house.ifc")
    with pytest.raises(OptionError, match=r"'Cellar' \(1 spaces\), 'First floor'"):
        read_plan(path)
    plan, _ = read_plan(path, layer="First floor")
    assert [room.name for room in plan.rooms] == ["1.01"]
    with pytest.raises(OptionError, match="Attic"):
        read_plan(path, layer="Attic")


def test_a_model_without_spaces_says_what_to_export(tmp_path: Path, building_model: Any) -> None:
    """The words name what is missing."""
    model = building_model()
    model.storey("Ground floor", 0.0)
    with pytest.raises(PlanError, match="IfcSpace"):
        read_plan(model.write(tmp_path / "house.ifc"))


@pytest.mark.parametrize("content", ["no model", "ISO-10303-21;\nHEADER;\nbroken"])
def test_what_is_no_model_is_refused(tmp_path: Path, content: str) -> None:
    """By its first line, or by the library that reads it."""
    path = tmp_path / "house.ifc"
    path.write_text(content)
    with pytest.raises((FormatError, PlanError)):
        read_plan(path)


def test_a_model_that_was_cut_short_is_refused(tmp_path: Path, building_model: Any) -> None:
    """What stood last, such as a pipe, would be missed without a word (ISO 10303-21, 5.1)."""
    model = building_model()
    model.space(model.storey("Ground floor", 0.0), "0.01", RECTANGLE)
    path = model.write(tmp_path / "house.ifc")
    whole = path.read_bytes()
    path.write_bytes(whole + b"\n/* signed */\n")
    assert read_plan(path)[0].rooms
    path.write_bytes(whole[: whole.rindex(b"ENDSEC")])
    with pytest.raises(FormatError, match="cut short"):
        read_plan(path)
