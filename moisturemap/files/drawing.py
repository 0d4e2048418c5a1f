"""Which strokes of a drawing are rooms, columns or lines, and what the rooms are called."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely import STRtree
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.errors import OptionError, PlanError
from moisturemap.files.plan_words import is_unknown
from moisturemap.floorplan import (
    LINE_KINDS,
    NOTED_IN,
    Outline,
    PlanLine,
    areas_between,
    is_harmless,
    kind_of,
    names_service,
    unknown_service,
    with_what_it_encloses,
)
from moisturemap.survey.note_words import warns_of_drilling

GAP_M = 0.020
"""Loose lines that miss each other by up to this much meet [m]."""

ENDLESS_M = 500.0
"""Length drawn of a line without an end, beyond any floor [m]."""

MOST_TOLD = 12
"""Texts of unknown words that are noted one by one."""

_WALL_KINDS = ("exterior-wall", "interior-wall")
_WALL_M = 0.6
"""Areas nowhere wider than this, between loose lines and without a name, are walls [m]."""
_COLUMN_M = 1.5
_EDGE_M = 0.05
"""A stroke this close to the outline of a room belongs to it [m]."""
_NEAR_M = 0.5
"""What is drawn farther than this from every room is not in the floor [m]."""
_TILED = 0.8


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line of a drawing [m] with its drawn width; closed when its ends were drawn to meet.

    One that is not ``shown`` lies on a layer that is switched off or frozen, and is no room.
    """

    line: LineString
    layer: str
    closed: bool
    width: float = 0.0
    filled: bool = False
    shown: bool = True

    def covered(self) -> BaseGeometry:
        """Return what the stroke covers [m]: its line, its band, what it fills or encloses."""
        line = with_what_it_encloses(self.line)
        if self.filled and self.closed and len(self.line.coords) > 3:
            line = Polygon(self.line).buffer(0)
        if self.width > 0:
            line = shapely.union(line, self.line.buffer(self.width / 2, cap_style="flat"))
        return line


@dataclass(frozen=True, slots=True)
class Label:
    """A text of a drawing at its place [m], with its height."""

    text: str
    point: Point
    height: float


