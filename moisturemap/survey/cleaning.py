"""The readings of a visit made ready for mapping; what is unfit is set aside with a reason."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from moisturemap.errors import NotEnoughData, SurveyError
from moisturemap.floorplan import Domain, FloorPlan
from moisturemap.floorplan import domains as domains_of
from moisturemap.survey.clean import USED_FLAGS, CleanReadings
from moisturemap.survey.disagreement import contradicted
from moisturemap.survey.duplicate import duplicate_rows
from moisturemap.survey.instrument import Instrument
from moisturemap.survey.location import place_index, pool_locations, repeat_noise, scale_step
from moisturemap.survey.survey import Survey

SNAP_M = 0.05
"""A reading this close outside a room belongs to it and is moved onto its edge: plans and tapes
agree no better [m]."""

INSIDE_M = 0.001
"""A moved reading comes to lie this far inside the edge [m]."""

Sentence = Callable[[int], str]

SCANNING_KINDS = ("relative", "pin")
"""Kinds of instrument whose values are relative readings."""


def clean_readings(
    survey: Survey,
    visit: str | None = None,
    instrument: str | None = None,
    domains: Sequence[Domain] | None = None,
) -> CleanReadings:
    """Set unfit readings aside, assign rooms and domains and pool repeats.

    Parameters
    ----------
    survey : Survey
    visit : str, optional
        Id; the latest visit when left out.
    instrument : str, optional
        Id; the instrument with most readings when left out. Readings of others are set aside:
        two scales never merge.
    domains : sequence of Domain, optional
        Domains of the plan when they are at hand already.

    Returns
    -------
    CleanReadings
        As many readings as the visit has. ``x`` and ``y`` of a reading up to ``SNAP_M`` outside a
        room are moved onto its edge; ``survey.readings`` keeps them as read.

    Raises
    ------
    SurveyError
        If there is no such visit or instrument.
    NotEnoughData
        If the visit has no reading.
    """
    chosen = survey.scanned_visit(visit)
    rows = survey.readings_of(chosen.id)
    if rows.empty:
        message = f"visit {chosen.id} has no readings"
        raise NotEnoughData(message)
    meter, notes = _choose_instrument(survey, rows, instrument)
    parts = tuple(domains) if domains is not None else domains_of(survey.plan)
    placed, place_notes = _place(rows, survey.plan, parts)
    judged, scale_notes = _judge(placed, meter)
    used = judged["flag"].isin(USED_FLAGS).to_numpy()
    plain = judged.loc[used & (judged["censored"] == ""), "value"].to_numpy(dtype=float)
    step = meter.step if meter.step is not None else scale_step(plain)
    fit = _located(judged, used, step)
    repeat_sd, pairs = repeat_noise(fit)
    readings = gpd.GeoDataFrame(judged, geometry=shapely.points(judged["x"], judged["y"]))
    return CleanReadings(
        chosen,
        meter,
        readings,
        pool_locations(fit),
        repeat_sd,
        pairs,
        step,
        (*notes, *place_notes, *scale_notes),
    )


def _located(judged: pd.DataFrame, used: NDArray[np.bool_], step: float) -> pd.DataFrame:
    """Give ``judged`` the numbers of the places read and return what is used."""
    judged["location"] = -1
    judged.loc[used, "location"] = place_index(
        judged["x"].to_numpy()[used], judged["y"].to_numpy()[used]
    )
    fit = judged[used]
    low = fit.index[contradicted(fit, step)]
    if not len(low):
        return fit
    highest = fit.groupby("location")["value"].transform("max")
    for row in low:
        judged.at[row, "flag"] = "repeat-differs"
        judged.at[row, "reason"] = f"{highest[row]:g} was read at the same place"
    judged.loc[low, "location"] = -1
    return judged[judged["location"] >= 0]


def _choose_instrument(
    survey: Survey, rows: pd.DataFrame, wanted: str | None
) -> tuple[Instrument, tuple[str, ...]]:
    counts = rows["instrument"].value_counts()
    scanning = [name for name in counts.index if _kind(survey, str(name)) in SCANNING_KINDS]
    if wanted is not None and wanted not in counts.index:
        raise SurveyError(
            "the visit has no reading with this instrument",
            value=wanted,
            allowed=", ".join(map(str, sorted(counts.index))),
        )
    name = wanted or str((scanning or list(counts.index))[0])
    meter = survey.instruments.get(name, Instrument(name))
    others = {str(other): int(count) for other, count in counts.items() if other != name}
    if not others:
        return meter, ()
    listed = ", ".join(f"{count} of {other}" for other, count in sorted(others.items()))
    return meter, (
        f"Readings of different instruments are never merged: {name} is used "
        f"({int(counts[name])} readings); set aside were {listed}.",
    )


def _kind(survey: Survey, name: str) -> str:
    return survey.instruments[name].kind if name in survey.instruments else "relative"


def _place(
    rows: pd.DataFrame, plan: FloorPlan, parts: Sequence[Domain]
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Assign room and domain, move what lies just outside, and measure how far off the rest is."""
    x, y = rows["x"].to_numpy(dtype=float).copy(), rows["y"].to_numpy(dtype=float).copy()
    polygons = [room.polygon for room in plan.rooms]
    room = _index_of(polygons, x, y)
    outside = np.flatnonzero(room < 0)
    distance = np.zeros(x.size)
    doorway = np.zeros(x.size, dtype=bool)
    if outside.size:
        points = shapely.points(x[outside], y[outside])
        nearest = np.array([shapely.distance(polygon, points) for polygon in polygons])
        distance[outside] = nearest.min(axis=0)
        near = outside[distance[outside] <= SNAP_M]
        room[near] = nearest.argmin(axis=0)[distance[outside] <= SNAP_M]
        x[near], y[near] = _onto_edge(polygons, room[near], x[near], y[near])
        walls = np.flatnonzero(room < 0)
        inner = walls[_index_of([part.geometry for part in parts], x[walls], y[walls]) >= 0]
        room[inner] = nearest.argmin(axis=0)[np.searchsorted(outside, inner)]
        doorway[inner] = True
    domain = _index_of([part.geometry for part in parts], x, y)
    domain = _nearest_domain(parts, domain, room, x, y)
    keys = np.array([part.key for part in parts] + [""], dtype=object)
    names = np.array([one.name for one in plan.rooms] + [""], dtype=object)
    placed = rows.assign(x=x, y=y, domain=keys[domain])
    placed["_off"] = np.where(room < 0, distance, 0.0)
    stated = rows["room"].astype(object).to_numpy()
    placed["room"] = names[room]
    return placed, _place_notes(stated, names[room], distance, room, doorway)


