"""Files read, typed tests examined, walks laid out, the live map: work that must not wait."""

from __future__ import annotations

import base64
import pickle
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from moisturemap.web.work.desk import Desk
from moisturemap.web.work.map_work import colour_bands

Turn = tuple[float, bool]
"""Degrees counter-clockwise, and whether mirrored."""
Place = tuple[float, float]


def plan_file(
    desk: Desk, path: str, units: tuple[str | None, str], layer: str | None, turn: Turn
) -> dict[str, Any]:
    """Show how a plan file is understood; ``units`` is the one chosen and that of the job."""
    from moisturemap.entry.plan_exchange import plan_to_plain, turned
    from moisturemap.files import read_plan

    coordinates, otherwise = units
    found, notes = read_plan(Path(path), coordinates, layer, otherwise=otherwise)
    found = turned(found, turn[0], mirror=turn[1])
    west, south, east, north = found.bounds
    return {
        "plan": plan_to_plain(found),
        "notes": list(dict.fromkeys((*notes, *found.notes))),
        "width_m": east - west,
        "height_m": north - south,
    }


def plan_layers(desk: Desk, path: str) -> dict[str, Any]:
    """List the layers or storeys that may be picked in a plan file."""
    from dataclasses import asdict

    from moisturemap.files import plan_layers as layers_of

    return asdict(layers_of(Path(path)))


def plan_picture(desk: Desk, path: str, page: int) -> tuple[bytes, dict[str, Any]]:
    """Read a picture of a plan to trace over; return it, and what is known of it."""
    from moisturemap.entry.backdrop import upright_size
    from moisturemap.files import read_plan_picture
    from moisturemap.store.photograph import without_origin

    read = read_plan_picture(Path(path), page)
    content = without_origin(read.content)
    width, height = upright_size(content)
    known = {
        "width": width,
        "height": height,
        "pages": read.pages,
        "sheet_mm_per_pixel": read.sheet_mm_per_pixel,
    }
    return content, known


def page_shown(desk: Desk, path: str, page: int) -> dict[str, Any]:
    """Show a page of a document in small; nothing is kept."""
    from moisturemap.entry.backdrop import small
    from moisturemap.files import read_plan_picture

    read = read_plan_picture(Path(path), page)
    return {"pages": read.pages, "jpeg": base64.b64encode(small(read.content)).decode()}


def straightened(
    desk: Desk, content: bytes, corners: list[Place], sides: Place
) -> tuple[bytes, dict[str, Any]]:
    """Draw a picture as seen from straight above; return it, and what is known of it."""
    from moisturemap.entry.backdrop import Rectangle, drawn_from_above, straighten, upright_size

    rectangle = Rectangle(tuple(corners), sides)
    above = straighten(rectangle, *upright_size(content))
    known = {
        "width": above.width,
        "height": above.height,
        "pixel_m": above.pixel_m,
        "first": above.first,
        "error_m": above.error_m,
    }
    return drawn_from_above(content, rectangle), known


def readings_file(desk: Desk, path: str, plan: bytes, options: Mapping[str, Any]) -> dict[str, Any]:
    """Show how a file of readings is understood, or why not and what may be picked in it."""
    from dataclasses import asdict

    from moisturemap.entry.readings_preview import file_parts
    from moisturemap.errors import InputError

    try:
        shown: dict[str, Any] = _previewed(path, plan, options).as_dict()
    except InputError as refusal:
        parts = file_parts(Path(path), _preview_options(options))
        if not (parts.sheets or parts.choices):
            raise
        return {"refusal": str(refusal), **asdict(parts)}
    return {"refusal": "", **shown}


def file_rows(
    desk: Desk, path: str, plan: bytes, options: Mapping[str, Any], of: tuple[str, str]
) -> list[dict[str, Any]]:
    """Return the readings of a file as rows of a visit and an instrument."""
    from moisturemap.entry.typed_rows import rows_of_table

    return rows_of_table(_previewed(path, plan, options).readings, *of)


def _previewed(path: str, plan: bytes, options: Mapping[str, Any]) -> Any:
    from moisturemap.entry.readings_preview import preview_readings

    return preview_readings(Path(path), pickle.loads(plan), _preview_options(options))


def _preview_options(options: Mapping[str, Any]) -> Any:
    from moisturemap.entry.readings_preview import Placement, PreviewOptions
    from moisturemap.files import ReadingOptions

    return PreviewOptions(
        reading=ReadingOptions(**options["reading"]),
        columns=options["columns"],
        placement=Placement(**options["placement"]),
    )


def examine(desk: Desk, fields: Mapping[str, Any], visit: str) -> dict[str, Any]:
    """Say what the rules of its method find in a test as typed so far."""
    from moisturemap.entry.typed_test import examine_typed

    desk.survey.visit(visit)
    return examine_typed(desk.survey, fields, visit)


def live(desk: Desk, visit: str) -> dict[str, Any]:
    """Draw a quick map of the readings so far."""
    from moisturemap.workflow.live_map import LiveMap

    desk.survey.visit(visit)
    quick: LiveMap = desk.kept(("live map",), LiveMap)
    drawn = quick.draw(desk.survey, visit)
    if drawn["bands"] is not None:
        drawn["colours"] = colour_bands(drawn["levels"], drawn["bands"])
    return drawn


def walk(
    desk: Desk,
    plan: bytes,
    options: Mapping[str, Any],
    read: Collection[tuple[str, str, float, float]],
) -> dict[str, Any]:
    """Lay a grid over the rooms and put what is not read yet in walking order."""
    from moisturemap.results.summary import records
    from moisturemap.scanning import LayoutOptions, NamedPlace, lay_out, named_apart

    layout = lay_out(pickle.loads(plan), LayoutOptions(**options), [one[2:] for one in read])
    return {
        "stops": records(named_apart(layout.places, [NamedPlace(*one) for one in read])),
        "spacing": layout.spacing,
        "walk_m": layout.walk_m,
        "way": [[list(place) for place in leg.coords] for leg in layout.way.geoms],
        "way_words": list(layout.way_words),
        "limits": list(layout.limits),
    }
