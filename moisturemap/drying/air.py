"""The air of each visit: what it holds, and whether it dries the slab.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from moisturemap.psychrometrics import (
    DEW_POINT_MARGIN_K,
    condensation_warnings,
    drying_drive,
    moist_air,
    saturation_pressure,
)
from moisturemap.survey import Visit

AIR_COLUMNS = (
    "visit",
    "started",
    "air_temperature_c",
    "air_rh_pct",
    "dew_point_c",
    "vapour_pressure_pa",
    "humidity_ratio_g_kg",
    "slab_temperature_c",
    "dew_point_margin_k",
    "break_even_rh_pct",
    "greatest_drive_pa",
    "warning",
)
"""``break_even_rh_pct`` is the humidity of a slab at its temperature that this air neither dries
nor wets; ``greatest_drive_pa`` is the vapour-pressure difference of a saturated slab to the air."""

DRIVE_COLUMNS = (
    "zone",
    "slab_rh_pct",
    "slab_temperature_c",
    "air_temperature_c",
    "air_rh_pct",
    "drive_pa",
    "direction",
    "sentence",
)

LEAST_TREND_G_KG = 0.3
"""Change of the air's humidity ratio that is worth a word [g/kg]."""


@dataclass(frozen=True, slots=True)
class SlabHumidity:
    """A calibrated relative humidity of the slab in or near a zone.

    Attributes
    ----------
    zone : str
    rh_pct, temperature_c : float
        [%RH] and [C]
    test : str
        Which test tells it.
    covered : bool
        A covering lies on it.
    """

    zone: str
    rh_pct: float
    temperature_c: float
    test: str
    covered: bool = False


def air_table(visits: Sequence[Visit]) -> pd.DataFrame:
    """Return the air of each visit; columns ``AIR_COLUMNS``, NaN where not recorded.

    Parameters
    ----------
    visits : sequence of Visit
        With their records of the air.

    Returns
    -------
    DataFrame
        One row a visit.
    """
    return pd.DataFrame([_air_row(visit) for visit in visits], columns=list(AIR_COLUMNS))


def _air_row(visit: Visit) -> dict[str, object]:
    row: dict[str, object] = dict.fromkeys(AIR_COLUMNS, np.nan)
    row |= {"visit": visit.id, "started": visit.started, "warning": ""}
    slab = visit.slab_temperature_c
    row["slab_temperature_c"] = np.nan if slab is None else slab
    temperature, rh = visit.air_temperature_c, visit.air_rh_pct
    if temperature is None or rh is None or rh <= 0:
        row["air_temperature_c"] = np.nan if temperature is None else temperature
        row["air_rh_pct"] = np.nan if rh is None else rh
        return row
    air = moist_air(temperature, rh)
    row |= {
        "air_temperature_c": temperature,
        "air_rh_pct": rh,
        "dew_point_c": air.dew_point_c,
        "vapour_pressure_pa": air.vapour_pressure_pa,
        "humidity_ratio_g_kg": air.humidity_ratio_g_kg,
    }
    if slab is None:
        return row
    saturated = saturation_pressure(slab)
    row |= {
        "dew_point_margin_k": slab - air.dew_point_c,
        "break_even_rh_pct": 100.0 * air.vapour_pressure_pa / saturated,
        "greatest_drive_pa": saturated - air.vapour_pressure_pa,
    }
    warnings = list(condensation_warnings(slab, temperature, rh))
    if saturated < air.vapour_pressure_pa:
        warnings.append(
            "even a saturated slab takes up water from this air: the room wets the slab"
        )
    row["warning"] = "; ".join(warnings)
    return row


