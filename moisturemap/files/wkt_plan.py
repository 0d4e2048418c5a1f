"""Plans in well-known text (OGC 06-103r4, section 7), one geometry after another.

::

    # anything after a hash at the start of a line is a comment
    kitchen; POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))
    hall<TAB>POLYGON ((4 0, 9 0, 9 3, 4 3), (5 1, 6 1, 6 2))
    POLYGON ((0 3, 9 3, 9 6, 0 6))
    day-joint: LINESTRING (4 0, 4 6)
    known-service: cold water; LINESTRING (0 1, 9 1)
    column: POLYGON ((2 1, 2.3 1, 2.3 1.3, 2 1.3))

A name stands before the geometry, parted by a semicolon or a tab; a kind stands before the name,
parted by a colon. What is no area and has no kind that is known counts as a service.
A geometry may run over several lines. Rings may be left open.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from moisturemap.errors import FormatError
from moisturemap.files.plan_parts import PlanParts, read_text
from moisturemap.floorplan import FloorPlan, kind_of

_GEOMETRY = re.compile(
    r"\b(?P<type>MULTIPOLYGON|POLYGON|MULTILINESTRING|LINESTRING|MULTIPOINT|POINT)"
    r"\s*(?:ZM|Z|M)?\s*(?P<body>\(.*\)|EMPTY)\s*[\"';,]*\s*$",
    re.IGNORECASE | re.DOTALL,
)
_TYPES = {
    name.upper(): name
    for name in ("Polygon", "MultiPolygon", "LineString", "MultiLineString", "Point", "MultiPoint")
}
_DEEPEST = 4


def read_wkt_plan(
    path: Path, coordinates: str = "m", layer: str | None = None
) -> tuple[FloorPlan, tuple[str, ...]]:
    """Read a plan from well-known text.

    Parameters
    ----------
    path : Path
    coordinates : str
        Unit of the coordinates.
    layer : str, optional
        Not used: the format has no layers.

    Raises
    ------
    FormatError
        When a line is not understood; names the line.
    PlanError
        When the plan cannot be mended without guessing.
    """
    text, notes = read_text(path)
    parts = PlanParts(path.name, notes=notes)
    for place, statement in _statements(text, path.name):
        match = _GEOMETRY.search(statement)
        if match is None:
            if not parts.outlines and "(" not in statement:
                parts.notes.append(f"{place}: '{statement[:60]}' taken as a heading.")
                continue
            raise FormatError(
                "no geometry found",
                source=path.name,
                place=place,
                value=statement[:60],
                allowed="e.g. kitchen; POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))",
            )
        area = match["type"].upper().endswith("POLYGON")
        kind, name = _kind_and_name(statement[: match.start()], area)
        geometry = _geometry(match, path.name, place)
        parts.add(geometry, name, kind, place)
    plan = parts.finish(coordinates)
    return plan, plan.notes


def _statements(text: str, source: str) -> Iterator[tuple[str, str]]:
    """Join lines until every bracket is closed; yield each statement with its first line."""
    begun, depth, held = 0, 0, list[str]()
    for number, line in enumerate(text.splitlines(), 1):
        if not held and (not line.strip() or line.lstrip().startswith("#")):
            continue
        begun = begun if held else number
        held.append(line)
        depth += line.count("(") - line.count(")")
        if depth < 0:
            raise FormatError("a closing bracket too many", source=source, place=f"line {number}")
        if depth == 0:
            yield f"line {begun}", "\n".join(held).strip()
            held = []
    if held:
        raise FormatError("a bracket is never closed", source=source, place=f"line {begun}")


def _kind_and_name(head: str, area: bool) -> tuple[str, str]:
    text = re.sub(r"^SRID=\d+;?", "", head.strip().strip("\"';,\t "), flags=re.IGNORECASE)
    before, colon, after = text.partition(":")
    if colon and (kind_of(before) or not area):
        return before.strip(), after.strip("\"';,\t ")
    return "", text.strip("\"';,:\t ")


def _geometry(match: re.Match[str], source: str, place: str) -> dict[str, Any] | None:
    """Turn the brackets of well-known text into nested lists, rings closed or not."""
    kind, body = match["type"].upper(), match["body"]
    if body.upper() == "EMPTY":
        return None
    depth = deepest = 0
    for sign in re.findall(r"[()]", body):
        depth += 1 if sign == "(" else -1
        deepest = max(deepest, depth)
    if deepest > _DEEPEST:
        raise FormatError("the brackets are nested too deeply", source=source, place=place)
    bare = re.sub(r"\s*([(),])\s*", r"\1", body)
    listed = re.sub(r"[^(),]+", lambda found: _pair(found[0], source, place), bare)
    try:
        nested = json.loads(listed.replace("(", "[").replace(")", "]"))
        if kind == "POINT":
            nested = nested[0]
        elif kind == "MULTIPOINT":
            nested = [point[0] if isinstance(point[0], list) else point for point in nested]
    except (ValueError, LookupError, TypeError):
        raise FormatError(
            "the brackets or commas of the geometry do not match",
            source=source,
            place=place,
            value=body[:60],
        ) from None
    return {"type": _TYPES[kind], "coordinates": nested}


def _pair(text: str, source: str, place: str) -> str:
    numbers = []
    for word in text.split():
        try:
            numbers.append(float(word))
        except ValueError:
            raise FormatError(
                "this is not a coordinate",
                source=source,
                place=place,
                value=word[:40],
                allowed="numbers with a decimal point, x and y parted by a space",
            ) from None
    return json.dumps(numbers)
