"""Pictures of a report: the figures of a study, a logo, photographs."""

from __future__ import annotations

import io
import re
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from moisturemap.acceptance import Decision
from moisturemap.bundles import DryingPlan, EquipmentPlan, Study
from moisturemap.errors import FormatError
from moisturemap.figures.sheet import Format
from moisturemap.floorplan import Room
from moisturemap.investigation import Investigation
from moisturemap.report.content import Picture
from moisturemap.report.picture_words import checks_told, profile_told, results_told
from moisturemap.report.wording import Wording
from moisturemap.results.parts import on_rooms, parts_of
from moisturemap.results.storeys import storeys_of
from moisturemap.store import Project
from moisturemap.survey import Survey
from moisturemap.units import INCH_MM

DPI = 200
LARGEST_SIDE = 4000
"""Longest side of a photograph in a report [pixels]; larger ones are made smaller."""


def map_picture(study: Study, form: Format) -> Picture:
    """Draw the map of a study."""
    from moisturemap.figures import MapOptions, alternative_text, map_figure

    figure = map_figure(study, MapOptions(form=form))
    caption = f"Relative readings of visit {study.visit.id}"
    return _relative(drawn(figure, caption, alternative_text(study), key="map", floats=True))


def storey_map(study: Study, storey: str, form: Format) -> Picture:
    """Draw the map of one storey, as ``results.storeys.on_storey`` gives it."""
    from moisturemap.figures import MapOptions, alternative_text, map_figure

    form = replace(form, height_mm=TWO_SHEETS_MM)
    figure = map_figure(study, MapOptions(brief=True, form=form))
    caption = f"Relative readings on {storey}"
    return _relative(drawn(figure, caption, alternative_text(study), floats=True))


def part_maps(study: Study, form: Format) -> tuple[Picture, ...]:
    """Draw a large floor part by part; nothing where one map shows all rooms."""
    from moisturemap.figures import MapOptions, alternative_text, map_figure

    parts = parts_of(study.survey.plan.rooms)
    if len(parts) == 1 or len(storeys_of(study)) > 1:
        return ()
    form, made = replace(form, height_mm=PART_MM), []
    for count, rooms in enumerate(parts, 1):
        part = on_rooms(study, rooms)
        figure = map_figure(part, MapOptions(brief=True, form=form))
        caption = f"Relative readings, part {count} of {len(parts)} of the floor"
        key = f"{PART}{count}"
        made.append(drawn(figure, caption, alternative_text(part), key=key, floats=True))
    return tuple(map(_relative, made))


PART = "part-"
"""Before the number of a part of the floor: key of its map."""


SMALL_MAP_MM, SMALLEST_MAP_MM = 72.0, 60.0
"""The map on page one is at most this high [mm], so that all four answers share the page; lower
where the report has but two of letter paper."""


def small_map(
    study: Study, form: Format, *, lower: bool = False, anomalies: bool = False
) -> Picture:
    """Draw the map without readings and holes for page one.

    With the anomalies where no other map of the document shows those that its words name.
    """
    from moisturemap.figures import MapOptions, alternative_text, map_figure

    small = replace(form, height_mm=SMALLEST_MAP_MM if lower else SMALL_MAP_MM)
    options = MapOptions(readings=False, anomalies=anomalies, holes=False, brief=True, form=small)
    caption = f"Where the scan reads wet, visit {study.visit.id}"
    if study.wet.level.value is None:
        caption = f"Where the scan reads high, visit {study.visit.id}"
    picture = drawn(map_figure(study, options), caption, alternative_text(study), key="small-map")
    return _relative(picture)


HALF_PAGE_MM, SHEET_MM, TWO_SHEETS_MM, PART_MM = 98.0, 165.0, 98.0, 112.0
"""The most a map beside a table, a set-out sheet, one of two on a page, and one of two maps without
a heading are high [mm]."""


def small_tests_map(decision: Decision, survey: Survey, form: Format) -> Picture | None:
    """Draw the places of the tests for page one of a floor that was not scanned."""
    small = tests_map(decision, survey, replace(form, height_mm=SMALL_MAP_MM))
    if small is None:
        return None
    return replace(small, caption="Where the floor was tested", key="small-map", floats=False)


