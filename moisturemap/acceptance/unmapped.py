"""Floor that may be the wettest and of which no wet zone of the map speaks.

Method: docs/method/acceptance.md, rule 10.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry import MultiPoint
from shapely.ops import unary_union

from moisturemap.acceptance.capped import capped
from moisturemap.anomalies import ANOMALY_KINDS, is_along, is_drawn, read_sweeps
from moisturemap.geostat import spacing_of
from moisturemap.survey import BETWEEN_STEPS, DOUBTED, OFF_STEP, USED_FLAGS, Survey, agreeing
from moisturemap.survey.note_words import names_wet_floor
from moisturemap.zones import MappedVisit, unread_parts
from moisturemap.zones.fell_fast import fell_fast
from moisturemap.zones.high_beside import high_beside
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.off_origin import off_origin
from moisturemap.zones.part_fell import part_fell
from moisturemap.zones.standing_out import (
    BESIDE_M,
    LEAST_READINGS,
    NEIGHBOURS,
    UNDECIDED_SHARE,
    clear_level,
    far_above,
    groups,
    lone_high,
    standing_out,
    uneven,
)
from moisturemap.zones.wet_ring import wet_rings

BESIDE_REACH_M = 1.0
"""A test this near the highest reading set aside as a thing counts as beside it [m]: a hole keeps
clear of the thing itself (project choice)."""

SAME_PLACE_M, READ_AGAIN_M, AS_HIGH = 0.35, 0.75, 0.5
"""A later reading this near speaks for an earlier one [m]; up to the second distance it does where
the earlier visit, too, read this share as far above its middle; project choice."""

ON_SERVICE_M = 0.25
"""What lies this near a drawn service lies on it [m]; project choice."""

MOST_OF = 0.5
"""Share of the course of a drawn service over which its readings stand high; project choice."""

NARROW_HIDES = 3
"""A line that hides so many readings above the wet level may be wet floor worth a test; project
choice, as of the search."""

NOT_READ = re.compile(
    r"^\s*[-–—/x]?\s*$|n\W?a\b|none|null|nan\b|miss|skip|void|not? |nicht|kein|non |pas |fehlt|entf"
    r"|acces|zugang|unread|read|column|pillar|post\b|wall|door|stair|cupboard|cabinet|closet"
    r"|furnitur|shel[fv]|counter|fridge|machine|pallet|box|crate|rack|\bmats?\b|rug|carpet|cover"
    r"|block|obstruct|hole|drain|gully|step|threshold|metal|plate|hatch|rough|debris|säule"
    r"|stütze|pfeiler|wand|tür|treppe|schrank|möbel|regal|palette|kiste|matte|teppich|verdeckt"
    r"|verstellt|belegt|blockiert|colonne|poteau|mur\b|porte|meuble|armoire|tapis|couvert",
    re.IGNORECASE,
)
"""What is written in place of a reading that says why none was taken; other words may mean water
(common practice of notes in English, German and French)."""

WET_WORDS = re.compile(
    r"\d|wet|damp|soak|high|nass|feucht|hoch|mouill|humid|\brange|\bover\b"
    r"|^\s*(?:e|err|error|fehler)\W*$|^\s*[-–—_=*#?!]{2,}\s*$",
    re.IGNORECASE,
)
"""What is written in place of a reading that may mean a high one, signs of a display among it, also
beside a word of ``NOT_READ``."""


def places_without_map(survey: Survey, study: MappedVisit | None) -> tuple[HighPlace, ...]:
    """Return the floor that may be the wettest and of which no wet zone of the map speaks.

    Parameters
    ----------
    survey : Survey
    study : MappedVisit or None
        The map beside the tests: none, of an earlier visit, or of too few readings.

    Returns
    -------
    tuple of HighPlace
        The highest reading where the latest scan was left out or is too thin to show wet zones.
        Else that of each room without a map or of another material than the wet level is of, places
        where words stand, what an earlier visit read
        and no later one did, parts nobody read; and where no zone was drawn, what stands above the
        level all the same.
    """
    if survey.readings.empty:
        return ()
    standing = standing_readings(survey)
    latest = str(standing["visit"].iloc[-1])
    if study is None or study.visit.id != latest or _thin(study):
        why = "the latest scan is left out or too thin to show wet zones"
        return _highest(standing, HighPlace(why, "at the highest reading of the scan"))
    found: tuple[HighPlace, ...] = ()
    for room in study.moisture.unmapped_rooms:
        own = study.readings[study.readings["room"] == room]
        where = f"at the highest reading of {room}"
        found += _highest(own, HighPlace(f"the scan gave no map of {room}", where, room))
    for room in study.unlevelled_rooms:
        own = study.readings[study.readings["room"] == room]
        own = own[own["flag"].isin((*USED_FLAGS, *ANOMALY_KINDS))]
        where = f"at the highest reading of {room}"
        why = f"no wet level is known for the material of {room}"
        found += _highest(own, HighPlace(why, where, room))
    found += _written(study) + _earlier(study, standing) + _unread(study, standing)
    found += _in_no_room(study) + _narrow(study) + _below_the_level(study)
    found += standing_out(study) + lone_high(study) + _once_higher(survey, study)
    found += fell_fast(survey, study) + capped(study) + high_beside(study) + off_origin(study)
    found += part_fell(survey, study.clean, study.wet.level.value)
    if not study.wet.zones.empty:
        return found
    return found + _no_zone(study) + _below_a_doubtful_level(study) + uneven(study)


def standing_readings(survey: Survey) -> pd.DataFrame:
    """Return the readings of the meter of the latest scan that no later visit read again.

    Parameters
    ----------
    survey : Survey

    Returns
    -------
    DataFrame
        Rows of ``survey.readings`` with a place, in the order of the visits.
    """
    order = {one.id: k for k, one in enumerate(survey.visits)}
    known = survey.readings.dropna(subset=["x", "y"])
    known = known[known["visit"].isin(order)]
    known = known.assign(_visit=known["visit"].map(order)).sort_values("_visit", kind="stable")
    if known.empty:
        return known
    last = known[known["_visit"] == known["_visit"].iloc[-1]]
    known = known[known["instrument"] == last["instrument"].mode().iloc[0]]
    kept = np.ones(len(known), dtype=bool)
    place, visit = known[["x", "y"]].to_numpy(dtype=float), known["_visit"].to_numpy()
    value = known["value"].to_numpy(dtype=float)
    for number in np.unique(visit)[1:]:
        earlier = np.flatnonzero(visit < number)
        again = _read_again(place[earlier], value[earlier], place[visit == number])
        kept[earlier[again]] = False
    standing: pd.DataFrame = known[kept]
    return standing


def _read_again(
    places: NDArray[np.float64], value: NDArray[np.float64], later: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Return which readings (n,) at places (n, 2) later ones (m, 2) stand for.

    Dry floor beside a small wet patch, read again, says nothing of the patch.
    """
    then = value[np.asarray(cKDTree(places).query(later)[1])]
    tree, middle = cKDTree(later), float(np.nanmedian(value))
    again = np.asarray(tree.query(places)[0]) <= SAME_PLACE_M
    for k in np.flatnonzero(~again):
        near = then[tree.query_ball_point(places[k], READ_AGAIN_M)]
        # ``not`` takes in words, which have no value
        again[k] = bool((~(near < middle + AS_HIGH * (value[k] - middle))).any())
    return again


