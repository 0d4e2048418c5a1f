"""What one entity of a DXF drawing shows: strokes with their width, labels and marks."""

from __future__ import annotations

from typing import Any

import numpy as np
from shapely.geometry import LineString, Point

from moisturemap.errors import FormatError
from moisturemap.files.drawing import ENDLESS_M, Drawing, Label, Stroke
from moisturemap.floorplan import PlanLine, kind_of
from moisturemap.survey.note_words import warns_of_drilling

FLATNESS_M = 0.005
"""Curves are drawn as straight pieces that leave them by no more than this [m]."""

_CURVES = {"LINE", "LWPOLYLINE", "POLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "HELIX"}
_FILLED = {"SOLID", "TRACE", "3DFACE"}
_LEADERS = ("LEADER", "MLEADER", "MULTILEADER")
_BLANK = ("POINT", "ATTDEF", "VIEWPORT")
_PICTURES = ("IMAGE", "WIPEOUT", "OLE2FRAME")


def take_form(drawing: Drawing, entity: Any, layer: str, scale: float) -> bool:
    """Take in an entity; False when its form is not read.

    Parameters
    ----------
    drawing : Drawing
        Is added to.
    entity : ezdxf entity
    layer : str
        Layer it counts on.
    scale : float
        Metres in one unit of the drawing.

    Raises
    ------
    FormatError
        When a coordinate is not a finite number.
    """
    kind = entity.dxftype()
    meant = kind_of(layer)
    if kind in _CURVES:
        _take_path(drawing, _path_of(entity), layer, scale, _width_of(entity))
    elif kind == "HATCH":
        from ezdxf import path

        for edge in path.from_hatch(entity):
            _take_path(drawing, edge, layer, scale, filled=True)
    elif kind in _FILLED:
        _take_places(drawing, entity.wcs_vertices(close=True), layer, scale, filled=True)
    elif kind in ("RAY", "XLINE"):
        _take_endless(drawing, entity, layer, scale)
    elif kind in ("TEXT", "ATTRIB", "MTEXT"):
        drawing.labels.append(_label_of(entity, scale))
    elif kind in ("POINT", "INSERT") and meant in ("power-point", "known-service"):
        place = entity.dxf.location if kind == "POINT" else entity.dxf.insert
        name = layer if meant == "known-service" else ""
        drawing.marks.append(PlanLine(meant, Point(place.x * scale, place.y * scale), name))
    elif kind in _LEADERS:
        return _take_leader(drawing, entity, layer, scale)
    elif kind.endswith("DIMENSION"):
        _take_words_of_dimension(drawing, entity, scale)
        return meant != "known-service"
    else:
        return kind in _BLANK or (kind in _PICTURES and meant != "known-service")
    return True


def _take_leader(drawing: Drawing, entity: Any, layer: str, scale: float) -> bool:
    """Take in a leader: as lines on a layer of services, elsewhere only words that warn.

    On a layer with another meaning it points at something; on one that nobody knows it may be
    a service, and is not read.
    """
    courses = _courses(entity)
    text = " ".join(_words_of(entity).split())
    if warns_of_drilling(text) and kind_of(text) != "room":
        places = [entity.context.mtext.insert, *(course[0] for course in courses if course)]
        drawing.labels += [Label(text, Point(p.x * scale, p.y * scale), 0.0) for p in places]
    if kind_of(layer) == "known-service":
        for course in courses:
            _take_places(drawing, course, layer, scale)
        return any(courses)
    return layer == "0" or kind_of(layer) is not None


def _take_words_of_dimension(drawing: Drawing, entity: Any, scale: float) -> None:
    """Take in what stands in place of a measured length, where it warns; the rest is not read."""
    words = " ".join(str(entity.dxf.get("text", "")).split())
    place = entity.dxf.get("text_midpoint", entity.dxf.get("defpoint"))
    if place is not None and warns_of_drilling(words):
        drawing.labels.append(Label(words, Point(place.x * scale, place.y * scale), 0.0))


def _courses(leader: Any) -> list[list[Any]]:
    """Return the corners of each line of a leader, from its arrow."""
    from ezdxf.math import Vec3

    if leader.dxftype() == "LEADER":
        return [Vec3.list(leader.vertices)]
    return [
        [*line.vertices, *([arm.last_leader_point] if arm.has_last_leader_line else [])]
        for arm in leader.context.leaders
        for line in arm.lines
    ]


def _words_of(leader: Any) -> str:
    if leader.dxftype() == "LEADER" or leader.context.mtext is None:
        return ""
    from ezdxf.tools.text import plain_mtext

    return str(plain_mtext(leader.context.mtext.default_content))


def _label_of(entity: Any, scale: float) -> Label:
    place = entity.dxf.insert
    if entity.dxftype() == "MTEXT":
        height = entity.dxf.char_height
    else:
        height = entity.dxf.height
        aligned = entity.dxf.get("halign", 0) or entity.dxf.get("valign", 0)
        place = entity.dxf.get("align_point", place) if aligned else place
    text = " ".join(str(entity.plain_text()).split())
    return Label(text, Point(place.x * scale, place.y * scale), float(height))


def _path_of(entity: Any) -> Any:
    from ezdxf import path

    return path.make_path(entity)


def _width_of(entity: Any) -> float:
    """Return the widest drawn width of a polyline [units of the drawing]."""
    if entity.dxftype() == "LWPOLYLINE":
        drawn = [max(start, end) for start, end in entity.get_points("se")]
        return float(max(drawn, default=0.0) or entity.dxf.get("const_width", 0.0))
    if entity.dxftype() == "POLYLINE" and entity.is_2d_polyline:
        own = max(entity.dxf.get("default_start_width", 0), entity.dxf.get("default_end_width", 0))
        drawn = [
            max(corner.dxf.get("start_width", own), corner.dxf.get("end_width", own))
            for corner in entity.vertices
        ]
        return float(max(drawn, default=0.0))
    return 0.0


def _take_path(
    drawing: Drawing,
    drawn: Any,
    layer: str,
    scale: float,
    width: float = 0.0,
    *,
    filled: bool = False,
) -> None:
    if len(drawn) > 0:
        places = drawn.flattening(FLATNESS_M / scale)
        _take_places(drawing, places, layer, scale, width, filled=filled)


def _take_endless(drawing: Drawing, entity: Any, layer: str, scale: float) -> None:
    start, along = entity.dxf.start, entity.dxf.unit_vector * (ENDLESS_M / scale)
    first = start if entity.dxftype() == "RAY" else start - along
    _take_places(drawing, [first, start + along], layer, scale)


def _take_places(
    drawing: Drawing,
    drawn: Any,
    layer: str,
    scale: float,
    width: float = 0.0,
    *,
    filled: bool = False,
) -> None:
    places = np.array([(p.x, p.y) for p in drawn]) * scale
    if not np.isfinite(places).all() or not np.isfinite(width):
        raise FormatError(
            "a coordinate is not a finite number", source=drawing.source, place=f"layer {layer}"
        )
    places = places[np.r_[True, np.any(np.diff(places, axis=0) != 0, axis=1)]]
    if len(places) < 2:
        return
    closed = len(places) > 3 and bool(np.hypot(*(places[0] - places[-1])) <= 1e-6)
    drawing.strokes.append(Stroke(LineString(places), layer, closed, abs(width) * scale, filled))