def tests_map(decision: Decision, found: Study | Survey, form: Format) -> Picture | None:
    """Draw the places of the tests; None when none has a place."""
    from moisturemap.figures.map_of_tests import map_of_tests

    if not decision.tests[["x", "y"]].notna().all(axis=1).any():
        return None
    alt = results_told(decision, form.units)
    caption = "Where the calibrated tests stand and what each shows at its place"
    form = replace(form, height_mm=min(form.height_mm or HALF_PAGE_MM, HALF_PAGE_MM))
    return drawn(map_of_tests(decision, found, form), caption, alt, key="tests-map", floats=True)


def tests_picture(decision: Decision, form: Format) -> Picture | None:
    """Draw the judged tests against the limit; None when none was judged."""
    from moisturemap.figures.limit_chart import limit_chart

    if not any(test.judged for test in decision.judged):
        return None
    alt = f"{decision.sentence} {results_told(decision, form.units)}"
    caption = "Results of the judged tests against the limit"
    return drawn(limit_chart(decision, form=form), caption, alt, key="tests-chart", floats=True)


def check_picture(study: Study, form: Format) -> Picture:
    """Draw how the map was checked against its own readings."""
    from moisturemap.figures import check_figure

    caption = "Check of the map: variogram, and each place predicted from all others"
    return drawn(
        check_figure(study, form, told=False), caption, study.quality, key="map-check", floats=True
    )


def checks_picture(decision: Decision, form: Format) -> Picture | None:
    """Draw the checks of probes; None when there is none."""
    from moisturemap.figures.salt_check import salt_check

    if decision.checks.empty:
        return None
    alt = checks_told(decision)
    return drawn(salt_check(decision, form), "Checks of the probes", alt, key="checks", floats=True)


def profile_pictures(decision: Decision, survey: Survey, form: Format) -> tuple[Picture, ...]:
    """Draw the depth profile of each place read at several depths, where it was worked out."""
    from moisturemap.figures.depth_profile import depth_profile, uncounted_readings

    day = decision.as_of.date()
    covered = {room.name for room in survey.plan.rooms if room.slab.covered_on(day)}
    deep = [spot for spot in decision.spots if len(spot.readings) > 1 and spot.estimate is not None]
    figures, narrow = [], [spot.room in covered for spot in deep]
    for spot, under in zip(deep, narrow, strict=True):
        size = replace(form, width_mm=HALF_SHEET_MM[0]) if under else form
        struck = uncounted_readings(decision, spot)
        figures.append(depth_profile(spot, size, uncounted=struck, covered=under))
    level = _levelled([one.get_figheight() for one in figures], narrow)
    return tuple(
        drawn(
            figure,
            f"Humidity with depth at {spot.spot}, {spot.room}",
            profile_told(spot),
            floats=True,
            below=high - figure.get_figheight(),
        )
        for spot, figure, high in zip(deep, figures, level, strict=True)
    )


SET_OUT = "set-out-"
"""Before the number of a set-out sheet: its key, by which its words name it."""

MOST_SHEETS = 4
"""Rooms with holes that each have a sheet across the page; of more, two stand side by side (our
choice)."""

HALF_SHEET_MM = (84.0, 78.0)
"""Width and height of one of six set-outs on a page [mm]."""

MOST_PAIRED, PAIRED_MM = 1.3, 100.0
"""Rooms up to so much wider than high have their sheets side by side, so high at most [mm]."""


def set_out_pictures(study: Study, form: Format) -> tuple[Picture, ...]:
    """Draw the set-out of each room that holds a proposed hole."""
    from moisturemap.figures.set_out import rooms_to_set_out, set_out_sheet

    holes, made = study.drill_plan, []
    rooms = rooms_to_set_out(study)
    many = len(rooms) > MOST_SHEETS
    form = replace(form, height_mm=SHEET_MM if len(rooms) == 1 else TWO_SHEETS_MM)
    narrow = [many or paired for paired in _paired(rooms)]
    figures = []
    for room, halved in zip(rooms, narrow, strict=True):
        size = form
        if halved:
            height = HALF_SHEET_MM[1] if many else PAIRED_MM
            size = replace(form, width_mm=HALF_SHEET_MM[0], height_mm=height)
        figures.append(set_out_sheet(study, room, size, keyed=not many))
    level = _levelled([one.get_figheight() for one in figures], narrow)
    for count, (room, figure, high) in enumerate(zip(rooms, figures, level, strict=True), 1):
        here = holes[holes["room"] == room.name]
        alt = " ".join(f"{one.hole}: {one.set_out}" for one in here.itertuples())
        caption = f"Set-out of the holes in {room.name}"
        told = form.units.sentence(alt)
        free = high - figure.get_figheight()
        picture = drawn(figure, caption, told, key=f"{SET_OUT}{count}", below=free)
        made.append(replace(picture, floats=True))
    return tuple(made)