def _thin(study: MappedVisit) -> bool:
    return len(study.readings) < LEAST_READINGS and study.wet.zones.empty


def _written(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Places where words may mean a high reading, in place of one or as a note, by neighbours."""
    readings = study.readings.dropna(subset=["x", "y"])
    words, note = readings["raw"].astype(str), readings["note"].map(str)
    used = readings["flag"].isin(USED_FLAGS)
    noted = note.map(names_wet_floor).astype(bool)
    told = words.str.contains(WET_WORDS) | ~words.str.contains(NOT_READ)
    told &= readings["flag"] == "not-numeric"
    told |= readings["reason"].astype(str).str.startswith(OFF_STEP)
    places = readings[["x", "y"]].to_numpy(dtype=float)
    if not used.any():
        return ()
    alone = cKDTree(places[used]).query(places)[0] > 0.05
    asked = readings[(told & alone) | noted]
    if asked.empty:
        return ()
    in_zone = shapely.intersects_xy(study.wet.zones.union_all(), *places.T)
    asked = readings[(told & alone) | (noted & ~in_zone)]
    near = NEIGHBOURS * spacing_of(np.unique(places[used], axis=0))
    linked = groups(asked[["x", "y"]].to_numpy(dtype=float), near)
    return tuple(_in_words(asked.iloc[one]) for one in linked)


def _in_words(rows: pd.DataFrame) -> HighPlace:
    """Return neighbouring places of which words tell, quoting the first."""
    first = rows.iloc[0]
    count = "1 place" if len(rows) == 1 else f"{len(rows)} places"
    why = f"on {count} of the scan no reading was written ({str(first['raw'])!r})"
    if str(first["reason"]).startswith(BETWEEN_STEPS):
        why = f"on {count} of the scan the display cannot show {str(first['raw'])!r}"
    if names_wet_floor(str(first["note"])):
        why = f"on {count} of the scan the note says {str(first['note'])!r}"
    return HighPlace(why, "there", places=_places(rows))


def _in_no_room(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return the highest reading above the level in no room: misplaced, or its room removed."""
    level, readings = clear_level(study), study.readings
    if level is None:
        return ()
    high = readings[(readings["flag"] == "off-plan") & (readings["value"] > level)]
    why = f"{len(high)} readings above the wet level lie in no room of the plan"
    if len(high) == 1:
        why = "1 reading above the wet level lies in no room of the plan"
    where = "where the highest of them lies once its place or the plan is put right"
    return _highest(high, HighPlace(why, where), may_saturate=False)


def _earlier(study: MappedVisit, standing: pd.DataFrame) -> tuple[HighPlace, ...]:
    """Highest reading of an earlier visit above the level that no later visit read again."""
    level, used = clear_level(study), study.readings[study.readings["flag"].isin(USED_FLAGS)]
    own = standing[standing["visit"] != study.visit.id]
    if own.empty or study.clean.instrument.id not in set(standing["instrument"]):
        return ()
    bar = far_above(study, used["value"].to_numpy(dtype=float))[1]
    own = own[own["value"] > min(bar, np.inf if level is None else level)]
    visits = ", ".join(dict.fromkeys(own["visit"].astype(str)))
    count = "1 reading" if len(own) == 1 else f"{len(own)} readings"
    why = f"{count} of visit {visits} above the wet level were not read again since"
    if level is None or bar < level:
        why = f"{count} of visit {visits} far above the floor were not read again since"
    return _highest(own, HighPlace(why, "at the highest of them"), may_saturate=False)


def _once_higher(survey: Survey, study: MappedVisit) -> tuple[HighPlace, ...]:
    """Places outside the zones where a reading was stored above the level and stands no more.

    Whoever lowers or takes away what was read says that the floor is dry there; a later visit, or a
    test, shows it.
    """
    former, level = survey.former_readings, clear_level(study)
    if former.empty:
        return ()
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)]
    value = used["value"].to_numpy(dtype=float)
    bar = np.inf if len(value) < LEAST_READINGS else far_above(study, value)[1]
    known = pd.concat([survey.readings.assign(former=False), former.assign(former=True)])
    standing = standing_readings(replace(survey, readings=known))
    own = standing[standing["former"] & (standing["instrument"] == study.clean.instrument.id)]
    own = own[own["value"] > min(bar, np.inf if level is None else level)]
    places = own[["x", "y"]].to_numpy(dtype=float)
    own = own[~shapely.intersects_xy(study.wet.zones.union_all(), *places.T)]
    near = NEIGHBOURS * spacing_of(np.unique(used[["x", "y"]].to_numpy(dtype=float), axis=0))
    found: tuple[HighPlace, ...] = ()
    for group in groups(own[["x", "y"]].to_numpy(dtype=float), near):
        count = "1 reading" if len(group) == 1 else f"{len(group)} readings"
        why = (
            f"{count} above the wet level stood here as first stored, lowered or taken away since,"
            " and no later visit read that floor again"
        )
        asked = HighPlace(why, "at the highest of them", within_m=BESIDE_M)
        found += _highest(own.iloc[group], asked, may_saturate=False)
    return found


