"""The sheet that goes on site: where to read, with boxes to fill in."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from moisturemap.bundles import LaidOut
from moisturemap.errors import MissingExtra
from moisturemap.figures import Format
from moisturemap.figures.scan_plan import scan_plan
from moisturemap.floorplan import Room
from moisturemap.language import spoken
from moisturemap.report.content import (
    Block,
    Bullets,
    Column,
    Content,
    Paragraph,
    Section,
    Signatures,
    Table,
)
from moisturemap.report.html import html_text
from moisturemap.report.options import UPRIGHT
from moisturemap.report.pictures import SHEET_MM, drawn
from moisturemap.report.reference import numbered
from moisturemap.report.translated import translated
from moisturemap.units import Units

SIDE_BY_SIDE = 3
DRY_READINGS = 10
"""Readings on floor known to be dry (our choice: their scatter sets the wet level)."""

TO_NOTE = (
    "Meter: make, model, serial number, setting. Its check block before and after the walk.",
    "Day, time of start and end, your name.",
    "Air: temperature and humidity. Slab: temperature of the surface.",
    "What stands, lies or runs in the room: machines, heating, standing water, open doors.",
    "A reading at the end of the scale is written as the meter shows it (OL, >99), never left out.",
    "A place that cannot be read gets a line through its box and the reason beside it.",
)


SWEEP_WORDS = (
    "The last scan could not tell whether these places are wet floor or something embedded. Lay a "
    "tape, set the meter down at each step, and write the readings in order. They go into the same "
    "survey; scan-sweeps.csv has their places."
)


MISSED = "What such a grid can miss"


def write_scan_sheet(laid: LaidOut, folder: Path, units: Units = Units()) -> list[Path]:
    """Write ``scan-sheet.pdf``, or ``scan-sheet.html`` where the typesetter is not installed."""
    content = scan_sheet(laid, units)
    try:
        from moisturemap.report.pdf import pdf_bytes

        document, _ = pdf_bytes(content, datetime.now(UTC))
        path = folder / "scan-sheet.pdf"
        path.write_bytes(document)
    except MissingExtra:
        path = folder / "scan-sheet.html"
        path.write_text(html_text(content), encoding="utf-8")
    return [path]


def scan_sheet(laid: LaidOut, units: Units = Units()) -> Content:
    """Return the sheet: what to note, dry references, and each room with its boxes."""
    layout = laid.layout
    rooms = [room for room in laid.plan.rooms if (layout.places["room"] == room.name).any()]
    first = Section("Before and after", (Bullets(TO_NOTE), _dry(), Signatures(("Read by",))))
    missed = Bullets(tuple(units.sentence(text) for text in layout.limits))
    sections = [first] if not layout.limits else [first, Section(MISSED, (missed,))]
    sections += [*(_room(laid, room, units) for room in rooms), *_sweeps(laid, units)]
    about = (
        ("Readings", f"{len(layout.places)}"),
        ("Every", units.length(layout.spacing)),
        ("To walk", units.sentence(f"{layout.walk_m:.0f} m")),
    )
    made = numbered([_counted(one, n) for n, one in enumerate(sections, 1)])
    content = Content(
        title=spoken("Scan sheet"),
        subtitle="Relative readings of one meter, in walking order",
        number=spoken("scan sheet"),
        about=about,
        sections=tuple(made),
        made="",
    )
    return translated(content)


def _counted(section: Section, number: int) -> Section:
    return Section(section.title, section.blocks, f"{number}", section.new_page)


def _dry() -> Table:
    columns = tuple(Column(f"{n}", 1) for n in range(1, DRY_READINGS + 1))
    caption = "Ten readings on floor known to be dry, the meter lifted between; say where"
    return Table(caption, columns, (("\n ",) * DRY_READINGS,))


def _room(laid: LaidOut, room: Room, units: Units) -> Section:
    width, _ = UPRIGHT["a4"]
    form = Format(width_mm=width, height_mm=SHEET_MM, units=units)
    picture = drawn(
        scan_plan(laid, room, form), f"Places to read in {room.name}", "Plan with numbered places"
    )
    blocks: list[Block] = [picture, _boxes(laid, room, units)]
    return Section(room.name, tuple(blocks))


def _sweeps(laid: LaidOut, units: Units) -> list[Section]:
    """Return the short rows across what an earlier scan could not tell, with their boxes."""
    if laid.sweeps is None or laid.sweeps.empty:
        return []
    blocks: list[Block] = [Paragraph(SWEEP_WORDS)]
    for one in laid.sweeps.itertuples():
        columns = tuple(Column(f"{n}", 1) for n in range(1, one.readings + 1))
        caption = units.sentence(f"{one.sweep}: {one.sentence}")
        blocks.append(Table(caption, columns, (("\n ",) * one.readings,)))
    return [Section("Sweeps across what is contested", tuple(blocks), new_page=True)]


def _boxes(laid: LaidOut, room: Room, units: Units) -> Table:
    places = laid.layout.places
    here = places[places["room"] == room.name].sort_values("order")
    cells = [
        (
            f"{one.label}{' again' if one.purpose == 'repeat' else ''}",
            units.place_in_a_list(one.x, one.y),
            "\n ",
        )
        for one in here.itertuples()
    ]
    depth = -(-len(cells) // SIDE_BY_SIDE)
    cells += [("", "", "")] * (depth * SIDE_BY_SIDE - len(cells))
    rows = tuple(
        tuple(text for part in range(SIDE_BY_SIDE) for text in cells[part * depth + line])
        for line in range(depth)
    )
    one = (
        Column("Place", 1),
        Column(units.heading_of_places, 1.6, "right"),
        Column("Reading", 1.2),
    )
    return Table(f"Readings in {room.name}", one * SIDE_BY_SIDE, rows, dense=True)
