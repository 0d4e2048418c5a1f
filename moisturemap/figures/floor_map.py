"""The map of one visit, fit to stand in a report as it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from shapely.geometry.base import BaseGeometry

from moisturemap.bundles import Study, set_aside_above_level
from moisturemap.checked import checked, require
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.drilled_holes import (
    DRILLED,
    draw_drilled,
    drilled_already,
    keep_off_drilled,
    name_drilled,
    proposed,
)
from moisturemap.figures.key import Entry, Key, Mark, Row
from moisturemap.figures.labels import Label, name_rooms
from moisturemap.figures.material_scales import MaterialScale, material_scales
from moisturemap.figures.samples import LINE_NAMES, line_names
from moisturemap.figures.sheet import Format, Sheet, Texts
from moisturemap.figures.style import INK, MUTED, WARNING
from moisturemap.mapping.areas import poorly_known_area, wet_area, wet_line
from moisturemap.quantities import DISCLAIMER
from moisturemap.survey import CONTESTED
from moisturemap.units import Units, zone_name
from moisturemap.zones import no_level_words

FEW_PLACES = 30
"""Places below which a map leans on assumptions more than on readings."""


@dataclass(frozen=True, slots=True)
@checked
class MapOptions:
    """What a map shows.

    Attributes
    ----------
    readings, anomalies, holes : bool
        Whether to draw them.
    brief : bool
        Without title and the walls in its key, for a page that says these already.
    title : str or None
        Title instead of the survey's name.
    form : Format
        Size of the page and units.
    """

    readings: bool = True
    anomalies: bool = True
    holes: bool = True
    brief: bool = False
    title: str | None = None
    form: Format = field(default_factory=Format)


@dataclass(frozen=True)
class _Labels:
    zones: list[Label]
    rooms: list[Label]
    anomalies: list[Label]
    numbered: dict[str, str]
    holes: dict[str, Label]
    drilled: list[Label]


def map_figure(study: Study, options: MapOptions = MapOptions()) -> Figure:
    """Draw the map of a study.

    Contour bands light = dry to dark = wet, clipped to the rooms; the wet level as a thick line;
    zones by letter; hatching where the map cannot say whether the floor is wet, dots where hardly
    a reading supports it; readings, anomalies by shape, holes by name; key, scale bar, caption.
    """
    require(study, Study, "study", "a Study, as moisturemap.study gives it")
    plan = study.survey.plan
    sheet = Sheet(plan.bounds, options.form)
    labels = _place_labels(sheet, study, options)
    scales = material_scales(study)
    unsure = study.wet.unsure
    unknown = _seen(poorly_known_area(study.moisture, plan, study.readings), sheet.scale)
    entries = [*_scale(study, scales), *_rows(study, options, unsure, unknown)]
    entries += room_entries(labels.numbered)
    title = options.title or study.survey.name
    texts = Texts(title, subtitle(study, options.form.units), caption(study))
    if options.brief:
        texts = Texts("", "", _with_no_level(study, DISCLAIMER))
    figure, (ax,) = sheet.draw(texts, Key(tuple(entries), low=options.brief))
    for scale in scales:
        scale.draw(ax, plan)
    layers.draw_hatch(ax, unsure, "////")
    layers.draw_hatch(ax, unknown, "..")
    layers.draw_plan(ax, plan)
    if options.readings:
        layers.draw_readings(ax, study.readings, _dot_size(sheet, study))
    wet = wet_area(study.moisture, plan, study.wet.level.value)
    layers.draw_outline(ax, wet_outline(study), wet)
    if options.anomalies:
        layers.draw_anomalies(ax, study.anomalies)
        for label, anomaly in zip(labels.anomalies, study.anomalies.geometry, strict=True):
            layers.draw_leader(ax, label, anomaly.centroid.x, anomaly.centroid.y, WARNING)
    if options.holes:
        draw_drilled(ax, drilled_already(study), labels.drilled)
        layers.draw_holes(ax, proposed(study.drill_plan), labels.holes)
    _write_labels(ax, labels)
    return figure


def _place_labels(sheet: Sheet, study: Study, options: MapOptions) -> _Labels:
    """Place all labels: off every sign; what must stay first, what can give way last."""
    floor = sheet.floor()
    floor.shun(*layers.wall_lines(study.survey.plan), wet_outline(study))
    signs = layers.keep_off_signs(floor, study.anomalies) if options.anomalies else []
    drilled = drilled_already(study) if options.holes else []
    discs = keep_off_drilled(floor, drilled)
    plan = proposed(study.drill_plan)
    holes = layers.place_holes(floor, plan, signs=discs) if options.holes else {}
    zones = layers.place_zones(floor, study.zones)
    anomalies = layers.name_signs(floor, signs)
    named_holes = name_drilled(floor, drilled)
    rooms = study.survey.plan.rooms
    named = [(room.name, room.polygon) for room in rooms] if len(rooms) > 1 else []
    names, numbered = name_rooms(floor, named, _drawn(study, sheet.scale) if named else ())
    return _Labels(zones, names, anomalies, numbered, holes, named_holes)


OFF_LINES_IN = 0.04
"""Room names keep so far off the wet line and services [in]."""


SEEN_IN = 0.08
"""Pieces of dotted floor nowhere as wide as this show no dot and are not drawn, nor keyed [in]."""


def _seen(area: BaseGeometry, scale: float) -> BaseGeometry:
    """Return the pieces of an area that show at a scale [in/m]."""
    pieces = list(getattr(area, "geoms", [area]))
    wide = [one for one in pieces if not one.buffer(-0.5 * SEEN_IN / scale).is_empty]
    return shapely.union_all(wide)


def _drawn(study: Study, scale: float) -> tuple[BaseGeometry, BaseGeometry]:
    """Return what no name of a room runs over, and the hatching that gives way to one."""
    services, wet = drawn_on(study, scale)
    return services.union(wet), study.wet.unsure


def drawn_on(study: Study, scale: float) -> tuple[BaseGeometry, BaseGeometry]:
    """Return the known services and the floor above the wet level, with what is free round them."""
    plan, surface, free = study.survey.plan, study.moisture, OFF_LINES_IN / scale
    services = shapely.union_all([line.geometry for line in plan.lines_of("known-service")])
    return services.buffer(free), wet_area(surface, plan, study.wet.level.value).buffer(free)


def wet_outline(study: Study) -> BaseGeometry:
    """Return the line of the wet level as it is drawn."""
    return wet_line(study.moisture, study.survey.plan, study.wet.level.value)


def _write_labels(ax: Axes, labels: _Labels) -> None:
    layers.write_labels(ax, labels.rooms, MUTED, 9)
    layers.write_labels(ax, labels.zones, INK)
    layers.write_labels(ax, labels.anomalies, WARNING)


def room_entries(numbered: dict[str, str]) -> list[Entry]:
    """Return the key of rooms whose name found no room on the plan."""
    return [Mark(number, name) for number, name in numbered.items()]


def _dot_size(sheet: Sheet, study: Study) -> float:
    """Return the area of a reading's dot [pt2], smaller where readings stand close."""
    apart = np.sqrt(study.survey.plan.outline.area / max(len(study.readings), 1)) * sheet.scale
    return float(np.clip((8.0 * apart) ** 2, 0.9, 7.0))


