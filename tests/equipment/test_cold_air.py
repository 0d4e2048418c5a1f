"""What cold air makes of dehumidifiers: common practice, see the module."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import box

from moisturemap.equipment import Demand, Machine, PlacementOptions, place_machines
from moisturemap.equipment.cold_air import drying_type
from moisturemap.files.equipment import read_equipment
from moisturemap.floorplan import FloorPlan, Room

HALL = FloorPlan((Room("hall", box(0, 0, 12, 8)),))
WET = Demand(np.array([[10.0, 6.0]]), np.ones(1), np.zeros(1, dtype=bool), np.array(["A"], object))


def machine(note: str) -> Machine:
    """A dehumidifier far from the wet floor."""
    return Machine("D1", "dehumidifier", 1.0, 1.0, note=note)


@pytest.mark.parametrize(
    ("note", "air_c", "action", "told"),
    [
        ("refrigerant", 6.0, "remove", "Not placed, as the room air is 6.0 °C: D1."),
        ("Kondensationstrockner", 7.9, "remove", "Not placed"),
        ("refrigerant", 12.0, "move", "Weak, as the room air is 12.0 °C: D1."),
        ("by the gate", 12.0, "move", "nothing tells how these dehumidifiers dry: D1."),
        ("desiccant", 6.0, "move", ""),
        ("refrigerant", 15.0, "move", ""),
        ("refrigerant", None, "move", ""),
    ],
)
def test_a_refrigerant_dehumidifier_in_cold_air(note, air_c, action, told) -> None:
    """Below 8 C it is not moved as if it helped; below 15 C that is said."""
    placed = place_machines(HALL, WET, [machine(note)], air_c=air_c)
    (row,) = placed.moves.to_dict("records")
    assert row["action"] == action
    said = " ".join(placed.statements)
    assert told in said
    assert bool(told) == ("the room air is" in said.casefold())
    if action == "remove":
        assert "of no use in air of" in row["sentence"]
        assert "Move" not in row["sentence"]


def test_a_dehumidifier_to_be_brought_into_cold_air_is_a_desiccant_one() -> None:
    """The one that ices is left out, and the one asked for is placed."""
    wanted = PlacementOptions(dehumidifiers=1)
    placed = place_machines(HALL, WET, [machine("refrigerant")], wanted, air_c=6.0)
    assert sorted(placed.moves["action"]) == ["bring", "remove"]
    assert "bring a desiccant dehumidifier" in " ".join(placed.statements)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("condensate pump fitted", ""),
        ("desiccant, not refrigerant", ""),
        ("LGR 2000", "refrigerant"),
        ("Kondenstrockner", "refrigerant"),
        ("silica rotor", "desiccant"),
    ],
)
def test_words_for_how_it_dries(text: str, kind: str) -> None:
    """Words of both, or of neither, tell nothing."""
    assert drying_type(text) == kind


def test_the_word_for_the_kind_is_kept_in_the_note(tmp_path) -> None:
    """It tells how the machine dries; read as "dehumidifier" alone that was lost."""
    path = tmp_path / "machines.csv"
    path.write_text(
        "machine,kind,x,y,note\nD1,desiccant dehumidifier,1,1,by the gate\n"
        "D2,Kondenstrockner,2,1,\nD3,dehumidifier,3,1,new\nF1,fan,4,1,\n",
        encoding="utf-8",
    )
    table, _ = read_equipment(path)
    assert list(table["note"]) == [
        "desiccant dehumidifier; by the gate",
        "Kondenstrockner",
        "new",
        "",
    ]