@dataclass
class Drawing:
    """Strokes, labels and marks of one drawing, in metres."""

    source: str
    strokes: list[Stroke] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    marks: list[PlanLine] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    faces: list[Polygon] = field(default_factory=list)
    room_layers: set[str] = field(default_factory=set)
    names: frozenset[str] = frozenset()

    def hide(self, strokes: int, labels: int) -> None:
        """Count what was taken in after so many strokes and labels as not shown.

        Its words are kept only where they warn of what a drill may hit.
        """
        self.strokes[strokes:] = [replace(one, shown=False) for one in self.strokes[strokes:]]
        kept = [one for one in self.labels[labels:] if warns_of_drilling(one.text)]
        self.labels[labels:] = kept

    def outlines(self, layer: str | None = None) -> list[Outline]:
        """Find the rooms and columns.

        Parameters
        ----------
        layer : str, optional
            Layer of the room outlines. When None: the layers named after rooms, else closed
            lines on layers with no other meaning, else the areas between loose lines and walls.

        Raises
        ------
        OptionError
            When the layer does not exist.
        PlanError
            When nothing encloses an area.
        """
        faces, drawn_closed = self._faces(layer)
        if not faces:
            raise PlanError(
                "no closed outline of a room was found",
                source=self.source,
                allowed="closed polylines, or lines that meet within "
                f"{GAP_M * 1000:.0f} mm; layers: {', '.join(sorted(self._layers())) or 'none'}",
            )
        self.faces = faces
        named = _names(faces, self.labels)
        self.names = frozenset(named.values())
        rooms = _nest(faces, named, drawn_closed, self.notes)
        voids = [
            Outline("", (np.asarray(stroke.line.coords),), f"layer {stroke.layer}", void=True)
            for stroke in self.strokes
            if stroke.closed and kind_of(stroke.layer) == "void" and stroke.layer != layer
        ]
        return rooms + voids

    def lines(self) -> list[PlanLine]:
        """Return the strokes whose layer names a kind of line, and the marks.

        Strokes on the floor whose layer is not known, and that outline no room, count as services
        to keep clear of; the outlines must have been asked for before. Services hold what they
        enclose and their drawn width.
        """
        found = list(self.marks)
        for stroke in self.strokes:
            kind = kind_of(stroke.layer)
            if kind == "known-service" or self._hides_service(stroke, kind):
                found.append(PlanLine("known-service", self._covered(stroke), stroke.layer))
            elif kind in LINE_KINDS:
                area = stroke.closed and kind == "keep-clear" and len(stroke.line.coords) > 3
                found.append(PlanLine(kind, Polygon(stroke.line) if area else stroke.line))
        return found + self._unknown()

    def warned(self) -> list[PlanLine]:
        """Return the texts on the floor that name what a drill may hit, or nobody knows.

        Names of rooms are not among them; the outlines must have been asked for before. Each that
        warns is noted with its place.
        """
        warned, unknown = [], []
        for label in self._on_floor():
            if warns_of_drilling(label.text) and kind_of(label.text) != "room":
                warned.append(label)
            elif label.text not in self.names and is_unknown(label.text, self.names):
                unknown.append(label)
        for label in (*warned, *unknown[:MOST_TOLD]):
            where = f"x {label.point.x:.2f} m, y {label.point.y:.2f} m"
            self.notes.append(f"The drawing notes {label.text!r} at {where}: {NOTED_IN}.")
        if len(unknown) > MOST_TOLD:
            self.notes.append(
                f"The drawing notes {len(unknown) - MOST_TOLD} more texts of unknown words, among"
                f" them {unknown[MOST_TOLD].text!r}: {NOTED_IN}."
            )
        return [PlanLine("keep-clear", one.point, one.text) for one in (*warned, *unknown)]

    def _on_floor(self) -> list[Label]:
        floor = shapely.union_all([face.buffer(_NEAR_M) for face in self.faces])
        shapely.prepare(floor)
        return [label for label in self.labels if floor.intersects(label.point)]

    def _hides_service(self, stroke: Stroke, kind: str | None) -> bool:
        """Whether a stroke on a layer of rooms or pits outlines none and its layer names a service.

        "heating circuit floor", "gas pit": what is no room there is what the other word says.
        """
        if kind not in ("room", "void") or not names_service(stroke.layer, built=True):
            return False
        return (
            not stroke.closed
            if kind == "void"
            else stroke.layer not in self.room_layers
            or (not stroke.closed and not self._edges().covers(stroke.line))
        )

    def _edges(self) -> BaseGeometry:
        return shapely.union_all([face.boundary for face in self.faces]).buffer(_EDGE_M)

    def _covered(self, stroke: Stroke) -> BaseGeometry:
        """Return what a service covers [m]; a line without end only near the floor."""
        covered = stroke.covered()
        if stroke.line.length >= ENDLESS_M:
            around = shapely.union_all(self.faces).buffer(_NEAR_M).bounds
            covered = shapely.clip_by_rect(covered, *around)
        return covered

    def _unknown(self) -> list[PlanLine]:
        strokes: dict[str, list[Stroke]] = {}
        for stroke in self.strokes:
            if kind_of(stroke.layer) is None and not is_harmless(stroke.layer):
                strokes.setdefault(stroke.layer, []).append(stroke)
        edges = self._edges()
        floor = shapely.union_all([face.buffer(0) for face in self.faces]).buffer(_NEAR_M)
        shapely.prepare(edges)
        shapely.prepare(floor)
        found = []
        for layer, drawn in strokes.items():
            apart = [
                self._covered(one)
                for one in drawn
                if floor.intersects(one.line) and not edges.covers(one.line)
            ]
            rest = shapely.union_all(apart).difference(edges) if apart else LineString()
            if not rest.is_empty:
                found.append(unknown_service(rest, layer))
        return found

    def _layers(self) -> set[str]:
        return {stroke.layer for stroke in self.strokes}

    def _faces(self, layer: str | None) -> tuple[list[Polygon], bool]:
        if layer is not None:
            if layer not in self._layers():
                raise OptionError(
                    "there is nothing to read on this layer",
                    source=self.source,
                    value=layer,
                    allowed=", ".join(sorted(self._layers())) or "the drawing has no lines",
                )
            self.room_layers = {layer}
            return _faces_of([s for s in self.strokes if s.layer == layer])
        rooms = [s for s in self.strokes if kind_of(s.layer) == "room"]
        named = [s for s in rooms if not names_service(s.layer, built=True)]
        plain = [s for s in self.strokes if kind_of(s.layer) is None and s.shown]
        closed = [s for s in plain if s.closed]
        walls = [s for s in self.strokes if kind_of(s.layer) in _WALL_KINDS]
        loose = [s for s in plain if not s.closed]
        for choice in (named, closed, loose, walls, [*plain, *walls], rooms):
            faces = _faces_of(choice)
            if faces[0]:
                self.room_layers = {stroke.layer for stroke in choice}
                if choice is not named:
                    used = ", ".join(sorted(self.room_layers))
                    self.notes.append(f"Rooms were taken from layer {used}.")
                return faces
        return [], True


