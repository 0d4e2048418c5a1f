"""Clues from time, air and samples."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np
import pandas as pd
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.drying import DRIED, ROSE, DryingProgress
from moisturemap.investigation.clue import Clue, not_looked_at
from moisturemap.psychrometrics import dew_point
from moisturemap.survey import Visit

NEAR_DEW_K = 3.0
"""Air this close to condensing on a surface counts as near it [K]; common practice."""

DEW_SD_K = 1.0
"""Error of a dew point from 0.5 K and 3 %RH [K], derived."""

LOG_DAYS = 14
LOG_RECORDS = 6
"""A margin speaks against condensation only with records on this many days over this time: a visit
or two miss the days that condense (our choice)."""

AROUND_M = 0.5
"""Surface temperatures within this of the zone are its own [m]; our choice."""

CHANGED = 0.3
"""Share of a zone's cells that must be shown to have changed (our choice)."""

HYGROSCOPIC_SHARE = 0.5
"""Share of a sample's water that is hygroscopic from which salts may explain a meter (our
choice)."""

CONTINUING = ("pressure-pipe", "drain", "ground", "wall", "surface-water", "condensation")
DONE = ("flood", "adhesive")

FADES_DAYS = 60.0
"""Water of adhesive fades in days to weeks [days]: what dries between scans later than this after
covering speaks for none (TKB leaflets, from memory; the number is our choice)."""


def time_clues(
    drying: DryingProgress | None,
    zone: BaseGeometry | None,
    covered: date | None = None,
    *,
    floats: bool = False,
) -> tuple[Clue, ...]:
    """Return what the scans show of the zone over time.

    Parameters
    ----------
    drying : DryingProgress or None
    zone : shapely geometry or None
    covered : date, optional
        Day of covering.
    floats : bool
        Whether the screed floats on insulation.
    """
    if drying is None or zone is None or len(drying.series.visits) < 2:
        return (not_looked_at("scans", "time", "The floor was scanned once."),)
    shares = _verdict_shares(drying, zone)
    if shares is None:
        return (Clue("scans", "time", "could-not-show", "No change could be mapped in the zone."),)
    first = drying.series.visits[0].started
    if covered is None or first is None:
        return change_clues(*shares, floats=floats)
    return change_clues(*shares, float((first.date() - covered).days), floats=floats)


def change_clues(
    rose: float, dried: float, covered_days: float | None = None, *, floats: bool = False
) -> tuple[Clue, ...]:
    """Return what shares of the zone shown to have risen and to have fallen say.

    Parameters
    ----------
    rose, dried : float
        Shares, 0 to 1.
    covered_days : float, optional
        From covering to the first scan [days]; None when not known.
    floats : bool
        Whether the screed floats on insulation: a flood that lies in it wets the screed for long,
        so a rise does not speak against one.
    """
    late = covered_days is not None and covered_days > FADES_DAYS
    done = tuple(one for one in DONE if one != "adhesive" or not late)
    test = "cells of change, false discovery rate 10%"
    if rose > CHANGED and rose > dried:
        return (
            Clue(
                "scans",
                "time",
                "seen",
                f"{rose:.0%} of the zone reads higher than on the first visit.",
                rose,
                f"{CHANGED:.0%} of the zone",
                test,
                speaks_for=CONTINUING,
                speaks_against=("adhesive",) if floats else DONE,
            ),
        )
    if dried > CHANGED:
        return (
            Clue(
                "scans",
                "time",
                "seen",
                f"{dried:.0%} of the zone reads lower than on the first visit.",
                dried,
                f"{CHANGED:.0%} of the zone",
                test,
                speaks_for=done,
                speaks_against=("pressure-pipe", "drain"),
            ),
        )
    return (Clue("scans", "time", "could-not-show", "The zone did not change beyond its error."),)


def _verdict_shares(drying: DryingProgress, zone: BaseGeometry) -> tuple[float, float] | None:
    """Shares of the zone's cells shown to have risen and to have fallen."""
    change = drying.change
    if change is None or not change.known:
        return None
    x, y = np.meshgrid(change.dataset["x"].to_numpy(), change.dataset["y"].to_numpy())
    verdict = change.dataset["verdict"].to_numpy()[shapely.contains_xy(zone, x, y)]
    verdict = verdict[np.isfinite(verdict)]
    if not verdict.size:
        return None
    return float((verdict == ROSE).mean()), float((verdict == DRIED).mean())


