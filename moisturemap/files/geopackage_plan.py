"""Plans in a GeoPackage (OGC 12-128r18).

Rooms stand in the layer ``rooms``, or in the only layer of polygons, or in the layer that is named;
lines in layers of lines, points or areas with a column ``kind``, or in a layer named after its
kind (``day-joints``, ``columns``). What has no kind that is known counts as a service.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

from shapely.geometry import mapping

from moisturemap.errors import FormatError, OptionError
from moisturemap.files.plan_crs import settled_unit, unit_of_crs
from moisturemap.files.plan_parts import KIND_KEYS, NAME_KEYS, PlanParts, stated_kind, word_of
from moisturemap.floorplan import FloorPlan, kind_of

MAGIC = b"SQLite format 3\x00"
ROOM_LAYER = "rooms"


def read_geopackage_plan(
    path: Path, coordinates: str = "m", layer: str | None = None, said: bool = False
) -> tuple[FloorPlan, tuple[str, ...]]:
    """Read a plan from a GeoPackage.

    Parameters
    ----------
    path : Path
    coordinates : str
        Unit of the coordinates where no reference system states one.
    layer : str, optional
        Layer of the room outlines.
    said : bool
        Whether somebody says that this is the unit: it then goes before the stated one.

    Raises
    ------
    FormatError
        When the file is no GeoPackage, is damaged, or holds longitude and latitude.
    OptionError
        When the layer does not exist, or it is not clear which layer holds the rooms.
    PlanError
        When the plan cannot be mended without guessing.
    """
    with path.open("rb") as file:
        if file.read(len(MAGIC)) != MAGIC:
            raise FormatError("this is not a GeoPackage", source=path.name)
    layers = layers_in(path)
    rooms = _room_layer(layers, layer, path.name)
    frames = {name: _frame(path, name) for name in layers}
    crs = frames[rooms].crs
    unit, told = settled_unit(coordinates, said, unit_of_crs(crs, path.name, f"layer {rooms}"))
    parts = PlanParts(path.name, notes=told)
    for name, geometry_type in layers.items():
        kind = "room" if name == rooms else (kind_of(name) or "")
        # a second layer of room outlines is another drawing of the floor, not something in it
        if name == rooms or "Polygon" not in geometry_type or kind != "room":
            _add_layer(parts, _brought_to(frames[name], crs, parts, name), name, kind)
    parts.refuse_degrees()
    plan = parts.finish(unit)
    return plan, plan.notes


def layers_in(path: Path) -> dict[str, str]:
    """Return the kind of shape of each layer that holds shapes.

    Raises
    ------
    FormatError
        When the file is damaged or no GeoPackage.
    """
    from pyogrio import list_layers

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            listed = list_layers(path)
    except Exception as error:  # GDAL raises many kinds; all mean the file is unreadable
        raise FormatError(
            f"the GeoPackage cannot be read: {_reason(error)}", source=path.name
        ) from None
    return {str(name): str(kind) for name, kind in listed if kind is not None}


def _room_layer(layers: dict[str, str], asked: str | None, source: str) -> str:
    areas = [name for name, kind in layers.items() if "Polygon" in kind]
    if asked is not None:
        if asked not in layers:
            raise OptionError(
                "there is no such layer",
                source=source,
                value=asked,
                allowed=", ".join(layers) or "the file has no layers",
            )
        return asked
    if ROOM_LAYER in layers:
        return ROOM_LAYER
    plain = [name for name in areas if kind_of(name) in (None, "room")]
    stated = [name for name in plain if kind_of(name) == "room"]
    for choice in (stated, plain):
        if len(choice) == 1:
            return choice[0]
    raise OptionError(
        "it is not clear which layer holds the rooms",
        source=source,
        allowed=f"name one of: {', '.join(areas)}" if areas else "a layer of polygons",
    )


def _brought_to(frame: Any, crs: Any, parts: PlanParts, layer: str) -> Any:
    """Return a layer in the reference system of the rooms, where both state a projected one."""
    own = frame.crs
    if own is None or crs is None or own == crs or not (own.is_projected and crs.is_projected):
        return frame
    parts.notes.append(
        f"Layer {layer} is in {own.name}, the rooms in {crs.name}; it was brought to theirs."
    )
    return frame.to_crs(crs)


def _add_layer(parts: PlanParts, frame: Any, layer: str, kind: str) -> None:
    if frame.crs is not None and frame.crs.is_geographic:
        raise FormatError(
            "the layer is in longitude and latitude",
            source=parts.source,
            place=f"layer {layer}",
            value=frame.crs.name,
            allowed="a local or projected metric system",
        )
    columns = [str(column) for column in frame.columns if column != frame.geometry.name]
    for number, (geometry, row) in enumerate(
        zip(frame.geometry, frame[columns].to_dict("records"), strict=True), 1
    ):
        place = f"layer {layer}, feature {number}"
        properties: dict[str, Any] = {str(key): value for key, value in row.items()}
        own = stated_kind(properties)
        empty = geometry is None or geometry.is_empty
        form = None if empty else _listed(mapping(geometry))
        use = own or kind or word_of(properties, KIND_KEYS) or layer
        if kind == "room" and kind_of(own) in (None, "room"):
            use = kind
        parts.add(form, word_of(properties, NAME_KEYS), use, place, properties)


def _frame(path: Path, layer: str) -> Any:
    from pyogrio import read_dataframe

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return read_dataframe(path, layer=layer)
    except Exception as error:  # GDAL and GEOS raise many kinds; all mean it is unreadable
        raise FormatError(
            f"the layer cannot be read: {_reason(error)}", source=path.name, place=f"layer {layer}"
        ) from None


def _reason(error: Exception) -> str:
    """Return what went wrong, without the statement that met it."""
    return str(error).rsplit("failed: ", 1)[-1].rsplit("; ", 1)[-1][:200]


def _listed(value: Any) -> Any:
    """Turn the tuples of a geometry mapping into lists, as in GeoJSON."""
    if isinstance(value, dict):
        return {key: _listed(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_listed(item) for item in value]
    return value
