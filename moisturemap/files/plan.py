"""Reading a floor plan, whatever its format."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from moisturemap.errors import FormatError, OptionError
from moisturemap.files.apart import read_apart
from moisturemap.files.dxf_plan import read_dxf_plan
from moisturemap.files.geojson_plan import read_geojson_plan
from moisturemap.files.geopackage_plan import read_geopackage_plan
from moisturemap.files.ifc_plan import read_ifc_plan
from moisturemap.files.plan_parts import MOST_BYTES
from moisturemap.files.wkt_plan import read_wkt_plan
from moisturemap.floorplan import FloorPlan, doubted_size, metres_per

PlanReader = Callable[..., tuple[FloorPlan, tuple[str, ...]]]

PLAN_READERS: dict[str, PlanReader] = {
    ".geojson": read_geojson_plan,
    ".json": read_geojson_plan,
    ".wkt": read_wkt_plan,
    ".txt": read_wkt_plan,
    ".dxf": read_dxf_plan,
    ".gpkg": read_geopackage_plan,
    ".ifc": read_ifc_plan,
}
"""Reader by the ending of the file name."""

_STATES_UNIT = (".dxf", ".gpkg", ".geojson", ".json")
_READ_APART = (".dxf", ".gpkg", ".ifc")


def read_plan(
    path: str | Path,
    coordinates: str | None = None,
    layer: str | None = None,
    *,
    otherwise: str = "m",
) -> tuple[FloorPlan, tuple[str, ...]]:
    """Read a floor plan.

    Parameters
    ----------
    path : str or Path
        ``.geojson``, ``.wkt``, ``.dxf``, ``.gpkg`` or ``.ifc``.
    coordinates : str
        Unit of the coordinates: ``"m"``, ``"cm"``, ``"mm"``, ``"ft"`` or ``"in"``. It goes before
        the unit a DXF drawing or a reference system states; many a drawing has that of its
        template.
    layer : str, optional
        Layer that holds the outlines of the rooms, for formats with layers; of a building model
        (IFC) the storey.
    otherwise : str
        Unit where neither ``coordinates`` nor the file states one.

    Returns
    -------
    plan : FloorPlan
        In metres.
    notes : tuple of str
        What was mended or assumed, in sentences.

    Raises
    ------
    FormatError
        When the file is missing, empty, too large, damaged or of another format.
    PlanError
        When the plan cannot be mended without guessing; names room, ring and place.
    MissingExtra
        When DXF or IFC support is not installed.
    """
    file = Path(path)
    unit = otherwise if coordinates is None else coordinates
    metres_per(unit)
    reader = PLAN_READERS.get(file.suffix.lower())
    if reader is None:
        raise FormatError(
            "plans in this format are not read",
            source=file.name,
            value=file.suffix or "no ending",
            allowed=", ".join(PLAN_READERS),
        )
    if layer is not None and not isinstance(layer, str):
        raise OptionError("the layer is not a name", value=layer, allowed="text")
    _check_file(file)
    said: list[str | bool | None] = [unit, layer]
    if file.suffix.lower() in _STATES_UNIT:
        said.append(coordinates is not None)
    if file.suffix.lower() in _READ_APART:
        return read_apart(reader, file, *said)
    plan, notes = reader(file, *said)
    placed = any("reference system of the plan counts in" in note for note in notes)
    doubt = "" if placed else doubted_size(plan, unit)
    return (replace(plan, notes=(*plan.notes, doubt)), (*notes, doubt)) if doubt else (plan, notes)


def _check_file(file: Path) -> None:
    try:
        size = file.stat().st_size
    except OSError as error:
        readers = ", ".join(PLAN_READERS)
        raise FormatError(
            f"the plan cannot be opened: {(error.strerror or 'unknown reason').lower()}",
            source=str(file),
            allowed=f"a plan file ({readers}) or a survey folder",
        ) from None
    if not file.is_file():
        raise FormatError("this is not a file", source=str(file))
    if size == 0:
        raise FormatError("the file is empty", source=file.name)
    if size > MOST_BYTES:
        raise FormatError(
            f"the file has {size / 1e6:,.0f} MB",
            source=file.name,
            allowed=f"at most {MOST_BYTES / 1e6:.0f} MB: give one floor at a time",
        )