def _index_of(
    geometries: Sequence[shapely.Geometry], x: NDArray[np.float64], y: NDArray[np.float64]
) -> NDArray[np.intp]:
    """Return the index of the first geometry that covers each place, -1 where none does."""
    index = np.full(x.size, -1, dtype=np.intp)
    for k, geometry in enumerate(geometries):
        open_places = np.flatnonzero(index < 0)
        if not open_places.size:
            break
        shapely.prepare(geometry)
        covered = shapely.intersects_xy(geometry, x[open_places], y[open_places])
        index[open_places[covered]] = k
    return index


def _onto_edge(
    polygons: Sequence[shapely.Polygon],
    room: NDArray[np.intp],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    moved_x, moved_y = x.copy(), y.copy()
    for k in np.unique(room):
        here = room == k
        inner = polygons[k].buffer(-INSIDE_M)
        goal = inner if not inner.is_empty else polygons[k]
        lines = shapely.shortest_line(goal, shapely.points(x[here], y[here]))
        ends = shapely.get_coordinates(shapely.get_point(lines, 0))
        moved_x[here], moved_y[here] = ends[:, 0], ends[:, 1]
    return moved_x, moved_y


def _nearest_domain(
    parts: Sequence[Domain],
    domain: NDArray[np.intp],
    room: NDArray[np.intp],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
) -> NDArray[np.intp]:
    """Places in a room but on a joint between domains go to the nearest domain."""
    lost = np.flatnonzero((room >= 0) & (domain < 0))
    if lost.size and parts:
        points = shapely.points(x[lost], y[lost])
        nearest = np.array([shapely.distance(part.geometry, points) for part in parts])
        domain[lost] = nearest.argmin(axis=0)
    domain[room < 0] = -1
    return domain


def _place_notes(
    stated: NDArray[np.object_],
    found: NDArray[np.object_],
    distance: NDArray[np.float64],
    room: NDArray[np.intp],
    doorway: NDArray[np.bool_],
) -> tuple[str, ...]:
    notes = []
    snapped = int(np.sum((distance > 0) & (room >= 0) & ~doorway))
    if snapped:
        notes.append(
            f"{_readings(snapped)} up to {SNAP_M * 100:g} cm outside a room moved onto its edge."
        )
    if doorway.any():
        notes.append(
            f"{_readings(int(doorway.sum()))} between two rooms of one slab taken as "
            "read in a doorway."
        )
    both = np.flatnonzero((stated != "") & (found != ""))
    differs = both[_folded(stated[both]) != _folded(found[both])]
    if differs.size:
        k = differs[0]
        notes.append(
            f"{_readings(differs.size)} stated for another room than the plan shows "
            f"at the place: the first says {stated[k]!r} and lies in {found[k]!r}; the "
            "plan was followed."
        )
    return tuple(notes)


def _folded(names: NDArray[np.object_]) -> NDArray[np.object_]:
    return np.array([str(name).strip().casefold() for name in names], dtype=object)


def _readings(count: int) -> str:
    return "1 reading" if count == 1 else f"{count} readings"


ABOVE_SCALE = "above the end of the scale"
"""How the reason of a reading begins that no meter of this scale shows; it counts as full scale."""


BELOW_A_STEP = "less than one step of the display"
"""How the reason of a reading begins that is a share of 1 where the meter shows whole numbers."""


BETWEEN_STEPS = "between two steps of the display"
"""How the reason of a reading begins whose decimal point slipped, as 7.4 for 74."""

OFF_STEP = (BELOW_A_STEP, BETWEEN_STEPS)
"""How the reasons of readings begin that a display in whole steps cannot show."""

MOST_BETWEEN = 0.1
"""More readings between two steps are means of several, and none of a slip [share]; project
choice."""


def _judge(placed: pd.DataFrame, meter: Instrument) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Give each reading its flag and reason; the first fault in the order below names it."""
    mine = (placed["instrument"] == meter.id).to_numpy()
    off = placed.pop("_off").to_numpy()
    value = placed["value"].to_numpy(dtype=float).copy()
    censored = placed["censored"].astype(object).to_numpy().copy()
    low, high, notes = _scale_ends(value[mine & (off == 0)], censored[mine & (off == 0)], meter)
    value[np.isnan(value) & (censored == "above")] = high
    value[np.isnan(value) & (censored == "below")] = low
    flag = np.full(value.size, "clear", dtype=object)
    reason = np.full(value.size, "", dtype=object)
    stated = meter.scale is not None
    censored[mine & stated & (censored == "") & (value == high)] = "above"
    censored[mine & stated & (censored == "") & (value == low)] = "below"

    def set_aside(where: NDArray[np.bool_], name: str, sentence: str | Sentence) -> None:
        fresh = np.flatnonzero(where & (flag == "clear"))
        flag[fresh] = name
        reason[fresh] = sentence if isinstance(sentence, str) else [*map(sentence, fresh.tolist())]

    set_aside(~mine, "other-instrument", f"read with another instrument than {meter.id}")
    raw = placed["raw"].astype(object).to_numpy()
    set_aside(
        np.isnan(value),
        "not-numeric",
        lambda k: f"{raw[k]!r} is not a reading" if raw[k] else "no value was written",
    )
    set_aside(off > 0, "off-plan", lambda k: f"lies {off[k]:.2f} m outside every room")
    below = stated & (value < low)
    set_aside(below, "out-of-scale", f"outside the scale of {meter.id}, {low:g} to {high:g}")
    # a display in whole steps shows no 0.7: a spreadsheet made it of 70 %, as like as not
    share = mine & (value > 0) & (value < 1) & ((meter.step or 0) >= 1)
    set_aside(share, "out-of-scale", f"{BELOW_A_STEP} of {meter.id}")
    slipped = mine & (censored == "") & _slipped(value, mine, meter)
    set_aside(slipped, "out-of-scale", f"{BETWEEN_STEPS} of {meter.id}")
    # to lose a wet reading is worse than to show a slip of the pen: it counts as full scale
    above = mine & stated & (value > high)
    value[above], censored[above] = high, "above"
    copies = np.zeros(value.size, dtype=bool)
    open_rows = flag == "clear"
    copies[open_rows] = duplicate_rows(placed[open_rows].assign(value=value[open_rows]))
    set_aside(copies, "duplicate", "the same place and value stand in an earlier row")
    set_aside(above, "full-scale", f"{ABOVE_SCALE} of {meter.id}, {low:g} to {high:g}")
    set_aside(censored == "above", "full-scale", "full scale: at or above this value")
    set_aside(censored == "below", "below-scale", "start of the scale: at or below this value")
    return placed.assign(value=value, censored=censored, flag=flag, reason=reason), notes


def _slipped(
    value: NDArray[np.float64], mine: NDArray[np.bool_], meter: Instrument
) -> NDArray[np.bool_]:
    """Return which of a few values lie between the steps, and ten times as much on the scale."""
    step = meter.step or 0.0
    if step < 1.0 or meter.scale is None:
        return np.zeros(value.size, dtype=bool)

    def between(of: NDArray[np.float64]) -> NDArray[np.bool_]:
        return mine & np.isfinite(of) & (np.abs(of / step - np.round(of / step)) > 1e-6)

    odd = between(value)
    slipped = (value > 0) & ~between(10.0 * value) & (10.0 * value <= meter.scale[1])
    return odd & slipped if odd.sum() <= MOST_BETWEEN * mine.sum() else np.zeros_like(odd)


def _scale_ends(
    value: NDArray[np.float64], censored: NDArray[np.object_], meter: Instrument
) -> tuple[float, float, tuple[str, ...]]:
    """Return the ends of the scale; from the readings where the survey does not state them."""
    if meter.scale is not None:
        return (*meter.scale, ())
    known = value[np.isfinite(value)]
    if not known.size:
        return np.nan, np.nan, ()
    if not ((censored != "") & np.isnan(value)).any():
        return float(known.min()), float(known.max()), ()
    note = (
        f"The scale of {meter.id} is not stated: full scale was taken as at or above "
        f"{known.max():g}, the highest value read."
    )
    return float(known.min()), float(known.max()), (note,)
