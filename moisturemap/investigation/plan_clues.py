"""Clues from the plan: where the wet zone lies, what it follows, and how far it reaches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import FloorPlan, PlanLine, Room, exterior_walls
from moisturemap.investigation.clue import Clue
from moisturemap.slab import USUAL_DIFFUSIVITY

TOUCH_M = 0.15
"""A zone this close to a wall or line touches it [m]; as in the hint of a zone."""

ALONG = 0.6
"""Share of a zone's longest extent a line must run inside it; as in the hint of a zone."""

OFF_WALL_M = 0.5
"""A zone whose possible rim stays this far from every exterior wall was not fed by one [m]; our
choice: a footprint of the meter and a cell of the map."""

NEAR_PEAK_M = 0.6
"""Water from a wall or a pipe is highest within this of it [m]; our choice."""

OFF_SERVICE_M = 1.0
"""A peak farther than this from every drawn service of a kind, in a zone none crosses, speaks
against that kind, and one farther from every exterior wall against the wall [m]; our choice. It
never excludes: not every pipe is drawn, and a map has its error."""

COMPACT = 0.25
BROAD = 0.6
"""Share of the room below which a zone is compact, above which it is broad (our choice)."""

REACH = 2.77
"""A step at a face shows 5% at 2.77 sqrt(D t): erfc(1.385) = 0.05."""

DRAIN_WORDS = ("drain", "waste", "sewer", "soil", "gully", "outlet", "foul", "abfluss", "abwasser")
POWER_WORDS = ("cable", "electric", "power", "data", "conduit", "lighting", "earth")
LIES_AT_ALL = "A zone that takes most of the room lies at everything in it."
DIFFUSION = "diffusion, erfc(1.385) = 0.05"


@dataclass(frozen=True)
class WetPlace:
    """The wet zone in question on its plan.

    Attributes
    ----------
    plan : FloorPlan
    room : Room
    zone : shapely geometry or None
        None where no wet zone is mapped.
    possible : shapely geometry or None
        Floor of it that is not surely dry.
    peak : (float, float)
        [m]
    name : str
        Of the zone.
    flagged : GeoDataFrame or None
        Anomalies with ``anomaly, kind, geometry``.
    mapped_m2 : float
        Area of the room that was mapped.
    """

    plan: FloorPlan
    room: Room
    zone: BaseGeometry | None
    possible: BaseGeometry | None
    peak: tuple[float, float]
    name: str = "A"
    flagged: gpd.GeoDataFrame | None = None
    mapped_m2: float = 0.0


def plan_clues(place: WetPlace, source_days: float | None) -> tuple[Clue, ...]:
    """Return what the plan shows.

    Parameters
    ----------
    place : WetPlace
    source_days : float or None
        Longest time a source can have acted; None when not known.
    """
    if place.zone is None:
        sentence = "No wet zone is mapped, so the plan tells nothing of a source."
        return (Clue("zone", "plan", "not-looked-at", sentence),)
    return tuple(_clues(place, place.zone, source_days))


def _clues(place: WetPlace, zone: BaseGeometry, days: float | None) -> Iterator[Clue]:
    broad = _share_of_room(place, zone) > BROAD
    for one in (_wall(place, zone), *_lines(place, zone), _doors(place, zone)):
        yield _too_broad(one) if broad and one.speaks_for else one
    yield _extent(place, zone)
    yield _reach(zone, days)


def _share_of_room(place: WetPlace, zone: BaseGeometry) -> float:
    whole = place.mapped_m2 or place.room.polygon.area
    return float(zone.intersection(place.room.polygon).area / whole)


def _too_broad(clue: Clue) -> Clue:
    """Silence what a zone follows only because it takes most of the room."""
    return replace(
        clue,
        state="could-not-show",
        sentence=f"{clue.sentence} {LIES_AT_ALL}",
        threshold=f"{BROAD:.0%} of the room",
        source="a leak is a point or a line on its service: common practice",
        speaks_for=(),
        speaks_against=(),
    )


