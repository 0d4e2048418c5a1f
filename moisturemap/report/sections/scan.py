"""The relative scan: map, wet zones, anomalies."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies import rooms_crossed
from moisturemap.report.content import (
    Block,
    Bullets,
    Column,
    Paragraph,
    Picture,
    Section,
    Table,
    Terms,
)
from moisturemap.report.material import Material
from moisturemap.report.pictures import PART, check_picture, map_picture, part_maps
from moisturemap.report.reference import refer
from moisturemap.report.wording import is_missing, number
from moisturemap.results.brief import elsewhere_words
from moisturemap.results.study_words import not_numeric_words
from moisturemap.scanning import left_rows
from moisturemap.survey import USED_FLAGS
from moisturemap.zones import MappedVisit


def the_map(material: Material) -> Section:
    """Show the map of the visit and how to read it."""
    pictures = material.supplement.pictures
    if pictures is None:
        study, form = material.study, material.form
        parts = part_maps(study, form)
        pictures = (map_picture(study, form), *parts)
    meter = material.study.clean.instrument.id
    text = (
        f"The map ({refer('map')}) shows relative readings of one instrument, {meter}: light reads "
        "low, dark reads high. It has no unit, it is not a moisture content, and no colour of it "
        "means that floor is dry enough to cover. North is up in the plan; it names walls and says "
        "nothing about the compass."
    )
    shown = [named for named in (text, _parts_named(pictures)) if named]
    study = material.study
    left_out = (
        not_numeric_words(study),
        *left_rows(study.clean.locations, study.survey.plan),
        *elsewhere_words(study),
    )
    told = tuple(material.wording.sentence(one) for one in left_out if one)
    bullets = (Bullets(told),) if told else ()
    return Section("Map of relative readings", (*map(Paragraph, shown), *bullets, *pictures))


def _parts_named(pictures: Sequence[Picture]) -> str:
    """Name the maps of the parts of a large floor, "" without any."""
    keys = [one.key for one in pictures if one.key.startswith(PART)]
    if not keys:
        return ""
    return f"{refer(keys[0])} to {refer(keys[-1])} show the parts of the floor, larger."


def map_check(material: Material) -> Section | None:
    """Show how far the map agrees with its own readings."""
    study = material.study
    if material.supplement.pictures is not None or not study.moisture.fields:
        return None
    text = material.wording.sentence(study.quality)
    shown = Paragraph(
        f"{refer('map-check')} shows where this comes from. The model is fitted to the readings "
        "themselves, not to the points of the variogram, and may pass beside them."
    )
    return Section(
        "Check of the map", (Paragraph(text), shown, check_picture(study, material.form))
    )


def wet_zones(material: Material) -> Section:
    """List the wet zones and the level they are drawn at."""
    study, wording = material.study, material.wording
    stated = () if len(study.zones) else (study.wet.statement,)  # the table below says it again
    texts = dict.fromkeys((study.wet.level.explanation, *stated))
    blocks: list[Block] = [Paragraph(wording.sentence(text)) for text in texts if text]
    if len(study.zones):
        unit = wording.area_unit
        longest = study.zones["rooms"].astype(str).str.len().max()
        columns = (
            Column("Zone", 0.8),
            Column("Room", 1.4 if longest <= LONGEST_ROOM else 3.4),
            Column("Standing", 1.1),
            Column(f"Area [{unit}]", 0.9, "right"),
            Column(f"Low to high [{unit}]", 1.2, "right"),
            Column("Highest of the map", 1, "right"),
            Column("There, x, y", 1.4, "right"),
            Column("Highest reading", 1, "right"),
            Column("Mean of the map", 1, "right"),
        )
        rows = tuple(
            (
                str(zone.zone),
                str(zone.rooms),
                str(zone.standing),
                wording.area(zone.area_m2, unit=False),
                f"{wording.area(zone.area_low_m2, unit=False)} to "
                f"{wording.area(zone.area_high_m2, unit=False)}",
                number(zone.peak, 0),
                wording.place(zone.peak_x, zone.peak_y),
                number(highest_reading(study, zone.geometry), 1),
                number(zone.mean, 0),
            )
            for zone in study.zones.itertuples()
        )
        note = (
            "Readings are relative to this instrument and have no unit. The map evens readings "
            "out, so its highest value is not one that was read."
        )
        if (study.zones["standing"] == "contested").any():
            note += " Contested: half and more of the zone may be a thing in the floor."
        blocks.append(Table("Wet zones", columns, rows, note=note, key="zones"))
        hints = tuple(
            (f"Zone {zone.zone}", wording.sentence(str(zone.hint)))
            for zone in study.zones.itertuples()
            if zone.hint
        )
        blocks += [Terms(hints)] if hints else []
    return Section("Wet zones", tuple(blocks))


def highest_reading(study: MappedVisit, zone: BaseGeometry) -> float | None:
    """Return the highest reading used in a zone, at full scale that; None where none lies in it."""
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)].dropna(subset=["x", "y"])
    inside = shapely.intersects_xy(zone, used["x"].to_numpy(float), used["y"].to_numpy(float))
    values = used.loc[inside, "value"]
    return None if values.empty else float(values.max())


LONGEST_ROOM = 24
"""Letters up to which the rooms of a zone fit a narrow column (our choice)."""

_KINDS = {"line": "line", "spot": "spot", "mesh": "periodic", "stray": "stray reading"}


def anomalies(material: Material) -> Section:
    """List what disturbs readings, and what such a scan cannot see."""
    study, wording = material.study, material.wording
    blocks: list[Block] = []
    if len(study.anomalies):
        columns = (
            Column("No.", 0.6),
            Column("Kind", 1),
            Column("Room", 1.4),
            Column("Places read", 1.1, "right"),
            Column("Strength", 1, "right"),
            Column("What is there", 5),
        )
        rows = tuple(
            (
                str(one.anomaly),
                _KINDS.get(one.kind, str(one.kind)),
                rooms_crossed(one.geometry, study.survey.plan, str(one.room)),
                number(one.readings, 0),
                number(one.strength, 0),
                wording.sentence(_with_persistence(str(one.sentence), one.persistence)),
            )
            for one in study.anomalies.itertuples()
        )
        note = "What it is can only be told by locating it. Locate each before drilling near it."
        flagged = study.found.readings.loc[study.found.readings["anomaly"] != "", ["x", "y"]]
        own = len(flagged.drop_duplicates())
        if own < study.anomalies["readings"].sum():
            note += f" A place that two of them take in counts with each: {own} places in all."
        blocks.append(Table("Anomalies", columns, rows, note=note, key="anomalies"))
    else:
        blocks.append(Paragraph(_none_found(study)))
    services = study.survey.plan.lines_of("known-service")
    if services:
        names = ", ".join(line.name or "not named" for line in services)
        blocks.append(Paragraph(f"Services known from the plan: {names}."))
    said = (*study.found.doubted, *study.found.remarks, *study.found.limits)
    if said:
        blocks.append(Bullets(tuple(wording.sentence(text) for text in said)))
    return Section("Anomalies and services", tuple(blocks))


NOT_LOOKED = " for there."
"""How what a search says of a part that it did not look at ends."""


def _none_found(study: MappedVisit) -> str:
    """Say that nothing stands out, or that nothing was looked for."""
    not_looked = sum(one.endswith(NOT_LOOKED) for one in study.found.limits)
    if not_looked >= len(study.domains):
        return "Anomalies were not looked for: there are too few readings to tell them."
    found = "No anomaly stands out of the readings. That does not show that there is none."
    return f"{found} Some of the floor was not looked at." if not_looked else found


def _with_persistence(sentence: str, persistence: object) -> str:
    return sentence if is_missing(persistence) else f"{sentence} ({persistence} over the visits)"