def zone_drives(visit: Visit, slabs: Sequence[SlabHumidity]) -> pd.DataFrame:
    """Return the vapour-pressure difference slab to air by zone; columns ``DRIVE_COLUMNS``.

    Only where a calibrated test tells the humidity of the slab: a relative reading has none.

    Parameters
    ----------
    visit : Visit
        Whose air stands over the slab.
    slabs : sequence of SlabHumidity
        Humidity of the slab by place [%RH].

    Returns
    -------
    DataFrame
        One row a place with a calibrated humidity; pressures in Pa.
    """
    if visit.air_temperature_c is None or visit.air_rh_pct is None:
        return pd.DataFrame(columns=list(DRIVE_COLUMNS))
    rows = []
    for slab in slabs:
        drive = drying_drive(
            slab.temperature_c, slab.rh_pct, visit.air_temperature_c, visit.air_rh_pct
        )
        does = {"dries": "dries", "wets": "wets", "still": "hardly changes"}[drive.direction]
        warned = "".join(f" Caution: {text}." for text in drive.warnings)
        rows.append(
            {
                "zone": slab.zone,
                "slab_rh_pct": slab.rh_pct,
                "slab_temperature_c": slab.temperature_c,
                "air_temperature_c": visit.air_temperature_c,
                "air_rh_pct": visit.air_rh_pct,
                "drive_pa": drive.difference_pa,
                "direction": drive.direction,
                "sentence": _held(slab, drive.difference_pa, visit.id, does) + warned,
            }
        )
    return pd.DataFrame(rows, columns=list(DRIVE_COLUMNS))


def _held(slab: SlabHumidity, drive_pa: float, visit: str, does: str) -> str:
    """Say what drives water out of a slab, and what becomes of it."""
    if slab.covered:
        return (
            f"{slab.zone}: the slab ({slab.rh_pct:.0f} %RH by {slab.test}) holds "
            f"{drive_pa:+.0f} Pa against the air of visit {visit}; its covering keeps that back."
        )
    return (
        f"{slab.zone}: the slab ({slab.rh_pct:.0f} %RH by {slab.test}) holds "
        f"{drive_pa:+.0f} Pa against the air of visit {visit}; the room {does} it."
    )


def air_sentences(table: pd.DataFrame) -> tuple[str, ...]:
    """Say what the air does to the slab, its cautions and its trend over the visits.

    Parameters
    ----------
    table : DataFrame
        Columns ``AIR_COLUMNS``.

    Returns
    -------
    tuple of str
    """
    known = table[np.isfinite(table["vapour_pressure_pa"].to_numpy(dtype=float))]
    sentences = []
    missing = [str(one) for one in table["visit"] if one not in set(known["visit"])]
    if missing:
        sentences.append(
            f"No air temperature and humidity were recorded on {', '.join(missing)}: "
            "whether the room dried the slab then cannot be told."
        )
    if known.empty:
        return tuple(sentences)
    last = known.iloc[-1]
    sentences.append(
        f"Air on {last.visit}: {last.air_temperature_c:.1f} °C, {last.air_rh_pct:.0f} %RH, dew "
        f"point {last.dew_point_c:.1f} °C, {last.humidity_ratio_g_kg:.1f} g/kg.{_break_even(last)}"
    )
    sentences += [
        f"Caution, {row.visit}: {row.warning}." for row in known.itertuples() if row.warning
    ]
    if len(known) > 1:
        sentences.append(_trend(known))
    return tuple(sentences)


def _break_even(last: pd.Series) -> str:
    if not np.isfinite(last.break_even_rh_pct):
        return (
            " The slab's temperature was not recorded: how far its surface is from the dew "
            "point cannot be told."
        )
    if last.break_even_rh_pct >= 100.0:
        return ""
    return (
        f" A slab at {last.slab_temperature_c:.1f} °C dries into it where its own humidity is "
        f"above {last.break_even_rh_pct:.0f} %RH and takes up water below; the surface is "
        f"{last.dew_point_margin_k:.1f} K above the dew point ({DEW_POINT_MARGIN_K:g} K wanted)."
    )


def _trend(known: pd.DataFrame) -> str:
    first, last = known.iloc[0], known.iloc[-1]
    change = float(last.humidity_ratio_g_kg - first.humidity_ratio_g_kg)
    span = " to ".join(f"{one.visit} ({one.humidity_ratio_g_kg:.1f} g/kg)" for one in (first, last))
    if abs(change) < LEAST_TREND_G_KG:
        return f"The room air held about the same water from {span}."
    if change < 0:
        return f"The room air became drier from {span}: more water leaves it than enters."
    return (
        f"The room air became moister from {span}: more water enters the air than leaves it; "
        "close openings, or bring more drying capacity."
    )