def _levelled(heights: Sequence[float], narrow: Sequence[bool]) -> list[float]:
    """Return heights at which the heads of two drawings side by side stand level."""
    level, at = list(heights), 0
    while at + 1 < len(level):
        if narrow[at] and narrow[at + 1]:
            level[at] = level[at + 1] = max(level[at : at + 2])
            at += 1
        at += 1
    return level


def _paired(rooms: Sequence[Room]) -> list[bool]:
    """Return which rooms, none much wider than high, follow each other two by two."""
    paired = [False] * len(rooms)
    for at in range(1, len(rooms)):
        if not paired[at - 1] and max(map(_ratio, rooms[at - 1 : at + 1])) < MOST_PAIRED:
            paired[at - 1] = paired[at] = True
    return paired


def _ratio(room: Room) -> float:
    west, south, east, north = room.polygon.bounds
    return float((east - west) / (north - south))


_DRYING = {
    "drying-visits": "The visits on one scale of relative readings",
    "drying-change": "Change of the relative reading from the first visit to the latest",
    "drying-step": "Change of the relative reading since the visit before",
    "drying-rate": "Change of the relative reading a week",
    "drying-outlook": "Area above the wet level over the visits",
    "drying-depths": "Humidity at depth over the visits, against the limit",
    "drying-air": "Air of the room over the visits",
}
_NOT_RELATIVE = ("drying-depths", "drying-air")


def drying_pictures(
    plan: DryingPlan, form: Format, decision: Decision | None
) -> tuple[Picture, ...]:
    """Draw the change over the visits."""
    from moisturemap.figures.drying_figures import drying_figures

    told = form.units.sentence(" ".join(plan.comparison.drying.statements[:1]))
    form = replace(form, height_mm=HALF_PAGE_MM)
    # between two visits the change a week is the change once more
    two = len(plan.comparison.drying.series.visits) == 2
    made = [
        drawn(figure, _DRYING[name], f"{_DRYING[name]}. {told}", key=name, floats=True)
        for name, figure in drying_figures(plan, form, decision=decision).items()
        if name in _DRYING and not (name == "drying-rate" and two)
    ]
    return tuple(one if one.key in _NOT_RELATIVE else _relative(one) for one in made)


_INVESTIGATION = {
    "cause-profiles": "What each open cause would show at depth, and what was read",
    "cause-reach": "The wet zone and what diffusion could have reached",
    "cause-dew-point": "Surface of the floor and dew point of the air",
    "cause-timeline": "What happened when",
}


def investigation_pictures(
    found: Investigation, survey_name: str, form: Format
) -> tuple[Picture, ...]:
    """Draw where the water may come from."""
    from moisturemap.figures.investigation_figures import investigation_figures

    form = replace(form, height_mm=HALF_PAGE_MM)
    return tuple(
        drawn(
            figure, _INVESTIGATION[name], f"{_INVESTIGATION[name]}. {found.sentence}", floats=True
        )
        for name, figure in investigation_figures(found, survey_name, form).items()
    )


def placement_picture(equipment: EquipmentPlan, form: Format) -> Picture:
    """Draw where the machines should stand."""
    from moisturemap.figures.drying_placement import placement_figure

    caption = "Where the machines stand and where they should"
    told = " ".join(str(sentence) for sentence in equipment.placement.moves["sentence"])
    form = replace(form, height_mm=HALF_PAGE_MM)
    return drawn(placement_figure(equipment, form), caption, told, key="placement", floats=True)


_NAME_OF_THEN = re.compile(r"(Test|Prüfung) \S*\d\S*")
"""A note that is no more than the name a test had when its photograph was added."""