def _wall(place: WetPlace, zone: BaseGeometry) -> Clue:
    walls, assumed = exterior_walls(place.plan)
    name = "the outer edge of the plan" if assumed else "an exterior wall"
    widest = zone if place.possible is None else zone.union(place.possible)
    away, peak = float(widest.distance(walls)), float(walls.distance(Point(place.peak)))
    threshold = f"{OFF_WALL_M:g} m"
    near = _near(place.name, away, name, peak)
    if away > OFF_WALL_M:
        return Clue(
            "wall-distance",
            "plan",
            "not-seen",
            f"Zone {place.name} with its possible rim stays {away:.1f} m from {name}.",
            away,
            threshold,
            "water from a wall falls off from it: BS 8102, BRE Digest 245 (from memory)",
            excludes=("wall",),
        )
    if away <= TOUCH_M and peak <= NEAR_PEAK_M:
        return Clue(
            "wall-distance",
            "plan",
            "seen",
            f"Zone {place.name} lies along {name}, its peak {peak:.1f} m from it.",
            peak,
            f"{NEAR_PEAK_M:g} m",
            "edge band falling inward: BS 8102; cold edges: BS 5250 (from memory)",
            speaks_for=("wall", "condensation"),
            speaks_against=("construction-water",),
        )
    if peak > OFF_SERVICE_M and not assumed:
        return Clue(
            "wall-distance",
            "plan",
            "not-seen",
            f"{near} Water from a wall falls off from the wall.",
            peak,
            f"{OFF_SERVICE_M:g} m",
            "edge band falling inward: BS 8102, BRE Digest 245 (from memory)",
            speaks_against=("wall",),
        )
    return Clue(
        "wall-distance",
        "plan",
        "could-not-show",
        near,
        away,
        threshold,
    )


def _near(zone: str, away: float, wall: str, peak: float) -> str:
    """Say how near a zone and its peak come; no distance is told as nought."""
    if away < 0.05:
        return f"Zone {zone} with its possible rim reaches {wall}, its peak lies {peak:.1f} m off."
    return (
        f"Zone {zone} with its possible rim comes within {away:.1f} m of {wall}, its peak lies"
        f" {peak:.1f} m off."
    )


def _extent(place: WetPlace, zone: BaseGeometry) -> Clue:
    share = _share_of_room(place, zone)
    shown = f"Zone {place.name} takes {share:.0%} of {place.room.name}."
    if share < COMPACT:
        return Clue(
            "extent",
            "plan",
            "seen",
            f"{shown} The rest reads lower.",
            share,
            f"below {COMPACT:.0%}",
            "construction water follows a pour: common practice",
            speaks_against=("construction-water",),
        )
    if share > BROAD:
        return Clue(
            "extent",
            "plan",
            "seen",
            shown,
            share,
            f"above {BROAD:.0%}",
            "common practice",
            speaks_for=("construction-water", "ground", "insulation", "adhesive"),
            speaks_against=("wall", "drain"),
        )
    return Clue(
        "extent",
        "plan",
        "could-not-show",
        shown,
        share,
        f"below {COMPACT:.0%} or above {BROAD:.0%}",
    )


def _lines(place: WetPlace, zone: BaseGeometry) -> Iterator[Clue]:
    known = [line for line in place.plan.lines_of("known-service") if line.recognised]
    joints = place.plan.lines_of("movement-joint", "day-joint")
    for cause in ("pressure-pipe", "drain"):
        yield _service(place, zone, cause, [line for line in known if carries(line.name) == cause])
    for line in joints:
        if _follows(zone, line.geometry):
            yield Clue(
                "joint",
                "plan",
                "seen",
                f"Zone {place.name} follows the joint {line.name}.".replace(" .", "."),
                speaks_for=("surface-water", "ground"),
                source="common practice",
            )
    yield from _flagged(place, zone)


def carries(name: str) -> str:
    """Return which leak a service could be: ``drain``, ``pressure-pipe``, or "" for cables."""
    word = name.casefold()
    if any(one in word for one in POWER_WORDS):
        return ""
    return "drain" if any(one in word for one in DRAIN_WORDS) else "pressure-pipe"


