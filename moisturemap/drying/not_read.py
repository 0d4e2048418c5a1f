"""Floor that read wet on an earlier visit and was not read since: nobody has seen it dry.

A machine stands on the wettest place, or boxes do, and the place drops out of the latest map.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.drying.part_lower import read_lower
from moisturemap.geostat import spacing_of
from moisturemap.survey import USED_FLAGS, CleanReadings

Array = NDArray[np.float64]

READ_AGAIN = 0.75
"""A place was read again by a reading this near [spacings]: two square grids of one spacing lie no
farther apart (0.71)."""


@dataclass(frozen=True, eq=False)
class NotRead:
    """Places that read above the wet level and were not read since.

    Attributes
    ----------
    points : ndarray, shape (k, 2)
        [m]
    values : ndarray, shape (k,)
        What they read last [reading].
    cell_m2 : float
        Floor each stands for [m2].
    sentence : str
        Which they are and what to do; "" for none.
    """

    points: Array
    values: Array
    cell_m2: float
    sentence: str


NOTHING = NotRead(np.empty((0, 2)), np.empty(0), 0.0, "")


def not_read_again(clean: Sequence[CleanReadings], level: float | None) -> NotRead:
    """Find the wet places of earlier visits that no later visit read.

    Parameters
    ----------
    clean : sequence of CleanReadings
        One a visit, oldest first, of one meter.
    level : float or None
        The wet level [reading]; nothing is wet without one.
    """
    if level is None or len(clean) < 2 or len(clean[-1].locations) < 2:
        return NOTHING
    spacing = spacing_of(_places(clean[-1].locations))
    left: list[pd.DataFrame] = []
    for number, visit in enumerate(clean[:-1]):
        high = visit.locations[visit.locations["value"] > level].assign(visit=visit.visit.id)
        for later in clean[number + 1 :]:
            read = later.readings[later.readings["flag"].isin(USED_FLAGS)]
            if len(high) and len(read):
                away = np.asarray(cKDTree(_places(read)).query(_places(high))[0])
                high = high[away > READ_AGAIN * spacing]
        left.append(high)
    found = pd.concat(left, ignore_index=True)
    if found.empty:
        return NOTHING
    values = found["value"].to_numpy(dtype=float)
    return NotRead(_places(found), values, spacing**2, _sentence(found, clean[-1], level))


def _places(table: pd.DataFrame) -> Array:
    return np.asarray(table[["x", "y"]].to_numpy(dtype=float))


def _sentence(found: pd.DataFrame, latest: CleanReadings, level: float) -> str:
    visits = ", ".join(dict.fromkeys(found["visit"].astype(str)))
    top = found.iloc[int(found["value"].to_numpy().argmax())]
    count = "1 place was" if len(found) == 1 else f"{len(found)} places were"
    rooms = ", ".join(dict.fromkeys(found["room"].astype(str)))
    how = "shift what stands there and read it"
    if read_lower(latest):
        how = "read it again as on the visits before"
    return (
        f"{count} not read on {latest.visit.id}: wet at {visits}, in {rooms}, at most "
        f"{top['value']:.3g} at ({top['x']:.2f}, {top['y']:.2f}), above the wet level of "
        f"{level:.3g}. This floor counts as wet and no day can be named for it: {how}."
    )
