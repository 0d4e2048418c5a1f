"""Readings that stand far above the floor around them, whatever the map makes of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from moisturemap.geostat import spacing_of
from moisturemap.survey import CONTESTED, USED_FLAGS, CleanReadings, Survey, Visit, agreeing
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.mapped_visit import MappedVisit
from moisturemap.zones.other_meter import QUARTER_TO_TWENTIETH
from moisturemap.zones.wettest_part import TOP_SHARE

LEAST_READINGS = 10
"""A scan of fewer readings shows no wet zones that a verdict could rest on; project choice."""

UNDECIDED_SHARE = 0.5
"""A map that cannot tell on more than this share of the floor shows no wet zone; project choice."""

CLEARLY_ABOVE = 3.0
"""A reading this many sd of a reading above the wet level is no noise; project choice."""

STANDS_OUT = 6.0
"""A reading this many scatters (median absolute deviation, or noise) above the middle of the floor
is looked at whatever the wet level says; project choice."""

DRIEST_SHARE = 0.25
"""The lower part of the readings that stands for the driest floor; project choice."""

NEIGHBOURS = 1.5
"""Readings within so many spacings are neighbours, on a grid also across a corner."""

RIM_PLACES = 3
"""So few places beside a higher reading are its rim; project choice."""

BESIDE_M, BESIDE_SPACINGS = 0.5, 0.75
"""A test this near to a reading stands at it [m, spacings]; project choice."""

TOGETHER = 2.0
"""So many standard errors above the wet level the readings of a zone are, to be wet by themselves;
project choice."""

UNKNOWN_NOISE = 0.03
"""sd of a reading where no repeats tell it [share of the wet level]; project choice."""


def clear_level(study: MappedVisit) -> float | None:
    """Return the reading from which one stands above the wet level beyond its noise."""
    level = study.wet.level.value
    return None if level is None else clear_of(level, study.clean)


def clear_of(level: float, clean: CleanReadings) -> float:
    """Return the reading from which one stands above a wet level beyond its noise."""
    return level + CLEARLY_ABOVE * (clean.repeat_sd or UNKNOWN_NOISE * abs(level))


def standing_out(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return readings far above the floor, group by group, whatever the map makes of them.

    One wrong value can take wet floor off a map, or join all floor to one zone; what was read stays
    where it was read. Groups are of neighbours half as far above the floor, contested ones apart.
    """
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)].dropna(subset=["x", "y"])
    places, value = used[["x", "y"]].to_numpy(dtype=float), used["value"].to_numpy(dtype=float)
    if len(value) < LEAST_READINGS:
        return ()
    middle, bar = far_above(study, value)
    spacing = spacing_of(np.unique(places, axis=0))
    within = max(BESIDE_M, BESIDE_SPACINGS * spacing)
    why = "readings stand far above the floor around them"
    asked = HighPlace(why, "at the highest of them", within_m=within)
    contested = (used["flag"] == CONTESTED).to_numpy()
    clean = replace(asked, where="at the highest of them that is not contested")
    near, candidates = NEIGHBOURS * spacing, []
    for kind in (contested, ~contested):
        some = np.flatnonzero(kind & (value > 0.5 * (middle + bar)))
        for mine in groups(places[some], near):
            candidates += _peaks(some[mine], places, value, middle, near)
    candidates.sort(key=lambda group: -float(value[group].max()))
    found: list[HighPlace] = []
    asked_at = np.zeros(len(value), dtype=bool)
    for group in candidates:
        top = float(value[group].max())
        if top <= bar or _is_rim(places[group], places[asked_at & (value > top)], near):
            continue
        asked_at[group] = True
        high = group[value[group] >= middle + TOP_SHARE * (top - middle)]
        order = high[np.argsort(-value[high], kind="stable")]
        where = tuple((float(x), float(y)) for x, y in places[order])
        higher = not contested[group[0]] and bool((contested & (value > top)).any())
        found.append(replace(clean if higher else asked, value=top, places=where))
    return tuple(found)


def _peaks(
    group: NDArray[np.intp],
    places: NDArray[np.float64],
    value: NDArray[np.float64],
    middle: float,
    near: float,
) -> list[NDArray[np.intp]]:
    """Split a group where what joins its peaks reads less than half as far above the floor."""
    high = group[value[group] >= 0.5 * (middle + float(value[group].max()))]
    return [high[part] for part in groups(places[high], near)]


def _is_rim(group: NDArray[np.float64], higher: NDArray[np.float64], near: float) -> bool:
    """Whether few places lie at the foot of higher ones, for which a test is asked already."""
    few = len(np.unique(group, axis=0)) <= RIM_PLACES
    return few and len(higher) > 0 and float(np.min(cKDTree(higher).query(group)[0])) <= near