def _service(place: WetPlace, zone: BaseGeometry, cause: str, lines: Sequence[PlanLine]) -> Clue:
    key, kind = f"service: {cause}", "drain" if cause == "drain" else "pressure or heating pipe"
    if not lines:
        sentence = f"No {kind} is drawn; not every pipe is."
        return Clue(key, "plan", "not-looked-at", sentence)
    near = min(lines, key=lambda line: float(line.geometry.distance(Point(place.peak))))
    away = float(near.geometry.distance(Point(place.peak)))
    name = near.name or "without a name"
    threshold = f"peak within {NEAR_PEAK_M:g} m, or beyond {OFF_SERVICE_M:g} m"
    source = "common practice of leak location"
    if away <= NEAR_PEAK_M or any(_follows(zone, line.geometry) for line in lines):
        sentence = f"Zone {place.name} lies on the drawn {kind} {name}."
        return Clue(key, "plan", "seen", sentence, away, threshold, source, speaks_for=(cause,))
    sentence = f"The peak lies {away:.1f} m from the nearest drawn {kind}, {name}."
    if away > OFF_SERVICE_M and not any(line.geometry.intersects(zone) for line in lines):
        return Clue(
            key, "plan", "not-seen", sentence, away, threshold, source, speaks_against=(cause,)
        )
    return Clue(key, "plan", "could-not-show", sentence, away, threshold, source)


def _flagged(place: WetPlace, zone: BaseGeometry) -> Iterator[Clue]:
    if place.flagged is None or place.flagged.empty:
        return
    for row in place.flagged.itertuples():
        if row.kind in ("line", "mesh") and _follows(zone, row.geometry):
            yield Clue(
                "flagged",
                "plan",
                "seen",
                f"Zone {place.name} follows the flagged {row.kind} {row.anomaly}.",
                source="anomalies, family-wise 5%",
                speaks_for=("not-water", "pressure-pipe"),
            )


def _doors(place: WetPlace, zone: BaseGeometry) -> Clue:
    doors = [line for line in place.plan.lines if line.kind == "door"]
    if not doors:
        return Clue("door", "plan", "not-looked-at", "No door is drawn.")
    away = min(float(line.geometry.distance(zone)) for line in doors)
    seen = away <= TOUCH_M
    return Clue(
        "door",
        "plan",
        "seen" if seen else "could-not-show",
        f"Zone {place.name} lies {away:.1f} m from the nearest door.",
        away,
        f"{TOUCH_M:g} m",
        "rain and traffic at thresholds: common practice",
        speaks_for=("surface-water",) if seen else (),
    )


def _reach(zone: BaseGeometry, days: float | None) -> Clue:
    if days is None:
        sentence = "When a source began is not known, so what diffusion could reach is not either."
        return Clue("diffusion-reach", "plan", "not-looked-at", sentence)
    radius = float(np.sqrt(zone.area / np.pi))
    # a factor of two on D, which is no better known
    far = diffusion_reach(days, 2.0 * USUAL_DIFFUSIVITY)
    seen = radius > far
    return Clue(
        "diffusion-reach",
        "plan",
        "seen" if seen else "could-not-show",
        f"The zone's radius of {radius:.2f} m is {'more' if seen else 'not more'} than the"
        f" {far:.2f} m that diffusion from a point could reach in {days:.0f} days"
        f"{': a joint, an interface, insulation or the ground carried it' if seen else ''}.",
        radius,
        f"{far:.2f} m",
        DIFFUSION,
    )


def diffusion_reach(days: float, diffusivity_mm2_day: float = USUAL_DIFFUSIVITY) -> float:
    """Distance a step of humidity shows 5% at after some days [m].

    Parameters
    ----------
    days : float
        Days after covering [d].
    diffusivity_mm2_day : float
    """
    return float(REACH * np.sqrt(diffusivity_mm2_day * days) / 1000.0)


def _follows(zone: BaseGeometry, line: BaseGeometry) -> bool:
    ring = np.asarray(getattr(zone.minimum_rotated_rectangle, "exterior", zone).coords, dtype=float)
    extent = float(np.hypot(*np.diff(ring[:, :2], axis=0).T).max())
    return float(line.intersection(zone.buffer(TOUCH_M)).length) >= ALONG * extent
