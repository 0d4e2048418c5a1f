"""Relating a scan to the calibrated tests made on the same visit."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.calibration.curve import PAIR_COLUMNS, CalibrationCurve
from moisturemap.calibration.rank import rank_correlation
from moisturemap.checked import checked
from moisturemap.floorplan import Room
from moisturemap.quantities import QUANTITIES, RELATIVE, Quantity
from moisturemap.survey import TEST_METHODS, USED_FLAGS, Survey, Visit

Array = NDArray[np.float64]

SIGNIFICANT = 0.05
LEAST_PAIRS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class RelateOptions:
    """Choices in relating scan and tests.

    Attributes
    ----------
    radius_m : float
        Readings this near a hole are averaged [m].
    readings : int
        Readings wanted at a hole; lacking these, the nearest within `reach_m` are taken too.
    reach_m : float
        Farthest reading taken [m].
    reading_sd : float or None
        sd of one reading, from repeats; None when not known.
    """

    radius_m: float = 0.30
    readings: int = 4
    reach_m: float = 0.75
    reading_sd: float | None = None


def relate(
    survey: Survey,
    visit: Visit,
    readings: gpd.GeoDataFrame,
    *,
    options: RelateOptions | None = None,
) -> tuple[CalibrationCurve, ...]:
    """Relate scan and tests of a visit, one curve for each slab and test method.

    Parameters
    ----------
    survey : Survey
        Its tests are taken as they are: leave out those that are not valid before.
    visit : Visit
        Scan and tests must be of one visit: what a shallow scan sees of the depth changes while a
        slab dries.
    readings : geopandas.GeoDataFrame
        Readings of the visit with ``flag``, as in a study or in clean readings; those not in
        ``USED_FLAGS`` are left out.
    options : RelateOptions, optional

    Notes
    -----
    Values are shown only where the relation is earned: at least 4 pairs, slope above 0, exact
    one-sided rank p at most 0.05, holes on both halves of the scan, and scan values within those at
    the holes. Showing it only then is a choice by the data, for which the interval is widened
    (``selection_factor``).
    """
    options = options or RelateOptions()
    used = readings[readings["flag"].isin(USED_FLAGS)]
    tests = survey.tests[survey.tests["visit"] == visit.id]
    groups: dict[tuple[str, str], list[dict[str, object]]] = {}
    rooms: dict[str, list[str]] = {}
    for room in survey.plan.rooms:
        rooms.setdefault(_slab_words(room), []).append(room.name)
    for row in tests.to_dict("records"):
        pair = _pair({str(name): value for name, value in row.items()}, survey, used, options)
        if pair is not None:
            room, quantity, values = pair
            groups.setdefault((_slab_words(room), quantity.key), []).append(values)
    return tuple(
        _curve(Ground(slab, tuple(rooms[slab]), used, visit), QUANTITIES[key], pairs, options)
        for (slab, key), pairs in groups.items()
    )


def _slab_words(room: Room) -> str:
    slab = room.slab
    thick = f"{slab.thickness_mm:g} mm " if slab.thickness_mm else ""
    heated = "heated " if slab.heated else ""
    return f"{heated}{thick}{slab.base}"


def _pair(
    row: dict[str, object], survey: Survey, used: gpd.GeoDataFrame, options: RelateOptions
) -> tuple[Room, Quantity, dict[str, object]] | None:
    """Return room, quantity and pair of a test; None without place, result or scan nearby."""
    x, y, value = (_number(row.get(name)) for name in ("x", "y", "value"))
    if np.isnan([x, y, value]).any() or row.get("censored"):
        return None
    room = survey.plan.room_at(x, y)
    if room is None:
        return None
    found = _scan_mean(x, y, used[used["room"] == room.name], options)
    if found is None:
        return None
    scan, count, reach = found
    name = str(row["method"])
    quantity = TEST_METHODS[name].quantity if name in TEST_METHODS else QUANTITIES[name]
    values = (row.get("test"), row.get("hole", ""), room.name, x, y, scan, count, reach, value)
    return room, quantity, dict(zip(PAIR_COLUMNS, values, strict=True))


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else float("nan")


def _scan_mean(
    x: float, y: float, readings: gpd.GeoDataFrame, options: RelateOptions
) -> tuple[float, int, float] | None:
    """Mean of the readings at a hole, how many, and the farthest of them [m]."""
    distance = np.hypot(readings["x"].to_numpy() - x, readings["y"].to_numpy() - y)
    order = np.argsort(distance, kind="stable")
    near = order[distance[order] <= options.radius_m]
    if near.size < options.readings:
        near = order[: options.readings]
        near = near[distance[near] <= options.reach_m]
    if near.size == 0:
        return None
    mean = float(readings["value"].to_numpy(dtype=float)[near].mean())
    return mean, int(near.size), float(distance[near].max())


@dataclass(frozen=True)
class Ground:
    """A slab with the readings of its visit."""

    slab: str
    rooms: tuple[str, ...]
    readings: gpd.GeoDataFrame
    visit: Visit

    @property
    def middle(self) -> float:
        """Median of the scan over the slab, NaN without readings."""
        own = self.readings[self.readings["room"].isin(self.rooms)]
        return float(own["value"].median()) if len(own) else float("nan")


def _curve(
    ground: Ground, quantity: Quantity, rows: list[dict[str, object]], options: RelateOptions
) -> CalibrationCurve:
    pairs = pd.DataFrame(rows, columns=list(PAIR_COLUMNS))
    x, y = pairs["scan"].to_numpy(dtype=float), pairs["value"].to_numpy(dtype=float)
    rho, rank_p = rank_correlation(x, y)
    nothing = float("nan")
    intercept = slope = sd = pearson = nothing
    if x.size >= LEAST_PAIRS and np.ptp(x) > 0:
        slope, intercept = (float(one) for one in np.polyfit(x, y, 1))
        residual = y - intercept - slope * x
        sd = float(np.sqrt((residual**2).sum() / (x.size - 2)))
        pearson = float(np.corrcoef(x, y)[0, 1]) if np.ptp(y) > 0 else nothing
    earned, reason = _earned(x.size, slope, rho, rank_p, quantity)
    one_sided = _one_sided(x, ground.middle) if earned else ""
    if one_sided:
        earned, reason = False, one_sided
    attenuation = _attenuation(pairs, options.reading_sd)
    return CalibrationCurve(
        quantity,
        ground.slab,
        ground.rooms,
        ground.visit.id,
        pairs,
        intercept,
        slope,
        sd,
        rho,
        rank_p,
        pearson,
        attenuation,
        earned,
        reason,
        _remarks(pairs, attenuation, options),
    )


def _one_sided(scan: Array, middle: float) -> str:
    """Why holes on one half of the scan alone relate nothing; "" where they are on both.

    Holes chosen for their high readings were chosen for the luck of those readings too, and the
    relation drawn from them is off even between them.
    """
    if np.isnan(middle) or scan.min() <= middle <= scan.max():
        return ""
    half = "wetter" if scan.min() > middle else "drier"
    return (
        f"all holes lie on the {half} half of the scan (its median is {middle:.3g}, the holes read"
        f" {scan.min():.3g} to {scan.max():.3g}), so the two are not related; a test on the other"
        " half would do that"
    )


def _earned(
    count: int, slope: float, rho: float, rank_p: float, quantity: Quantity
) -> tuple[bool, str]:
    if count < LEAST_PAIRS:
        tests = "1 test" if count == 1 else f"{count} tests"
        return False, (
            f"{tests} with a scan beside: too few to relate the two (even a perfect"
            f" order of 3 happens by chance 1 time in 6); the scan stays a {RELATIVE.label}"
        )
    if np.isnan(slope):
        return False, "the scan reads the same at every hole: nothing to relate"
    evidence = f"rank correlation {rho:.2f}, exact one-sided p {rank_p:.3f}, n = {count}"
    if slope <= 0:
        return (
            False,
            f"the tests do not rise with the scan ({evidence}), so the scan is not used to estimate"
            " them",
        )
    if rank_p > SIGNIFICANT:
        return False, (
            f"the tests do not follow the scan closely enough ({evidence}; {SIGNIFICANT:g} is asked"
            " for), so the scan is not used to estimate them"
        )
    return True, (
        f"the tests follow the scan ({evidence}); {quantity.label} is shown between the lowest and"
        " the highest scan at a hole, as a guide only"
    )


def _attenuation(pairs: pd.DataFrame, reading_sd: float | None) -> float:
    """Share of the variance of scan means that is real: sx2 / (sx2 + se2/m)."""
    if reading_sd is None or len(pairs) < 2:
        return float("nan")
    noise = float((reading_sd**2 / pairs["scans"].to_numpy(dtype=float)).mean())
    total = float(pairs["scan"].var(ddof=1))
    return max(0.0, 1.0 - noise / total) if total > 0 else float("nan")


def _remarks(pairs: pd.DataFrame, attenuation: float, options: RelateOptions) -> tuple[str, ...]:
    remarks = []
    few = int((pairs["scans"] < options.readings).sum())
    if few:
        remarks.append(
            f"{few} of {len(pairs)} holes have fewer than {options.readings} scan readings within"
            f" {options.reach_m:g} m: take several readings at each hole"
        )
    far = int((pairs["reach_m"] > options.radius_m).sum())
    if far:
        remarks.append(
            f"at {far} of {len(pairs)} holes readings up to {pairs['reach_m'].max():.2f} m away"
            f" were taken in, more than {options.radius_m:g} m"
        )
    if not np.isnan(attenuation):
        remarks.append(
            f"about {1 - attenuation:.0%} of the spread of the scan at the holes is noise of"
            " reading, which flattens the slope by as much"
        )
    return tuple(remarks)
