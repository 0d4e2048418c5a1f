"""Shared floors: the demo surveys, studied once for all tests that look at them."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from moisturemap.bundles import Study
    from moisturemap.floorplan import FloorPlan
    from moisturemap.mapping import MoistureSurface

# a busy machine takes a case for longer than hypothesis waits by itself
settings.register_profile("unhurried", deadline=None)
settings.register_profile("repeatable", settings.get_profile("unhurried"), derandomize=True)
# a submission is judged by the same cases each time; at a desk the search goes on
settings.load_profile("repeatable" if os.environ.get("CI") else "unhurried")


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Remove what the workers of this run shared, when the last has ended."""
    workers = session.config.pluginmanager.getplugin("dsession")
    manager = getattr(workers, "nodemanager", None)
    if manager is not None:
        sys.path.insert(0, str(Path(__file__).resolve().parent / "figures"))
        from kept import drop

        drop(manager.testrunuid)


DEMO_PLANS = Path(__file__).resolve().parent.parent / "demo_plans"


def demo_study(name: str) -> Study:
    """Study a demo floor; loads the science only for tests that ask for it."""
    from moisturemap.workflow.read import read_survey
    from moisturemap.workflow.study import study

    return study(read_survey(DEMO_PLANS / name))


@pytest.fixture(scope="session")
def bakery() -> Study:
    """The study of the invented bakery floor."""
    return demo_study("bakery")


@pytest.fixture(scope="session")
def flat() -> Study:
    """The study of the invented flat."""
    return demo_study("flat")


def map_known(
    plan: FloorPlan,
    reading: Callable[[np.ndarray], np.ndarray],
    *,
    step: float = 0.5,
    noise_sd: float = 1.0,
) -> MoistureSurface:
    """Map noise-free readings of a known function on a lattice, with a covariance that is given."""
    import shapely

    from moisturemap.floorplan import domains, make_grid
    from moisturemap.geostat import Covariance, Kriging
    from moisturemap.mapping import MoistureSurface

    parts = domains(plan)
    grid = make_grid(plan, parts, 0.1)
    west, south, east, north = plan.bounds
    x, y = np.meshgrid(
        np.arange(west + step / 2, east, step), np.arange(south + step / 2, north, step)
    )
    lattice = np.column_stack([x.ravel(), y.ravel()])
    mean, sd = np.full(grid.shape, np.nan), np.full(grid.shape, np.nan)
    fields = {}
    for index, part in enumerate(parts):
        points = lattice[shapely.covers(part.geometry, shapely.points(lattice))]
        model = Covariance("matern32", 100.0, 1.5, noise_sd**2)
        field = Kriging(points, reading(points), model)
        field.covariance = model
        here = grid.domain == index
        mean[here], sd[here] = field.predict(grid.centres(here))
        fields[part.key] = field
    return MoistureSurface(mean, sd, grid, parts, fields)


@pytest.fixture(scope="session")
def mapped() -> Callable[..., MoistureSurface]:
    """``mapped(plan, function)``: a surface whose truth is known, without a fit."""
    return map_known


STORE_ROOM = """
[survey]
name = "Store room"
coordinates = "m"
[plan]
file = "plan.wkt"
[[instruments]]
id = "scanner"
kind = "relative"
scale = [0, 100]
[[visits]]
id = "first"
started = 2026-03-04T09:00:00Z
readings = [{ file = "readings.csv", instrument = "scanner" }]
"""


def write_store_room(folder: Path, value: Callable[[int, int], float], more: str = "") -> Path:
    """Write a survey by hand: 4 x 3 m read every 0.5 m, ``value(column, row)`` at each place."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "plan.wkt").write_text("store room;POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))\n")
    places = [(i, j) for j in range(6) for i in range(8)]
    rows = [f"{0.25 + i / 2},{0.25 + j / 2},{value(i, j)}" for i, j in places]
    (folder / "readings.csv").write_text("\n".join(["x,y,value", *rows]) + "\n")
    (folder / "survey.toml").write_text(STORE_ROOM + more)
    return folder


@pytest.fixture(scope="session")
def store_room() -> Callable[..., Path]:
    """``store_room(folder, value, more)``: a small survey folder, with lines of its own."""
    return write_store_room


class BuildingModel:
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


@pytest.fixture(scope="session")
def building_model() -> type[BuildingModel]:
    """``building_model(metres)``: a building model in IFC under way; needs the extra ``ifc``."""
    pytest.importorskip("ifcopenshell", reason="needs the extra ifc")
    return BuildingModel
