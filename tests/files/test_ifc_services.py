"""Services of building models made by the library that reads them; distances by hand.

Classes as named by ISO 16739-1:2024 (IFC 4.3) and, for models of that version, IFC 2x3.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Point

from moisturemap.drilling.clearance import near_services
from moisturemap.files import read_plan
from moisturemap.floorplan import NOT_KEPT_CLEAR

ifcopenshell = pytest.importorskip("ifcopenshell", reason="needs the extra ifc")

HALL = [(0, 0), (5, 0), (5, 4), (0, 4)]
Way = list[tuple[float, float, float]]


def _swept(model: Any, kind: str, name: str, way: Way, radius: float) -> Any:
    """A pipe or the like: a disk swept along a way [m]."""
    element = model.api.root.create_entity(model.file, ifc_class=kind, name=name)
    file, unit = model.file, model.unit
    points = [file.createIfcCartesianPoint([float(c) / unit for c in place]) for place in way]
    line = file.createIfcPolyline(points)
    solid = file.createIfcSweptDiskSolid(line, radius / unit, None, None, None)
    shape = file.createIfcShapeRepresentation(model.body, "Body", "AdvancedSweptSolid", [solid])
    model.api.geometry.assign_representation(file, product=element, representation=shape)
    model.api.geometry.edit_object_placement(file, product=element)
    return element


def _model(building_model: Any, metres: float = 1.0) -> Any:
    model = building_model(metres)
    model.space(model.storey("Ground floor", 0.0), "hall", HALL)
    return model


@pytest.mark.parametrize("metres", [1.0, 0.001, 0.3048], ids=["m", "mm", "ft"])
def test_a_pipe_in_the_floor_is_a_line_to_keep_clear_of(
    tmp_path: Path, metres: float, building_model: Any
) -> None:
    """A pipe of 32 mm, 0.05 m below the floor, from (1, 1) to (4, 1): its axis, in metres."""
    model = _model(building_model, metres)
    _swept(model, "IfcPipeSegment", "supply", [(1, 1, -0.05), (4, 1, -0.05)], 0.016)
    plan, notes = read_plan(model.write(tmp_path / "house.ifc"))
    (line,) = plan.lines
    assert (line.kind, line.name) == ("known-service", "pipe supply")
    assert line.geometry.geom_type == "LineString"
    assert line.geometry.length == pytest.approx(3.0, abs=0.01)
    assert line.geometry.distance(Point(1, 1)) == pytest.approx(0.0, abs=0.005)
    assert near_services(plan, 2.0, 1.2).startswith("0.20 m from known service pipe supply")
    assert near_services(plan, 2.0, 1.4) == ""
    assert any("not what was built: detect before drilling" in note for note in notes)


def test_the_width_of_a_duct_and_the_bends_of_a_loop_are_kept_clear_of(
    tmp_path: Path, building_model: Any
) -> None:
    """Not their axis and not the straight line between their ends."""
    model = _model(building_model)
    _swept(model, "IfcDuctSegment", "D1", [(1, 2, -0.2), (4, 2, -0.2)], 0.2)
    loop: Way = [(0.5, 0.5, 0), (4.5, 0.5, 0), (4.5, 3.5, 0), (0.5, 3.5, 0)]
    _swept(model, "IfcPipeSegment", "heating loop", loop, 0.008)
    _swept(model, "IfcTendon", "T1", [(0, 3, -0.1), (5, 3, -0.1)], 0.02)
    plan, _ = read_plan(model.write(tmp_path / "house.ifc"))
    lines = {line.name: line.geometry for line in plan.lines}
    assert set(lines) == {"duct D1", "pipe heating loop", "tendon T1"}
    assert lines["duct D1"].distance(Point(2.5, 2.2)) <= 0.01, "the edge of a duct of 0.4 m"
    for corner in loop:
        assert lines["pipe heating loop"].distance(Point(corner[:2])) <= 0.02
    assert lines["pipe heating loop"].distance(Point(0.5, 2.0)) > 1.0
    assert near_services(plan, 2.5, 2.45).startswith("0.25 m from known service duct D1")


def test_what_is_far_from_the_floor_or_has_no_shape_is_said(
    tmp_path: Path, building_model: Any
) -> None:
    """A duct below the ceiling is counted; a pipe without a shape asks to be drawn."""
    model = _model(building_model)
    _swept(model, "IfcDuctSegment", "ceiling", [(1, 2, 2.3), (4, 2, 2.3)], 0.1)
    model.api.root.create_entity(model.file, ifc_class="IfcPipeSegment", name="lost")
    plan, notes = read_plan(model.write(tmp_path / "house.ifc"))
    assert plan.lines == ()
    said = " ".join(notes)
    assert "1 services farther above or below the floor are not drawn." in said
    assert "1 services of the model have no shape that can be read" in said
    assert "Draw them by hand before holes are planned." in said


def test_a_model_without_services_says_that_they_are_not_in_it(
    tmp_path: Path, building_model: Any
) -> None:
    """No line is no proof: the words ask for what is known to be drawn."""
    plan, notes = read_plan(_model(building_model).write(tmp_path / "house.ifc"))
    assert plan.lines == ()
    assert any("services are not in this file" in note for note in notes)


def test_a_slanted_pipe_and_one_beside_the_rooms(tmp_path: Path, building_model: Any) -> None:
    """Seen from above it keeps its way; one five metres beside the rooms is no line of the plan."""
    model = _model(building_model)
    _swept(model, "IfcCableCarrierSegment", "K1", [(0.5, 0.5, 0.02), (4.5, 3.5, 0.02)], 0.03)
    _swept(model, "IfcPipeSegment", "outside", [(10, 0, 0), (10, 4, 0)], 0.03)
    plan, _ = read_plan(model.write(tmp_path / "house.ifc"))
    (line,) = plan.lines
    assert line.name == "cable duct K1"
    assert line.geometry.length == pytest.approx(5.0, abs=0.01)
    assert line.geometry.distance(Point(2.5, 2.0)) <= 0.005


def _solid(model: Any, kind: str, name: str, ring: list[tuple[float, float]], z: float) -> None:
    """A block 1 m high on a ring, its foot at a height [m]."""
    file, unit = model.file, model.unit
    element = model.api.root.create_entity(file, ifc_class=kind, name=name)
    points = [file.createIfcCartesianPoint([x / unit, y / unit]) for x, y in [*ring, ring[0]]]
    profile = file.createIfcArbitraryClosedProfileDef("AREA", None, file.createIfcPolyline(points))
    shape = model.api.geometry.add_profile_representation(
        file, context=model.body, profile=profile, depth=1.0
    )
    model.api.geometry.assign_representation(file, product=element, representation=shape)
    matrix = np.eye(4)
    matrix[2, 3] = z
    model.api.geometry.edit_object_placement(file, product=element, matrix=matrix)


@pytest.mark.parametrize("kind", ["IfcDistributionChamberElement", "IfcTank", "IfcSpaceHeater"])
def test_no_hole_stands_in_a_chamber_or_tank(
    tmp_path: Path, building_model: Any, kind: str
) -> None:
    """All parts of services near the floor are kept clear of, by their outline."""
    model = _model(building_model)
    _solid(model, kind, "S1", [(1, 1), (3, 1), (3, 3), (1, 3)], -1.0)
    plan, _ = read_plan(model.write(tmp_path / "house.ifc"))
    (line,) = plan.lines
    assert line.geometry.area == pytest.approx(4.0, abs=0.05)
    assert near_services(plan, 2.0, 2.0).startswith("0.00 m from known service")


@pytest.mark.parametrize("held", ["Body", "Axis"])
def test_a_pipe_given_by_its_axis_alone_is_a_line(
    tmp_path: Path, building_model: Any, held: str
) -> None:
    """As models of an early stage have it: no solid, a polyline with a bend."""
    model = _model(building_model)
    element = model.api.root.create_entity(model.file, ifc_class="IfcPipeSegment", name="A1")
    way = [(1.0, 1.0, -0.05), (4.0, 1.0, -0.05), (4.0, 3.0, -0.05)]
    line = model.file.createIfcPolyline([model.file.createIfcCartesianPoint(p) for p in way])
    shape = model.file.createIfcShapeRepresentation(model.body, held, "Curve3D", [line])
    model.api.geometry.assign_representation(model.file, product=element, representation=shape)
    model.api.geometry.edit_object_placement(model.file, product=element)
    plan, _ = read_plan(model.write(tmp_path / "house.ifc"))
    (found,) = plan.lines
    assert found.geometry.length == pytest.approx(5.0)
    assert found.geometry.distance(Point(4, 1)) == pytest.approx(0.0)


def test_bars_and_objects_of_no_class_in_the_floor_are_named(
    tmp_path: Path, building_model: Any
) -> None:
    """They are no services by the standard: the words stand on the drill plan."""
    model = _model(building_model)
    _swept(model, "IfcReinforcingBar", "B1", [(0.5, 2, -0.05), (4.5, 2, -0.05)], 0.006)
    _solid(model, "IfcBuildingElementProxy", "P1", [(1, 1), (2, 1), (2, 2), (1, 2)], -0.5)
    _solid(model, "IfcBuildingElementProxy", "desk", [(3, 3), (4, 3), (4, 4), (3, 4)], 0.0)
    plan, notes = read_plan(model.write(tmp_path / "house.ifc"))
    assert plan.lines == ()
    said = [note for note in notes if NOT_KEPT_CLEAR in note]
    assert len(said) == 2
    assert "1 bars, meshes and the like (IfcReinforcingElement) in the floor" in said[0]
    assert "1 objects of no class (IfcBuildingElementProxy) in the floor" in said[1]
