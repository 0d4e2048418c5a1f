"""Rooms of building models made by the library that reads them; areas worked out by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from moisturemap.errors import FormatError, OptionError, PlanError
from moisturemap.files import read_plan

ifcopenshell = pytest.importorskip("ifcopenshell", reason="needs the extra ifc")

RECTANGLE = [(0, 0), (5, 0), (5, 4), (0, 4)]
ELL = [(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)]
"""3 x 1 and 1 x 1: 4 m2."""


class Model:
    """A building of one site; lengths are given in metres and written in the unit of the model."""

    def __init__(self, metres: float = 1.0) -> None:
        import ifcopenshell.api.aggregate
        import ifcopenshell.api.context
        import ifcopenshell.api.geometry
        import ifcopenshell.api.project
        import ifcopenshell.api.root
        import ifcopenshell.api.unit

        self.api = ifcopenshell.api
        self.unit = metres
        self.file = self.api.project.create_file()
        self.project = self._make("IfcProject", "Mill")
        known = {0.001: "MILLI", 1.0: None}
        if metres in known:
            length = self.api.unit.add_si_unit(self.file, "LENGTHUNIT", known[metres])
        else:
            length = self.api.unit.add_conversion_based_unit(self.file, "foot")
        self.api.unit.assign_unit(self.file, units=[length])
        model = self.api.context.add_context(self.file, context_type="Model")
        self.body = self.api.context.add_context(
            self.file, "Model", "Body", "MODEL_VIEW", parent=model
        )
        self.building = self._make("IfcBuilding", "House", self.project)

    def _make(self, kind: str, name: str, whole: Any = None) -> Any:
        made = self.api.root.create_entity(self.file, ifc_class=kind, name=name)
        if whole is not None:
            self.api.aggregate.assign_object(self.file, products=[made], relating_object=whole)
        return made

    def storey(self, name: str, elevation: float) -> Any:
        storey = self._make("IfcBuildingStorey", name, self.building)
        storey.Elevation = elevation / self.unit
        return storey

    def space(
        self, storey: Any, name: str, ring: list[tuple[float, float]], at: Any = (0, 0, 0)
    ) -> Any:
        space = self._make("IfcSpace", name, storey)
        corners = [(float(x) / self.unit, float(y) / self.unit) for x, y in [*ring, ring[0]]]
        points = [self.file.createIfcCartesianPoint(corner) for corner in corners]
        outline = self.file.createIfcPolyline(points)
        profile = self.file.createIfcArbitraryClosedProfileDef("AREA", None, outline)
        shape = self.api.geometry.add_profile_representation(
            self.file, context=self.body, profile=profile, depth=2.5
        )
        self.api.geometry.assign_representation(self.file, product=space, representation=shape)
        matrix = np.eye(4)
        matrix[:3, 3] = at
        self.api.geometry.edit_object_placement(self.file, product=space, matrix=matrix)
        return space

    def write(self, path: Path) -> Path:
        self.file.write(str(path))
        return path


@pytest.mark.parametrize("metres", [1.0, 0.001, 0.3048], ids=["m", "mm", "ft"])
def test_spaces_become_rooms_in_metres(tmp_path: Path, metres: float) -> None:
    """5 x 4 = 20 m2 and an ell of 4 m2 beside it, whatever the unit of the model."""
    model = Model(metres)
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


def test_a_storey_is_chosen_by_its_name(tmp_path: Path) -> None:
    """Several storeys are listed, lowest first; the one named is read."""
    model = Model()
    model.space(model.storey("First floor", 3.0), "1.01", ELL, at=(0, 0, 3.0))
    model.space(model.storey("Cellar", -3.0), "C.01", RECTANGLE, at=(0, 0, -3.0))
    path = model.write(tmp_path / "house.ifc")
    with pytest.raises(OptionError, match=r"'Cellar' \(1 spaces\), 'First floor'"):
        read_plan(path)
    plan, _ = read_plan(path, layer="First floor")
    assert [room.name for room in plan.rooms] == ["1.01"]
    with pytest.raises(OptionError, match="Attic"):
        read_plan(path, layer="Attic")


def test_a_model_without_spaces_says_what_to_export(tmp_path: Path) -> None:
    """The words name what is missing."""
    model = Model()
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
