"""What may be picked in a plan file, as a drawing program and a building model have it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from moisturemap.errors import FormatError
from moisturemap.files import PlanLayer, plan_layers, read_plan

BOX = [(0, 0), (4, 0), (4, 3), (0, 3)]


def test_layers_of_a_drawing_are_listed_with_what_they_hold(tmp_path: Path) -> None:
    """Enclosing layers first; hidden layers are not offered; each that holds rooms is read."""
    ezdxf = pytest.importorskip("ezdxf", reason="needs the extra dxf")
    drawing = ezdxf.new("R2010")
    space = drawing.modelspace()
    space.add_lwpolyline(BOX, close=True, dxfattribs={"layer": "old layout"})
    space.add_lwpolyline([(x + 5, y) for x, y in BOX], close=True, dxfattribs={"layer": "new"})
    space.add_lwpolyline([(x + 9, y) for x, y in BOX], close=True, dxfattribs={"layer": "new"})
    space.add_line((1, 0), (1, 3), dxfattribs={"layer": "pipes"})
    space.add_line((0, 0), (1, 1), dxfattribs={"layer": "away"})
    drawing.layers.add("away").off()
    path = tmp_path / "shop.dxf"
    drawing.saveas(path)
    found = plan_layers(path)
    assert found.of == "layer"
    assert found.layers == (
        PlanLayer("new", "", 2, 2),
        PlanLayer("old layout", "", 1, 1),
        PlanLayer("pipes", "known-service", 1, 0),
    )
    assert len(read_plan(path, layer="new")[0].rooms) == 2
    assert len(read_plan(path, layer="old layout")[0].rooms) == 1


def test_storeys_of_a_building_model_are_listed(tmp_path: Path, building_model: Any) -> None:
    """Lowest first, with the number of their spaces."""
    model = building_model()
    model.space(model.storey("First floor", 3.0), "1.01", BOX, at=(0, 0, 3.0))
    model.space(model.storey("Cellar", -3.0), "C.01", BOX, at=(0, 0, -3.0))
    found = plan_layers(model.write(tmp_path / "house.ifc"))
    assert found.of == "storey"
    assert [(one.name, one.parts) for one in found.layers] == [("Cellar", 1), ("First floor", 1)]


def test_formats_without_layers_list_none(tmp_path: Path) -> None:
    """Nothing is to be picked."""
    (tmp_path / "plan.wkt").write_text("hall;POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))\n")
    assert plan_layers(tmp_path / "plan.wkt").layers == ()


def test_a_damaged_drawing_is_refused_by_its_name(tmp_path: Path) -> None:
    """As when it is read."""
    pytest.importorskip("ezdxf", reason="needs the extra dxf")
    (tmp_path / "broken.dxf").write_bytes(b"AC1027 no text")
    with pytest.raises(FormatError, match=r"broken\.dxf"):
        plan_layers(tmp_path / "broken.dxf")