def _scale(study: Study, scales: Sequence[MaterialScale]) -> list[Entry]:
    unit, level = study.moisture.quantity.unit, study.wet.level.value
    entries = [entry for scale in scales for entry in scale.entries(unit, level)]
    if any(len(scale.levels) == 2 for scale in scales):
        entries.append(Mark("=", "no difference larger than a step of the meter"))
    return entries


def _rows(
    study: Study, options: MapOptions, unsure: BaseGeometry, unknown: BaseGeometry
) -> list[Row | Mark]:
    units = options.form.units
    unsure_zones = len(study.zones) and (study.zones["standing"] == "contested").any()
    zone_words = "wet zone (with ?: contested)" if unsure_zones else "wet zone"
    if study.wet.small_m2:
        zone_words += "; without a letter: smaller patch"
    rows: list[Row | Mark] = [Row("letter", zone_words)] if len(study.zones) else []
    if not unsure.is_empty:
        open_ = units.area(unsure.area)
        sure = f"{study.wet.confidence:.0%} confidence"
        rows.append(
            Row(
                "hatch////",
                f"cannot tell whether above the wet level: {open_} ({sure})",
            )
        )
    if not unknown.is_empty:
        rows.append(Row("hatch..", "hardly any reading near"))
    hidden = set_aside_above_level(study) if options.anomalies else None
    size = units.area(hidden.area_m2) if hidden is not None and hidden.readings else ""
    rows += _reading_rows(study, size) if options.readings else []
    rows += _anomaly_rows(study) if options.anomalies else []
    if size and not options.readings:
        rows.append(Mark("", f"above the wet level, left out as things: some {size}"))
    if options.holes and len(proposed(study.drill_plan)):
        pins = study.drill_plan["hole"].str.startswith("P").any()
        rows.append(Row("hole", f"proposed test hole{' (P: pin test)' if pins else ''}"))
    rows += [DRILLED] if options.holes and drilled_already(study) else []
    # whoever drills reads the small map, too
    kinds = ("known-service",) if options.brief else tuple(LINE_NAMES)
    return [*rows, *(Row(*one) for one in line_names(study.survey.plan, kinds).items())]