def _faces_of(strokes: Sequence[Stroke]) -> tuple[list[Polygon], bool]:
    """Areas of closed strokes, or else the areas between all strokes."""
    closed = [Polygon(s.line) for s in strokes if s.closed and len(s.line.coords) > 3]
    loose = [stroke.line for stroke in strokes if not stroke.closed]
    between = areas_between(loose, GAP_M)
    if closed:
        covered = shapely.union_all([area.buffer(0) for area in closed])
        between = [area for area in between if not covered.contains(area.representative_point())]
    return closed + between, bool(closed) and not between


def _names(faces: Sequence[Polygon], labels: Sequence[Label]) -> dict[int, str]:
    """Give each text to the smallest face round it; the tallest text names the face."""
    tree = STRtree(faces)
    best: dict[int, Label] = {}
    for label in labels:
        if not re.search(r"[^\W\d_]{2,}", label.text) or re.fullmatch(
            r"[\d.,\s]+(m2|m²|mm|cm|sq\.? ?m|sq\.? ?ft|ft2)", label.text.strip(), re.IGNORECASE
        ):
            continue
        around = [int(i) for i in tree.query(label.point, predicate="intersects")]
        if around:
            face = min(around, key=lambda index: faces[index].area)
            if face not in best or _name_like(label) > _name_like(best[face]):
                best[face] = label
    return {face: label.text for face, label in best.items()}


def _name_like(label: Label) -> tuple[bool, float]:
    """Rank a text as the name of a room: a warning comes last, else the tallest first."""
    return not warns_of_drilling(label.text) or kind_of(label.text) == "room", label.height


def _nest(
    faces: Sequence[Polygon], named: dict[int, str], drawn_closed: bool, notes: list[str]
) -> list[Outline]:
    """Sort faces inside others into columns, rooms inside rooms, and the floor's own edge."""
    sound = [face if face.is_valid else face.buffer(0) for face in faces]
    tree = STRtree(sound)
    holes: dict[int, list[Polygon]] = {}
    passed: dict[str, int] = Counter()
    dropped: set[int] = set()
    for index, face in enumerate(sound):
        inner = [int(i) for i in tree.query(face, predicate="contains_properly") if i != index]
        touching = [int(i) for i in tree.query(face, predicate="contains") if i != index]
        tiled = shapely.union_all([sound[i] for i in touching]).area if touching else 0.0
        if len(touching) > 1 and tiled > _TILED * face.area and index not in named:
            dropped.add(index)
            passed["outline round several rooms taken as the edge of the floor"] += 1
        holes[index] = [sound[i] for i in inner]
    hulls = STRtree([Polygon(face.exterior) for face in faces])
    for index, face in enumerate(sound):
        if index in named or index in dropped:
            continue
        around = [int(i) for i in hulls.query(face, predicate="within")]
        inside = any(i not in dropped and sound[i].area > face.area for i in around)
        if inside and _across(face) <= _COLUMN_M:
            dropped.add(index)
            passed["small outline inside a room taken as a column"] += 1
        elif not drawn_closed and face.buffer(-_WALL_M / 2).is_empty:
            dropped.add(index)
            passed["narrow area between lines taken as a wall"] += 1
    notes += [f"{count} x {what}." for what, count in passed.items()]
    return [
        Outline(named.get(index, ""), _rings(face, holes[index]), f"outline {index + 1}")
        for index, face in enumerate(faces)
        if index not in dropped
    ]


def _across(face: Polygon) -> float:
    west, south, east, north = face.bounds
    return float(max(east - west, north - south))


def _rings(face: Polygon, inner: list[Polygon]) -> tuple[np.ndarray, ...]:
    holes = [np.asarray(ring.coords) for ring in face.interiors]
    outermost = [
        area
        for area in inner
        if not any(other is not area and other.contains(area) for other in inner)
    ]
    return (
        np.asarray(face.exterior.coords),
        *holes,
        *(np.asarray(area.exterior.coords) for area in outermost),
    )