def _unread(study: MappedVisit, standing: pd.DataFrame) -> tuple[HighPlace, ...]:
    """Large parts of rooms that were read in part, where no reading vouches for the floor."""
    read = pd.concat([study.readings[study.readings["flag"].isin(USED_FLAGS)], standing])
    read = read[read["instrument"] == study.clean.instrument.id].dropna(subset=["x", "y"])
    found = list(wet_rings(study, read))
    for one in unread_parts(study.survey.plan, read[["x", "y"]].to_numpy(dtype=float)):
        at = one.part.representative_point()
        found.append(
            HighPlace(
                one.words,
                "in that part",
                one.room.name,
                0.0,
                places=((at.x, at.y),),
                part=one.part,
            )
        )
    return tuple(found)


def _no_zone(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return what stands above the level though no zone was drawn: set aside, smoothed, unsure."""
    level, readings = study.wet.level.value, study.readings
    if level is None or readings.empty:
        return ()
    above = readings[readings["value"] > level]
    sweeps = above[above["flag"] == DOUBTED]
    why = "a sweep that contradicts the grid beside it reads above the wet level"
    doubted = _highest(sweeps, HighPlace(why, "at the highest reading of it"))
    hidden = above[above["flag"].isin(ANOMALY_KINDS) & (above["flag"] != "stray")]
    things = ", ".join(sorted({str(name) for name in hidden["anomaly"] if name}))
    count = "1 reading" if len(hidden) == 1 else f"{len(hidden)} readings"
    why = f"{count} above the wet level left the map as things ({things})"
    beside = HighPlace(why, "beside the highest of them", within_m=BESIDE_REACH_M)
    found = doubted + _highest(hidden, beside, may_saturate=False)
    used = readings[readings["flag"].isin(USED_FLAGS)]
    where = "at the highest reading of the scan"
    floor, unsure = study.survey.plan.outline.area, float(study.wet.unsure.area)
    if unsure > UNDECIDED_SHARE * floor:
        why = f"on {unsure:.1f} of {floor:.1f} m2 the map cannot tell whether the floor is wet"
        return found + _highest(used, HighPlace(why, where))
    single = used[used["value"] > (clear_level(study) or np.inf)]
    why = "a reading stands above the wet level, though no zone is drawn"
    return found + _highest(single, HighPlace(why, where), may_saturate=False)


def _narrow(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return the lines named from the grid alone that may as well be a band of wet floor.

    A test beside one tells nothing of such a band: it is drier a hand's breadth off.
    """
    level, table = study.wet.level.value, study.anomalies
    if level is None:
        return ()
    above = study.readings[study.readings["flag"].isin(ANOMALY_KINDS)]
    above = above[above["value"] > level]
    found: tuple[HighPlace, ...] = ()
    for row in table[~table["confirmed"].astype(bool)].itertuples():
        own = above[above["anomaly"] == row.anomaly]
        if len(own) >= NARROW_HIDES:
            line, count = str(row.anomaly), len(own)
            why = (
                f"{line} hides {count} readings above the wet level, and a wet band as"
                " narrow reads alike on this grid"
            )
            instead = (
                "sweep the scanner across it in two places, a reading every 0.1 m, or have it"
                " located and draw it on the plan as a known service"
            )
            found += _highest(own, HighPlace(why, "", str(row.room), instead=instead))
    return found


def _below_the_level(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return the things named from the grid alone that stand far above the floor, below the level.

    Water at the foot of a wall reads like a pipe along it, a leak like a spot on a pipe; what a
    sweep crosses or a service of the plan explains is no question, nor what hides readings above
    the level, of which more is asked.
    """
    level, table, plan = study.wet.level.value, study.anomalies, study.survey.plan
    used = study.readings[study.readings["flag"].isin((*USED_FLAGS, *ANOMALY_KINDS))]
    value = used["value"].to_numpy(dtype=float)
    if len(value) < LEAST_READINGS:
        return ()
    bar = far_above(study, value)[1]
    sweeps = read_sweeps(used[["x", "y"]].to_numpy(dtype=float))
    services = [one.geometry for one in plan.lines_of("known-service")]
    near = table.geometry.distance(unary_union(services)) <= ON_SERVICE_M
    asked_of = (table["kind"] == "line") | ((table["kind"] == "spot") & near)
    found: tuple[HighPlace, ...] = ()
    for row in table[asked_of & (table["standing"] == "thing")].itertuples():
        own = used[(used["anomaly"] == row.anomaly) & (used["value"] > bar)]
        hides = level is not None and (own["value"] > level).any()
        settled = any(one.intersects(row.geometry) for one in sweeps)
        if len(own) < NARROW_HIDES or hides or settled or _is_service(row, own, study):
            continue
        why = (
            f"{row.anomaly}, {len(own)} readings that stand far above the floor around them, is a"
            " thing by the grid alone"
        )
        if row.kind == "spot" or is_drawn(row.geometry, plan):
            why = (
                f"{row.anomaly}, {len(own)} readings that stand far above the floor around them,"
                " lies on a part of a service of the plan, and may be a leak"
            )
        where = "beside the highest of them, nor sweeps across it"
        asked = HighPlace(why, where, str(row.room), within_m=BESIDE_REACH_M)
        found += _highest(own, asked, may_saturate=False)
    return found


def _is_service(line: Any, high: pd.DataFrame, study: MappedVisit) -> bool:
    """Whether the plan shows a service along a line, and what is high lies along most of it.

    A pipe that rises on a part of its course may be a leak there.
    """
    plan = study.survey.plan
    if not is_drawn(line.geometry, plan):
        return False
    spread = 2.0 * float(shapely.minimum_bounding_radius(MultiPoint(_places(high))))
    courses = [one for one in plan.lines_of("known-service") if is_along(line.geometry, one)]
    room = plan.room(str(line.room)).polygon if line.room else plan.outline
    return any(spread >= MOST_OF * one.geometry.intersection(room).length for one in courses)


def _below_a_doubtful_level(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return the highest reading where no zone is drawn, and it may be the level's fault.

    A level too high, as a mistyped one is, hides wet floor; so do dry readings taken on wet floor.
    """
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)]
    if used.empty:
        return ()
    where, value = "at the highest reading of the scan", used["value"].astype(float)
    scan, scale = study.survey.scan, study.clean.instrument.scale
    recorded = () if scan.wet_level is not None else study.visit.dry_reference or scan.dry_reference
    reference = agreeing(recorded, scale).values
    middle = float(value.median())
    if reference and float(np.mean(reference)) > middle:
        why = "what was read as dry floor reads above half of the floor, so wet floor may be hidden"
        return _highest(used, HighPlace(why, where))
    return ()


def _highest(
    readings: pd.DataFrame, asked: HighPlace, *, may_saturate: bool = True
) -> tuple[HighPlace, ...]:
    """Return what is asked with value and places of the highest of some readings."""
    known = readings.dropna(subset=["x", "y", "value"])
    if known.empty:
        return ()
    top = known[known["value"] == known["value"].max()]
    full = "censored" in top and bool((top["censored"] == "above").any())
    places = _places(top)
    saturated = may_saturate and full and len(places) > 1
    return (replace(asked, value=float(top["value"].iloc[0]), places=places, saturated=saturated),)


def _places(rows: pd.DataFrame) -> tuple[tuple[float, float], ...]:
    return tuple(dict.fromkeys(zip(rows["x"].astype(float), rows["y"].astype(float), strict=True)))