def _reading_rows(study: Study, hidden: str) -> list[Row]:
    """Name the signs of readings; one cross has one entry, with the wet floor it may hide."""
    flags = set(study.readings["flag"])
    names = {
        "clear": "reading",
        "full-scale": "at or above full scale",
        "below-scale": "at or below zero of scale",
        CONTESTED: "contested: kept, wet floor or a thing",
    }
    rows = [Row(flag, name) for flag, name in names.items() if flag in flags]
    if flags - set(names):
        wet = f"; of them as things above the wet level: some {hidden}" if hidden else ""
        rows.append(Row("aside", f"reading left out of the map{wet}"))
    return rows


def _contested_rows(study: Study) -> list[Row]:
    """Name what is contested and what to do about it: sweeps, where some are left to read."""
    table = study.anomalies[study.anomalies["standing"] == "contested"]
    unread = set(table.loc[table["anomaly"].isin(study.sweeps["anomaly"]), "kind"])
    kinds, rows = set(table["kind"]), []
    if "line" in kinds:
        words = "contested: wet floor or a thing? Sweep across it"
        if "line" not in unread:
            words = "contested: wet floor or a thing? Have it located"
        rows.append(Row("contested-line", words))
    if kinds - {"line"}:
        words = "contested spot: read it again, sweep across it"
        if not unread - {"line"}:
            words = "contested spot: wet floor or a thing? Have it located"
        rows.append(Row("contested-spot", words))
    return rows


def _anomaly_rows(study: Study) -> list[Row]:
    names = {
        "line": ("line", "line: pipe, cable or bar? Locate before drilling"),
        "spot": ("spot", "spot: metal or fitting? Locate before drilling"),
        "mesh": ("hatch++", "periodic: mesh or loops? Locate before drilling"),
        "stray": ("stray", "stray reading"),
    }
    table = study.anomalies
    kinds = set(table.loc[table["standing"] == "thing", "kind"])
    rows = [Row(*words) for kind, words in names.items() if kind in kinds]
    return rows + _contested_rows(study)


def subtitle(study: Study, units: Units = Units()) -> str:
    """Return visit, time, instrument and operator in one line."""
    visit = study.visit
    parts = [f"Visit {visit.id}"]
    if visit.started:
        zone = f" {zone_name(visit.started)}" if visit.started.tzinfo else ""
        parts.append(f"{units.day(visit.started)} {visit.started:%H:%M}{zone}")
    parts.append(f"instrument {study.clean.instrument.id}")
    if visit.operator:
        parts.append(f"read by {visit.operator}")
    return " · ".join(parts)


def caption(study: Study) -> str:
    """Return the caption: method, what was used and left out, what the numbers are not."""
    usable = study.readings[study.readings["flag"].isin(layers.USED)]
    mapped = usable[usable["domain"].isin(list(study.moisture.fields))]
    aside, unmapped = len(study.readings) - len(usable), len(usable) - len(mapped)
    if mapped.empty:
        words = _count(len(study.readings), "relative reading")
        words += "; no part of the floor could be mapped"
    else:
        words = f"Ordinary kriging of {_count(len(mapped), 'relative reading')}"
        words += f", {aside} left out with a reason" if aside else ""
        words += f", {unmapped} where nothing could be mapped" if unmapped else ""
    places = len(mapped[["x", "y"]].drop_duplicates())
    if 0 < places < FEW_PLACES:
        words += (
            f". Only {_count(places, 'place')} read: the map leans on assumptions more than on "
            "readings"
        )
    return _with_no_level(study, f"{words}. {DISCLAIMER}")


def _with_no_level(study: Study, words: str) -> str:
    """Add the rooms that are drawn on the scale of another material's level."""
    return f"{words} {no_level_words(study.unlevelled_rooms)}".rstrip()


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
