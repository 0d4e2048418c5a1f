"""Plans in DXF.

Rooms are closed polylines (arcs and bulges included), hatches, or loose lines that meet within
20 mm; blocks are opened. A text inside an outline names the room. The name of a layer gives the
kind of its lines (``day-joint``, ``A-WALL``, ``pipes``, ``columns``), and a layer named after rooms
holds the outlines. What lies on the floor on a layer that is not known counts as a service to keep
clear of, and services count on layers that are switched off too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import Any

from moisturemap.errors import FormatError, MissingExtra, MoistureMapError, PlanError
from moisturemap.files.drawing import Drawing, Stroke
from moisturemap.files.dxf_form import take_form
from moisturemap.floorplan import (
    NOT_KEPT_CLEAR,
    FloorPlan,
    doubted_size,
    is_harmless,
    kind_of,
    make_plan,
    metres_per,
)

MOST_ENTITIES = 100_000
_DEEPEST = 16

_UNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}
"""Code of the header variable $INSUNITS (DXF Reference, HEADER section) for a unit of length."""

_ELSEWHERE = "reference to another drawing"

_MEASURES = {"DIMENSION", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION"}
_BUILT = ("exterior-wall", "interior-wall", "door", "movement-joint", "day-joint")


def read_dxf_plan(
    path: Path, coordinates: str = "m", layer: str | None = None, said: bool = False
) -> tuple[FloorPlan, tuple[str, ...]]:
    """Read a plan from DXF.

    Parameters
    ----------
    path : Path
    coordinates : str
        Unit of the coordinates when the drawing states none.
    layer : str, optional
        Layer of the room outlines.
    said : bool
        Whether somebody says that this is the unit: it then goes before the drawing's own.

    Raises
    ------
    MissingExtra
        When DXF support is not installed.
    FormatError
        When the file is no DXF drawing or is damaged beyond recovery.
    PlanError
        When no room is found, or the plan cannot be mended without guessing.
    """
    document, notes = _document(path)
    stated = _UNITS.get(document.header.get("$INSUNITS", 0))
    if stated is None:
        notes.append(f"The drawing states no unit; its coordinates were taken as {coordinates}.")
    if stated in (None, coordinates):
        return _read(document, path.name, coordinates, layer, notes)
    if said:
        return _read_against(document, path.name, (coordinates, str(stated)), layer, notes)
    told = f"The drawing states its unit as {stated}; it was read so"
    try:
        return _read(document, path.name, str(stated), layer, [*notes, f"{told}."])
    except PlanError as error:
        if "wide" not in error.message:
            raise
        doubt = f"{told.partition(';')[0]}, which cannot be; read in {coordinates} as given."
        return _read(document, path.name, coordinates, layer, [*notes, doubt])


def _read_against(
    document: Any, source: str, units: tuple[str, str], layer: str | None, notes: list[str]
) -> tuple[FloorPlan, tuple[str, ...]]:
    """Read in the unit that is said though the drawing states another; both are named."""
    said, stated = units
    try:
        plan, told = _read(document, source, said, layer, notes)
    except PlanError as error:
        other = f"the drawing itself states {stated}"
        raise PlanError(
            error.message,
            source=error.source,
            place=error.place,
            value=error.value,
            allowed=f"{error.allowed}; {other}" if error.allowed else other,
        ) from None
    west, south, east, north = plan.bounds
    swell = metres_per(stated) / metres_per(said)
    doubt = (
        f"The drawing states its unit as {stated}; it was read in {said} as you say, which makes "
        f"it {east - west:.3g} x {north - south:.3g} m. In {stated} it would be "
        f"{(east - west) * swell:.3g} x {(north - south) * swell:.3g} m: check one wall."
    )
    plan = replace(plan, notes=(*plan.notes, doubt))
    return plan, (*told, doubt)


def _document(path: Path) -> tuple[Any, list[str]]:
    try:
        from ezdxf import recover
        from ezdxf.lldxf.const import DXFError
    except ImportError:
        raise MissingExtra("Reading plans in DXF", "dxf") from None
    with path.open("rb") as file:
        head = file.read(22)
    if head[:4] == b"AC10":
        raise FormatError(
            "this is a DWG drawing", source=path.name, allowed="DXF: save the drawing as DXF"
        )
    try:
        document, auditor = recover.readfile(path)
    except (
        DXFError,
        OSError,
        RecursionError,
        ArithmeticError,
        LookupError,
        ValueError,
        TypeError,
        AttributeError,
    ) as error:
        raise FormatError(
            f"this DXF drawing cannot be read: {str(error)[:200] or type(error).__name__}",
            source=path.name,
        ) from None
    notes = []
    if auditor.has_errors or auditor.has_fixes:
        faults = len(auditor.errors) + len(auditor.fixes)
        notes.append(f"The drawing was damaged in {faults} places and recovered; check the rooms.")
    return document, notes


def _read(
    document: Any, source: str, unit: str, layer: str | None, notes: list[str]
) -> tuple[FloorPlan, tuple[str, ...]]:
    drawing = _drawn(document, source, metres_per(unit), notes)
    outlines = drawing.outlines(layer)
    lines = [*drawing.lines(), *drawing.warned()]
    plan = make_plan(outlines, lines, source=source, notes=drawing.notes)
    doubt = doubted_size(plan, unit)
    plan = replace(plan, notes=(*plan.notes, doubt)) if doubt else plan
    return plan, plan.notes


def dxf_strokes(path: Path) -> list[Stroke]:
    """Return the lines of a drawing, in the units of the drawing, of layers that are shown.

    Raises
    ------
    MissingExtra, FormatError
        As :func:`read_dxf_plan`.
    """
    document, notes = _document(path)
    return [one for one in _drawn(document, path.name, 1.0, notes).strokes if one.shown]


def _drawn(document: Any, source: str, scale: float, notes: list[str]) -> Drawing:
    drawing = Drawing(source, notes=list(notes))
    try:
        hidden = {
            entry.dxf.name for entry in document.layers if entry.is_off() or entry.is_frozen()
        }
        unread: Counter[tuple[str, str]] = Counter()
        unseen, met = set(), set()
        parts = _opened(document.modelspace(), "0", 0, (count(1), unread), source)
        for entity, name in parts:
            if name in hidden and not _may_be_service(name):
                continue
            unseen |= {name} & hidden
            met.add(name)
            before = len(drawing.strokes), len(drawing.labels)
            if not take_form(drawing, entity, name, scale):
                unread[entity.dxftype(), name] += 1
            if name in hidden:
                drawing.hide(*before)
        _say_unread(drawing, unread, unseen)
        _say_only_words(drawing, met | _on_sheets(document))
    except MoistureMapError:
        raise
    except Exception as error:  # a damaged entity can raise anything inside the DXF library
        raise FormatError(
            f"an entity of the drawing cannot be read: {str(error)[:200]}", source=source
        ) from None
    return drawing


def _may_be_service(layer: str) -> bool:
    """Whether a layer holds services by its name, or has one that says nothing."""
    return kind_of(layer) == "known-service" or (kind_of(layer) is None and not is_harmless(layer))


def _say_unread(
    drawing: Drawing, unread: Counter[tuple[str, str]], unseen: Collection[str]
) -> None:
    drawing.notes += [
        f"{number} x {form} on layer {layer} is a form that is not read: {NOT_KEPT_CLEAR}."
        for (form, layer), number in unread.items()
        if form != _ELSEWHERE and not is_harmless(layer)
    ]
    drawing.notes += [
        f"The drawing refers to another one, {name}, that is not loaded: {NOT_KEPT_CLEAR}. Bind it "
        "into the drawing and save that again."
        for form, name in unread
        if form == _ELSEWHERE
    ]
    if unseen:
        drawing.notes.append(
            f"Layer {', '.join(sorted(unseen))} is switched off or frozen in the drawing; what may "
            "be a service there is kept clear of all the same."
        )


def _on_sheets(document: Any) -> set[str]:
    """Return the layers of what is drawn on the sheets of the drawing, beside the model."""
    sheets = [sheet for sheet in document.layouts if not sheet.is_modelspace]
    return {_layer_of(entity, "0") for sheet in sheets for entity in sheet}


def _say_only_words(drawing: Drawing, met: Collection[str]) -> None:
    """Say which layers of services hold words, or lines on a sheet, and no line of the model."""
    drawn = {stroke.layer for stroke in drawing.strokes} | {mark.name for mark in drawing.marks}
    empty = sorted(one for one in met if kind_of(one) == "known-service" and one not in drawn)
    drawing.notes += [
        f"Layer {one} holds no line on the floor, only words or what lies on a sheet: "
        f"{NOT_KEPT_CLEAR}."
        for one in empty
        if not any(f"on layer {one} is a form" in note for note in drawing.notes)
    ]


def _opened(
    entities: Iterable[Any],
    owner: str,
    depth: int,
    counts: tuple[Iterator[int], Counter[tuple[str, str]]],
    source: str,
) -> Iterator[tuple[Any, str]]:
    """Yield entities with blocks opened; layer 0 of a block is the layer of the block.

    Every visit counts, also of blocks that hold nothing: a small file may repeat them without end.
    What cannot be placed as its block is counted as not read.
    """
    if depth > _DEEPEST:
        raise FormatError("blocks are nested too deeply", source=source)
    visited, unread = counts
    for entity in entities:
        if next(visited) > MOST_ENTITIES:
            raise FormatError(
                f"the drawing has more than {MOST_ENTITIES:,} parts",
                source=source,
                allowed="one floor at a time",
            )
        layer = _layer_of(entity, owner)
        kind = entity.dxftype()
        if kind in _MEASURES and not (entity.dxf.get("text") or kind_of(layer) == "known-service"):
            continue
        if kind == "MLINE":
            yield from ((part, layer) for part in entity.virtual_entities())
            continue
        if kind != "INSERT" or kind_of(layer) == "power-point":
            yield entity, layer
            continue
        elsewhere = _elsewhere(entity)
        if elsewhere:
            unread[_ELSEWHERE, elsewhere] += 1
            continue
        within = _layer_within(entity, layer)
        yield from ((text, layer) for text in entity.attribs)
        unread.update((part.dxftype(), _layer_of(part, within)) for part in _fixed(entity))
        inside = entity.multi_insert() if entity.mcount > 1 else entity.virtual_entities()
        yield from _opened(inside, within, depth + 1, counts, source)


def _elsewhere(block: Any) -> str:
    """Return the other drawing that an insert refers to; "" for none."""
    held = block.block()
    if held is None or held.block is None or not held.block.is_xref:
        return ""
    return str(held.block.dxf.get("xref_path", "") or held.name)


def _layer_of(entity: Any, owner: str) -> str:
    """Return the layer an entity counts on; one the library does not know states it elsewhere."""
    known = entity.dxf.is_supported("layer")
    stated = (entity.dxf.get if known else entity.graphic_properties().get)("layer", "0")
    return owner if stated == "0" else str(stated)


def _fixed(block: Any) -> list[Any]:
    """Return what the library leaves out of a block because it cannot be moved."""
    from ezdxf.entities.dxfentity import DXFTagStorage

    if block.mcount > 1:  # counted when its copies are opened
        return []
    return [one for one in block.block() or () if isinstance(one, DXFTagStorage)]


def _layer_within(block: Any, layer: str) -> str:
    """Return what layer 0 of a block counts as: a service it is named after beats a dull layer."""
    name = str(block.dxf.get("name", ""))
    dull = is_harmless(layer) or kind_of(layer) in _BUILT
    return name if dull and kind_of(name) == "known-service" else layer
