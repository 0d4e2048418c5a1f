"""Plans in GeoJSON (RFC 7946), in plan coordinates rather than degrees.

Rooms are Polygon or MultiPolygon features with a property ``name`` (or ``room``, ``label``,
``title``); lines, points and areas with a property ``kind`` are walls, joints, services and so on.
A polygon of kind ``column``, ``pit`` or ``void`` is cut out of its room. What has no kind that is
known counts as a service to keep clear of, unless nothing runs in it (furniture, texts, windows).
A single feature or a bare geometry is understood too.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from moisturemap.errors import FormatError
from moisturemap.files.plan_crs import settled_unit, unit_of_crs
from moisturemap.files.plan_parts import (
    NAME_KEYS,
    PlanParts,
    read_text,
    stated_or_guessed_kind,
    word_of,
)
from moisturemap.floorplan import FloorPlan

_LONGEST_WHOLE = 16
"""From this many digits a whole number is taken as a double, which holds no more (IEEE 754)."""


def read_geojson_plan(
    path: Path, coordinates: str = "m", layer: str | None = None, said: bool = False
) -> tuple[FloorPlan, tuple[str, ...]]:
    """Read a plan from GeoJSON.

    Parameters
    ----------
    path : Path
    coordinates : str
        Unit of the coordinates where the file states none.
    layer : str, optional
        Not used: the format has no layers.
    said : bool
        Whether somebody says that this is the unit: it then goes before that of the member ``crs``
        of older files (GeoJSON 2008, section 3).

    Raises
    ------
    FormatError
        When the file is no GeoJSON, or holds longitude and latitude.
    PlanError
        When the plan cannot be mended without guessing.
    """
    text, notes = read_text(path)
    data = _parsed(text, path.name)
    unit, told = settled_unit(coordinates, said, _stated_unit(data, path.name))
    parts = PlanParts(path.name, notes=[*notes, *told])
    for number, (geometry, properties) in enumerate(_features(data, path.name), 1):
        name, kind = word_of(properties, NAME_KEYS), stated_or_guessed_kind(properties, geometry)
        parts.add(geometry, name, kind, f"feature {number}", properties)
    parts.refuse_degrees()
    plan = parts.finish(unit)
    return plan, plan.notes


def _stated_unit(data: Any, source: str) -> str | None:
    """Return the unit of the member ``crs``; degrees, which exports write unasked, count for none.

    Raises
    ------
    FormatError
        When the system counts in a unit plans are not read in.
    """
    crs = data.get("crs") if isinstance(data, dict) else None
    named = crs.get("properties") if isinstance(crs, dict) else None
    name = named.get("name") if isinstance(named, dict) else None
    if not isinstance(name, str):
        return None
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        return unit_of_crs(CRS.from_user_input(name), source, "crs")
    except CRSError:  # a name of somebody's own says nothing of a unit
        return None


def _parsed(text: str, source: str) -> Any:
    try:
        return json.loads(text, parse_int=_whole)
    except json.JSONDecodeError as error:
        raise FormatError(
            f"this is not JSON: {error.msg}",
            source=source,
            place=f"line {error.lineno}, column {error.colno}",
        ) from None
    except RecursionError:
        raise FormatError("the JSON is nested too deeply", source=source) from None
    except ValueError:
        raise FormatError("the JSON holds a number that cannot be read", source=source) from None


def _whole(digits: str) -> int | float:
    """Return a whole number, or infinity where it has hundreds of digits: refused by its corner."""
    return int(digits) if len(digits) < _LONGEST_WHOLE else float(digits)


def _features(data: Any, source: str) -> list[tuple[Any, Any]]:
    kind = data.get("type") if isinstance(data, dict) else None
    if kind == "FeatureCollection":
        features = data.get("features")
        if not isinstance(features, list):
            raise FormatError("the FeatureCollection has no list of features", source=source)
        for number, feature in enumerate(features, 1):
            if not isinstance(feature, dict):
                raise FormatError("this is not a feature", source=source, place=f"feature {number}")
        return [(feature.get("geometry"), feature.get("properties")) for feature in features]
    if kind == "Feature":
        return [(data.get("geometry"), data.get("properties"))]
    if isinstance(kind, str) and ("coordinates" in data or "geometries" in data):
        return [(data, None)]
    raise FormatError(
        "this is JSON, but not GeoJSON",
        source=source,
        allowed="a FeatureCollection, a Feature or a geometry",
    )