def dew_margins(
    visits: Sequence[Visit], zone: BaseGeometry | None, tests: pd.DataFrame
) -> pd.DataFrame:
    """Surface temperature less dew point, wherever both are known.

    Returns
    -------
    pandas.DataFrame
        ``started, where, surface_c, dew_point_c, margin_k``.
    """
    rows = [row for visit in visits for row in _visit_margins(visit, zone)]
    for row in tests.to_dict("records"):
        air, humidity = _number(row.get("air_temperature_c")), _number(row.get("air_rh_pct"))
        surface = _number(row.get("slab_temperature_c"))
        if air is not None and humidity and surface is not None:
            dew = float(dew_point(air, humidity))
            rows.append(
                (row.get("read"), str(row.get("hole") or "test"), surface, dew, surface - dew)
            )
    columns = ["started", "where", "surface_c", "dew_point_c", "margin_k"]
    return pd.DataFrame(rows, columns=columns)


def _visit_margins(visit: Visit, zone: BaseGeometry | None) -> Iterator[tuple[object, ...]]:
    air, humidity = visit.air_temperature_c, visit.air_rh_pct
    if air is None or not humidity:
        return
    dew = float(dew_point(air, humidity))
    if visit.slab_temperature_c is not None:
        surface = visit.slab_temperature_c
        yield visit.started, f"visit {visit.id}", surface, dew, surface - dew
    for x, y, surface in visit.surface_temperatures:
        if zone is None or zone.distance(Point(x, y)) <= AROUND_M:
            yield visit.started, f"{x:.1f}, {y:.1f}", surface, dew, surface - dew


def _number(value: object) -> float | None:
    """Return a finite number, or None."""
    return float(value) if isinstance(value, int | float) and np.isfinite(value) else None


def air_clues(margins: pd.DataFrame) -> tuple[Clue, ...]:
    """Return what air and surface say of condensation."""
    if margins.empty:
        return (
            not_looked_at(
                "dew-point", "air", "Air and surface temperature were not recorded together."
            ),
        )
    least = margins.iloc[int(margins["margin_k"].to_numpy(float).argmin())]
    margin = float(least["margin_k"])
    shown = (
        f"At {least['where']} the surface of {least['surface_c']:.1f} °C lay {margin:.1f} K above"
        f" the dew point of {least['dew_point_c']:.1f} °C, the least of {len(margins)} records."
    )
    source = "ISO 13788, BS 5250 (from memory); 3 K is common practice"
    if margin <= DEW_SD_K:
        return (
            Clue(
                "dew-point",
                "air",
                "seen",
                shown,
                margin,
                f"{DEW_SD_K:g} K, its error",
                source,
                speaks_for=("condensation",),
            ),
        )
    times = pd.to_datetime(margins["started"], utc=True, errors="coerce").dropna()
    span = (times.max() - times.min()).days if len(times) else 0
    logged = times.dt.floor("D").nunique() >= LOG_RECORDS and span >= LOG_DAYS
    if margin > NEAR_DEW_K + DEW_SD_K and logged:
        return (
            Clue(
                "dew-point",
                "air",
                "not-seen",
                shown,
                margin,
                f"{NEAR_DEW_K + DEW_SD_K:g} K",
                source,
                speaks_against=("condensation",),
            ),
        )
    return (Clue("dew-point", "air", "could-not-show", shown, margin, f"{NEAR_DEW_K:g} K", source),)


def sample_clues(tests: pd.DataFrame) -> tuple[Clue, ...]:
    """Return what samples say of salts."""
    found = []
    for row in tests.to_dict("records"):
        free, held = _number(row.get("free_water_pct")), _number(row.get("hygroscopic_pct"))
        name = str(row.get("hole") or "sample")
        salts = str(row.get("salts") or "").casefold()
        if free is not None and held is not None and free + held > 0:
            share = held / (free + held)
            high = share >= HYGROSCOPIC_SHARE and salts != "none"
            found.append(
                Clue(
                    "salts",
                    "chemistry",
                    "seen" if high else "not-seen",
                    f"Sample {name}: {share:.0%} of its water is hygroscopic"
                    f"{', salts ' + salts if salts else ''}.",
                    share,
                    f"{HYGROSCOPIC_SHARE:.0%}",
                    "BRE Digest 245, WTA guidance (from memory)",
                    speaks_for=("salts",) if high else (),
                    speaks_against=() if high else ("salts",),
                )
            )
    return tuple(found) or (
        not_looked_at("salts", "chemistry", "No sample was taken for salts and free water."),
    )
