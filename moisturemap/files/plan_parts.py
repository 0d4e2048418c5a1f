"""What the readers of plans gather before the plan is checked and assembled."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from shapely.errors import ShapelyError
from shapely.geometry import shape

from moisturemap.errors import FormatError, PlanError
from moisturemap.floorplan import (
    LENGTH_UNITS,
    LINE_KINDS,
    MOST_CORNERS,
    FloorPlan,
    Outline,
    PlanLine,
    kind_of,
    make_plan,
)

MOST_BYTES = 50_000_000
"""Largest plan file read [bytes]; 200,000 corners take about 8 million. Our choice."""

NAME_KEYS = ("name", "room", "label", "title")
KIND_KEYS = ("type", "class", "layer")

_DEPTH = {
    "Point": 0,
    "MultiPoint": 1,
    "LineString": 1,
    "MultiLineString": 2,
    "Polygon": 2,
    "MultiPolygon": 3,
}


@dataclass
class PlanParts:
    """Outlines, lines and notes of one file, in the unit of the file.

    Attributes
    ----------
    source : str
        File name for messages.
    outlines, lines, notes : list
        As gathered so far.
    left_out : Counter
        How many things of which description were not understood.
    corners : int
        Corners of the outlines so far.
    """

    source: str
    outlines: list[Outline] = field(default_factory=list)
    lines: list[PlanLine] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    corners: int = 0

    def add(self, geometry: Any, name: str, kind: str, place: str) -> None:
        """Take in one geometry in the form of RFC 7946, section 3.1.

        Raises
        ------
        FormatError
            When the geometry is not of that form; names the place.
        """
        if geometry is None:
            self.left_out["without geometry"] += 1
            return
        if not isinstance(geometry, dict) or not isinstance(geometry.get("type"), str):
            raise FormatError("the geometry is not understood", source=self.source, place=place)
        if geometry["type"] == "GeometryCollection":
            for number, part in enumerate(_listed(geometry.get("geometries")), 1):
                if isinstance(part, dict) and part.get("type") == "GeometryCollection":
                    raise FormatError(
                        "a collection inside a collection", source=self.source, place=place
                    )
                self.add(part, name, kind, f"{place}, part {number}")
            return
        if geometry["type"] not in _DEPTH:
            raise FormatError(
                "the type of the geometry is not known",
                source=self.source,
                place=place,
                value=geometry["type"],
                allowed=", ".join(_DEPTH),
            )
        known = kind_of(kind) if kind else None
        if geometry["type"].endswith("Polygon") and known not in LINE_KINDS:
            self._add_outlines(geometry, name, kind, place)
        elif known in LINE_KINDS:
            self._add_line(geometry, name, known, place)
        else:
            what = geometry["type"].replace("String", "").replace("Multi", "").lower()
            self.left_out[f"{what} of kind '{kind[:40]}'" if kind else f"{what} without kind"] += 1

    def _add_outlines(self, geometry: dict[str, Any], name: str, kind: str, place: str) -> None:
        coordinates = _listed(geometry.get("coordinates"))
        parts = coordinates if geometry["type"] == "MultiPolygon" else [coordinates]
        known = kind_of(kind) if kind else "room"
        if known is None:
            self.notes.append(f"{place}: the kind '{kind[:40]}' is not known; taken as a room.")
        several = len(parts) > 1
        if several and name:
            self.notes.append(f"'{name}' has {len(parts)} parts; numbered as rooms of their own.")
        for number, rings in enumerate(parts, 1):
            if not isinstance(rings, list) or not all(isinstance(ring, list) for ring in rings):
                raise FormatError(
                    "the rings of the polygon are not lists of corners",
                    source=self.source,
                    place=place,
                )
            self._count(rings)
            own = f"{name} {number}" if several and name else name
            self.outlines.append(Outline(own, tuple(rings), place, void=known == "void"))

    def _count(self, rings: list[Any]) -> None:
        self.corners += sum(len(ring) for ring in rings if isinstance(ring, list))
        if self.corners > MOST_CORNERS:
            raise PlanError(
                f"the plan has more than {MOST_CORNERS:,} corners",
                source=self.source,
                allowed="a simplified drawing, or one floor at a time",
            )

    def _add_line(self, geometry: dict[str, Any], name: str, kind: str, place: str) -> None:
        coordinates = _listed(geometry.get("coordinates"))
        self._count([coordinates, *coordinates[:MOST_CORNERS]])
        try:
            with np.errstate(invalid="ignore"):
                self.lines.append(PlanLine(kind, shape(geometry), name))
        except (
            ShapelyError,
            TypeError,
            ValueError,
            OverflowError,
            IndexError,
            AttributeError,
            KeyError,
        ):
            raise FormatError(
                "the corners of the line are not understood",
                source=self.source,
                place=place,
                allowed="two or more corners, each x and y as numbers",
            ) from None

    def finish(self, coordinates: str) -> FloorPlan:
        """Check, mend and assemble the plan."""
        for what, count in self.left_out.items():
            self.notes.append(f"{count} x {what} left out.")
        return make_plan(
            self.outlines, self.lines, unit=coordinates, source=self.source, notes=self.notes
        )

    def refuse_degrees(self) -> None:
        """Refuse longitude and latitude, which look like a tiny plan far from its origin."""
        corners = [
            pair[:2]
            for outline in self.outlines
            for ring in outline.rings
            if isinstance(ring, list)
            for pair in ring
            if isinstance(pair, list) and len(pair) >= 2
        ]
        try:
            places = np.asarray(corners, dtype=float)
        except (TypeError, ValueError, OverflowError):
            return  # refused later, by corner
        if places.size == 0 or not np.isfinite(places).all():
            return
        size = float(np.ptp(places, axis=0).max())
        away = np.abs(places).max(axis=0)
        if size < 0.05 and away.max() > 20 * size and away[0] <= 180 and away[1] <= 90:
            raise FormatError(
                "the coordinates look like longitude and latitude in degrees",
                source=self.source,
                value=tuple(float(number) for number in places[0]),
                allowed=f"a plan in {', '.join(LENGTH_UNITS)}, x to the right and y up: export it "
                "in a local or projected metric system",
            )


def read_text(path: Path) -> tuple[str, list[str]]:
    """Return the text of a plan file, and what was assumed about its encoding.

    Raises
    ------
    FormatError
        When it is no text.
    """
    data = path.read_bytes()
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encodings = ["utf-16"]
    elif b"\x00" in data[:4096]:
        raise FormatError("this is not a text file", source=path.name)
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        western = ["The text is not UTF-8; read as Western European (Windows-1252)."]
        return text, western if encoding == "cp1252" else []
    raise FormatError("the text cannot be decoded", source=path.name, allowed="UTF-8")


def word_of(properties: Any, keys: tuple[str, ...]) -> str:
    """Return the first filled property of the given names, upper or lower case, as text."""
    if not isinstance(properties, dict):
        return ""
    by_name = {str(key).casefold(): value for key, value in properties.items()}
    for key in keys:
        value = by_name.get(key)
        if isinstance(value, (str, int, float)) and not isinstance(value, bool):
            text = str(value).strip()
            if text and text != "nan":
                return text
    return ""


def stated_kind(properties: Any) -> str:
    """Return the stated kind; lesser properties count only when their word is a known kind."""
    stated = word_of(properties, ("kind",))
    words = [word_of(properties, (key,)) for key in KIND_KEYS]
    return stated or next((word for word in words if word and kind_of(word)), "")


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []
