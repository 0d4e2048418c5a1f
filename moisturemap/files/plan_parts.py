"""What the readers of plans gather before the plan is checked and assembled."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
from shapely import unary_union
from shapely.errors import ShapelyError
from shapely.geometry import Polygon, shape
from shapely.geometry.base import BaseGeometry

from moisturemap.errors import FormatError, PlanError
from moisturemap.files.plan_words import names_size, stated_width_m, words_beside
from moisturemap.floorplan import (
    LENGTH_UNITS,
    LINE_KINDS,
    MOST_CORNERS,
    NOT_KEPT_CLEAR,
    FloorPlan,
    Outline,
    PlanLine,
    is_harmless,
    kind_of,
    make_plan,
    metres_per,
    names_service,
    unknown_service,
)
from moisturemap.survey.note_words import warns_of_drilling

MOST_BYTES = 50_000_000
"""Largest plan file read [bytes]; 200,000 corners take about 8 million. Our choice."""

NAME_KEYS = ("name", "room", "label", "title", "raum", "bezeichnung")
KIND_KEYS = ("type", "class", "layer", "category", "art", "typ", "kategorie", "medium")

_SERVICE_SHARE = 0.5
"""An area of unknown kind with this share of itself on rooms lies in them, and is no room (our
choice)."""

_NARROW_M = 0.1
"""What is no wider is kept clear of as a line [m]; our choice, a sixth of what is kept clear."""

_PLAIN = ("known service", "service", "services")

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
    unknown : list
        What has no kind that is known: geometry, name, kind and place. Once all rooms are there it
        is a room, or counts as a service to keep clear of.
    """

    source: str
    outlines: list[Outline] = field(default_factory=list)
    lines: list[PlanLine] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    left_out: Counter[str] = field(default_factory=Counter)
    corners: int = 0
    unknown: list[tuple[dict[str, Any], str, str, str]] = field(default_factory=list)
    wide: list[tuple[PlanLine, float]] = field(default_factory=list)

    def add(self, geometry: Any, name: str, kind: str, place: str, properties: Any = None) -> None:
        """Take in one geometry in the form of RFC 7946, section 3.1, with what is said of it.

        Raises
        ------
        FormatError
            When the geometry is not of that form; names the place.
        """
        if geometry is None:
            if names_service(kind) or names_service(name):
                self.notes.append(
                    f"The service {name or kind} is listed in the plan without its course:"
                    f" {NOT_KEPT_CLEAR}."
                )
            else:
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
                self.add(part, name, kind, f"{place}, part {number}", properties)
            return
        if geometry["type"] not in _DEPTH:
            raise FormatError(
                "the type of the geometry is not known",
                source=self.source,
                place=place,
                value=geometry["type"],
                allowed=", ".join(_DEPTH),
            )
        area = geometry["type"].endswith("Polygon")
        known = kind_of(kind) if kind else None
        if known is None and not kind and not area:
            known = kind_of(name)
        said = words_beside(properties)
        if not area and _hides_service(known, kind, name, said):
            known, name = "known-service", name or said[:40]
        if known in LINE_KINDS:
            self._add_line(geometry, PlanLine(known, Polygon(), _named(name, kind, known)), place)
            width = stated_width_m(properties, name)
            if known == "known-service" and width > _NARROW_M:
                self.wide.append((self.lines[-1], width))
        elif known is None and is_harmless(kind) and not area:
            self._leave_out(geometry, kind)
        elif area and (known or not kind):
            self._add_outlines(geometry, name, kind, place)
        elif known == "room" and kind:
            self._leave_out(geometry, kind)
        else:
            self.unknown.append((geometry, name, kind, place))

    def _leave_out(self, geometry: dict[str, Any], kind: str) -> None:
        what = geometry["type"].replace("String", "").replace("Multi", "").lower()
        self.left_out[f"{what} of kind '{kind[:40]}'"] += 1

    def _settle_unknown(self) -> None:
        """Take what has no known kind as a room where none else lies, else as a service."""
        if not self.unknown:
            return
        rooms = [area for one in self.outlines if not one.void for area in _areas(list(one.rings))]
        floor = unary_union(rooms)
        names = {" ".join(one.name.split()).casefold() for one in self.outlines}
        for geometry, name, kind, place in sorted(
            self.unknown, key=lambda one: is_harmless(one[2])
        ):
            area = geometry["type"].endswith("Polygon")
            if area and is_harmless(kind) and self.outlines:
                self._leave_out(geometry, kind)
            elif area and not _lies_in(geometry, floor):
                self._add_outlines(geometry, name, kind, place)
            elif "Point" in geometry["type"] and " ".join(name.split()).casefold() in names - {""}:
                self.left_out[f"point that bears the name of a room, '{name[:40]}',"] += 1
            else:
                self._add_line(geometry, unknown_service(Polygon(), kind or name), place)

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

    def _add_line(self, geometry: dict[str, Any], line: PlanLine, place: str) -> None:
        coordinates = _listed(geometry.get("coordinates"))
        self._count([coordinates, *coordinates[:MOST_CORNERS]])
        try:
            with np.errstate(invalid="ignore"):
                self.lines.append(replace(line, geometry=shape(geometry)))
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
        self._settle_unknown()
        for what, count in self.left_out.items():
            self.notes.append(f"{count} x {what} left out.")
        for line, width in self.wide:
            sides = line.geometry.buffer(width / 2 / metres_per(coordinates), cap_style="flat")
            self.lines.append(replace(line, geometry=sides, name=_with_width(line.name, width)))
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
    known = next((word for word in words if word and kind_of(word)), "")
    return stated or known


def stated_or_guessed_kind(properties: Any, geometry: Any) -> str:
    """Return the stated kind; of what is no area also a word that stands for none that is known."""
    form = geometry.get("type") if isinstance(geometry, dict) else None
    area = isinstance(form, str) and form.endswith("Polygon")
    return stated_kind(properties) or ("" if area else word_of(properties, KIND_KEYS))


def _hides_service(known: str | None, kind: str, name: str, said: str) -> bool:
    """Whether a line that is no service by its kind is one by its name, or by a word beside it."""
    warned = any(warns_of_drilling(one) or names_size(one) for one in (name, said))
    if known in ("exterior-wall", "interior-wall", "door"):
        return warned or names_service(name, built=True)
    return known in (None, "room") and (warned or names_service(f"{kind} {name}"))


def _with_width(name: str, width: float) -> str:
    return name if "wide" in name else f"{name}, {width:g} m wide".removeprefix(", ")


def _named(name: str, kind: str, known: str) -> str:
    """Return the name of a line; a service without one is called by the word of its kind."""
    plain = " ".join(kind.replace("-", " ").replace("_", " ").split()).casefold()
    return name if name or known != "known-service" or plain in _PLAIN else kind[:40]


def _areas(rings: list[Any]) -> list[BaseGeometry]:
    """Return the area of a polygon, roughly where it crosses itself; none where corners are odd."""
    try:
        corners = [[pair[:2] for pair in ring] for ring in rings]
        finite = all(np.isfinite(np.asarray(ring, dtype=float)).all() for ring in corners)
        drawn = Polygon(corners[0], corners[1:]) if finite else Polygon()
        # to mend a ring that crosses itself often takes for ever; it is mended or refused later
        return [drawn if drawn.is_valid else drawn.convex_hull] if finite else []
    except (ShapelyError, TypeError, ValueError, OverflowError, IndexError, KeyError):
        return []


def _shape_of(geometry: dict[str, Any]) -> BaseGeometry:
    parts = _listed(geometry.get("coordinates"))
    rings = parts if geometry["type"] == "MultiPolygon" else [parts]
    return unary_union([area for one in rings for area in _areas(one)])


def _lies_in(geometry: dict[str, Any], floor: BaseGeometry) -> bool:
    """Whether an area lies on rooms rather than beside them."""
    area = _shape_of(geometry)
    return bool(area.intersection(floor).area > _SERVICE_SHARE * area.area)


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []
