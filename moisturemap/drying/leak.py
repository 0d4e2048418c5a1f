"""Water that still arrives: the first thing to say of a floor, before any verdict or move.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from moisturemap.drying.rises import Rise, rise_words

WHOLE_FLOOR = 0.6
"""Share of the mapped floor from which a rise is more likely the air or the meter (our choice)."""

WIDELY = (
    "It rose over most of the floor: damp air or drift of the meter would do the same, so read dry "
    "references and the room air at once."
)

FIRST_STEPS = (
    "Stop the source first: shut off the supply or drain that may feed it, or have that done.",
    "Water and electricity: keep out of standing water and off wet leads and switches; have a "
    "qualified person switch off circuits and floor heating that the water may reach.",
    "Call the person responsible for the building, and a plumber or a leak locator; do not drill "
    "there before pipes are located.",
    "Machines, forecasts and decisions for this floor come after that: until the source is stopped "
    "none of them holds. Local code and licensed practice come first.",
)


@dataclass(frozen=True)
class ActiveLeak:
    """Signs that water is still arriving, or came between two visits.

    Attributes
    ----------
    areas : tuple of str
        Rising areas ("R1") and flagged lines or spots that rose.
    area_m2 : float
        Of the rising areas, or of the largest rise between two visits where none rises over all of
        them [m2].
    sentence : str
        Where, and how sure that is.
    steps : tuple of str
        What to do, in order.
    """

    areas: tuple[str, ...]
    area_m2: float
    sentence: str
    steps: tuple[str, ...] = FIRST_STEPS


def find_leak(
    areas: gpd.GeoDataFrame, features: pd.DataFrame, rises: Sequence[Rise], mapped_m2: float
) -> ActiveLeak | None:
    """Return the signs of an active leak, or None.

    Parameters
    ----------
    areas : GeoDataFrame
        Columns ``AREA_COLUMNS``.
    features : DataFrame
        Columns ``FEATURE_COLUMNS``.
    rises : sequence of Rise
        Between two consecutive visits.
    mapped_m2 : float
        Floor whose change is mapped [m2].

    Returns
    -------
    ActiveLeak or None
    """
    rising = areas[areas["kind"] == "rising"]
    things = features[features["verdict"] == "rose"]
    if rising.empty and things.empty and not rises:
        return None
    pairs = {(one.begin, one.end): 0.0 for one in rises}
    for one in rises:
        pairs[one.begin, one.end] += one.area_m2
    size = float(rising["area_m2"].sum()) or max(pairs.values(), default=0.0)
    parts = [
        f"{row.area}, {row.area_m2:.1f} m2 round ({row.x:.1f}, {row.y:.1f})"
        + (f" in {row.room}" if row.room else "")
        for row in rising.itertuples()
    ]
    parts += [f"{row.anomaly}, a flagged {row.kind} that rose" for row in things.itertuples()]
    said = [f"Possible active leak: the reading rose at {'; '.join(parts)}."] if parts else []
    if rises:
        said.append(
            f"{took_up_sentence(rises)} Find out whether water came in, and make sure it has "
            "stopped."
        )
    if mapped_m2 > 0.0 and size > WHOLE_FLOOR * mapped_m2:
        said.append(WIDELY)
    names = (*map(str, rising["area"]), *map(str, things["anomaly"]))
    return ActiveLeak(names, size, " ".join(said))


def took_up_sentence(rises: Sequence[Rise]) -> str:
    """Say between which visits the floor took up water, and where.

    Parameters
    ----------
    rises : sequence of Rise
        Between two consecutive visits.

    Returns
    -------
    str
    """
    return f"Readings rose {rise_words(rises)}."