def photographs_of(project: Project, wording: Wording | None = None) -> tuple[Picture, ...]:
    """Return the photographs kept in a project, by the hole or reading they show."""
    say = wording or Wording()
    names = _names(project)
    found = []
    for row in project.rows("attachments"):
        if str(row["media_type"]) not in ("image/jpeg", "image/png"):
            continue
        if row["of_layer"] == "settings":  # a plan traced over is no photograph of the floor
            continue
        taken = "" if not row["taken"] else say.moment(datetime.fromisoformat(row["taken"]))
        of = names.get((str(row["of_layer"]), str(row["of_row"])), "")
        note = "" if of and _NAME_OF_THEN.fullmatch(row["note"] or "") else row["note"]
        parts = (of, note, taken and f"taken {taken}", f"file {row['name']}")
        caption = ", ".join(part for part in parts if part)
        found.append((of, photograph(project.content(row["sha256"]), caption)))
    return tuple(picture for _, picture in sorted(found, key=lambda one: (one[0] == "", one[0])))


def _names(project: Project) -> dict[tuple[str, str], str]:
    """Return what a reader calls the rows that photographs can be of."""
    names = {}
    for row in project.rows("tests"):
        depth = f", {row['depth_mm']:g} mm deep" if row.get("depth_mm") else ""
        names["tests", str(row["fid"])] = (
            f"Hole {row['hole']}{depth}" if row.get("hole") else "Test"
        )
    for row in project.rows("readings"):
        names["readings", str(row["fid"])] = (
            f"Reading {row['reading']}" if row.get("reading") else ""
        )
    return names


def drawn(
    figure: Any,
    caption: str,
    alt: str,
    *,
    key: str = "",
    floats: bool = False,
    below: float = 0.0,
) -> Picture:
    """Return a figure of the package as vectors and pixels, with room below it [in]."""
    from moisturemap.figures import save_figure

    width_mm = figure.get_figwidth() * INCH_MM
    with tempfile.TemporaryDirectory() as folder:
        save_figure(figure, Path(folder), "figure", ("svg", "png"), DPI, below)
        svg, png = (Path(folder, f"figure.{kind}").read_bytes() for kind in ("svg", "png"))
    return Picture(png, svg, caption, alt, _size(png), width_mm=width_mm, key=key, floats=floats)


def _relative(picture: Picture) -> Picture:
    return replace(picture, relative=True)


def _size(content: bytes) -> tuple[int, int]:
    from PIL import Image

    with Image.open(io.BytesIO(content)) as picture:
        return picture.size


def photograph(content: bytes, caption: str, alt: str = "") -> Picture:
    """Return a photograph for a report, turned upright and made no larger than print needs.

    Raises
    ------
    FormatError
        If the bytes are neither JPEG nor PNG.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with Image.open(io.BytesIO(content), formats=["JPEG", "PNG"]) as picture:
            upright = _eight_bits(ImageOps.exif_transpose(picture))
            upright.thumbnail((LARGEST_SIDE, LARGEST_SIDE))
            kind = "PNG" if picture.format == "PNG" else "JPEG"
            buffer = io.BytesIO()
            # Written anew: what a camera or program hid beside the picture stays out.
            upright.convert("RGBA" if kind == "PNG" else "RGB").save(buffer, kind)
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as error:
        message = "the picture cannot be read"
        raise FormatError(message, source=caption, allowed="JPEG or PNG") from error
    clean = buffer.getvalue()
    return Picture(clean, b"", caption, alt or caption, _size(clean))


def _eight_bits(picture: Any) -> Any:
    """Return a picture with grey values of 16 bits scaled to 8: cut off, they would be white."""
    if not picture.mode.startswith("I"):
        return picture
    from PIL import Image

    grey = np.clip(np.asarray(picture, dtype=np.int64), 0, 0xFFFF)
    return Image.fromarray((grey // 257).astype(np.uint8))


def logo(path: Path) -> Picture:
    """Return the user's logo."""
    if not path.is_file():
        message = "there is no such logo"
        raise FormatError(message, source=str(path), allowed="a PNG or JPEG file")
    return photograph(path.read_bytes(), path.name, "Logo")