def read_wet(study: MappedVisit) -> frozenset[str]:
    """Return the zones whose readings stand above the wet level beyond their noise, taken together.

    The map is unsure of a small zone where the rest of the floor varies much; what was read in it
    stays as it is.
    """
    level, used = study.wet.level.value, study.readings
    used = used[used["flag"].isin(USED_FLAGS)].dropna(subset=["x", "y", "value"])
    if level is None or used.empty:
        return frozenset()
    noise = study.clean.repeat_sd or UNKNOWN_NOISE * abs(level)
    places, found = used[["x", "y"]].to_numpy(dtype=float), set()
    for zone in study.wet.zones.itertuples():
        above = used["value"].to_numpy(dtype=float)[shapely.intersects_xy(zone.geometry, *places.T)]
        if above.size and (above - level).sum() > TOGETHER * noise * np.sqrt(above.size):
            found.add(str(zone.zone))
    return frozenset(found)


def lone_high(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return clean readings above the level that left the map because they stand alone.

    A leak at a fitting shows as one reading of a grid; one marked as doubtful is asked a test, too.
    """
    level, table = study.wet.level.value, study.anomalies
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)]
    value = used["value"].to_numpy(dtype=float)
    bar = np.inf if len(value) < LEAST_READINGS else far_above(study, value)[1]
    bar = min(bar, np.inf if level is None else level)
    zones, found = study.wet.zones.union_all(), []
    for row in table[table["kind"] == "stray"].itertuples():
        own = study.readings[study.readings["anomaly"] == row.anomaly]
        own = own[own["value"] > bar].dropna(subset=["x", "y"])
        if own.empty or zones.intersects(row.geometry):
            continue
        top = own.loc[own["value"].idxmax()]
        why = f"{row.anomaly}, one reading far above its neighbours, may be a small wet place"
        where = "within 0.5 m of it, and no later visit read it again"
        at = ((float(top["x"]), float(top["y"])),)
        found.append(HighPlace(why, where, str(row.room), BESIDE_M, float(top["value"]), at))
    return tuple(found)


def uneven(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return the highest readings of a floor that differs by far more than neighbours do.

    Where no zone is drawn, a level too high or none may be why: the highest part asks for a test.
    """
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)].dropna(subset=["x", "y"])
    if len(used) < LEAST_READINGS:
        return ()
    placed = used.groupby(["x", "y"], as_index=False)["value"].mean()
    places, value = placed[["x", "y"]].to_numpy(dtype=float), placed["value"].to_numpy(dtype=float)
    if len(value) < LEAST_READINGS:
        return ()
    beside = np.asarray(cKDTree(places).query(places, k=2)[1])[:, 1]
    noise = 1.4826 * float(np.median(np.abs(value - value[beside]))) / np.sqrt(2.0)
    noise = max(noise, study.clean.repeat_sd or 0.0, study.clean.step)
    driest = float(np.median(value[value <= np.quantile(value, DRIEST_SHARE)]))
    top = float(value.max())
    if top <= driest + STANDS_OUT * noise:
        return ()
    order = np.argsort(-value, kind="stable")
    high = order[value[order] >= 0.5 * (driest + top)]
    why = "readings differ by far more than neighbours do, and no zone is drawn"
    within = max(BESIDE_M, BESIDE_SPACINGS * spacing_of(places))
    where = tuple((float(x), float(y)) for x, y in places[high])
    return (HighPlace(why, "at the highest of them", "", within, top, where),)


def groups(places: NDArray[np.float64], near: float) -> list[NDArray[np.intp]]:
    """Return the members of each group of places that are linked by steps no longer than near."""
    if not len(places):
        return []
    pairs = cKDTree(places).query_pairs(near, output_type="ndarray")
    linked = coo_array((np.ones(len(pairs)), pairs.T), shape=(len(places), len(places)))
    count, group = connected_components(linked, directed=False)
    return [np.flatnonzero(group == one) for one in range(count)]


def far_above(study: MappedVisit, value: NDArray[np.float64]) -> tuple[float, float]:
    """Return what usual floor reads, and the reading from which one stands far above it.

    Where the map cannot tell of half the floor, what is clearly above the wet level stands far
    above.
    """
    usual, bar = usual_and_far(study.survey, study.visit, study.clean, value)
    clear = clear_level(study)
    half = UNDECIDED_SHARE * study.survey.plan.outline.area
    if clear is None or float(study.wet.unsure.area) <= half:
        return usual, bar
    return usual, max(min(bar, clear), usual)


def usual_and_far(
    survey: Survey, visit: Visit, clean: CleanReadings, value: NDArray[np.float64]
) -> tuple[float, float]:
    """Return what usual floor reads, and what stands far above it, whatever the map says.

    Usual is the middle of the readings, or what was read as dry floor where that is lower: a floor
    that rises as a whole takes its middle along.
    """
    middle = float(np.median(value))
    low, quarter = np.quantile(value, (0.05, DRIEST_SHARE))
    whole = 1.4826 * float(np.median(np.abs(value - middle)))
    # wet readings widen the scatter of the whole floor, not that of its driest quarter
    scatter = min(whole, float(quarter - low) / QUARTER_TO_TWENTIETH)
    recorded = visit.dry_reference or survey.scan.dry_reference
    dry = agreeing(recorded, clean.instrument.scale).values
    usual = min([middle, float(np.mean(dry))]) if dry else middle
    noise = clean.repeat_sd or UNKNOWN_NOISE * abs(usual)
    return usual, usual + STANDS_OUT * max(scatter, noise)
