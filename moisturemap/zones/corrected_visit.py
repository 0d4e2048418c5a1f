"""A visit after a few of its readings were corrected: mapped at once, before the whole is again."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.anomalies import Anomalies
from moisturemap.mapping import remap
from moisturemap.survey import USED_FLAGS, CleanReadings, Survey, clean_readings, why_unusable
from moisturemap.zones.mapped_visit import MappedVisit, VisitOptions, levelled

M = TypeVar("M", bound=MappedVisit)

MOST_CHANGED, SHARE_CHANGED = 10, 0.02
"""So many readings, or this share of them, may have changed; more may be another floor than the
covariance was fitted to (our choice)."""

COMPARED = ["x", "y", "value", "censored", "flag"]


def map_corrected(before: M, survey: Survey, *, options: VisitOptions | None = None) -> M | None:
    """Map a visit again at once after a few readings of it changed.

    Covariances, scales and what disturbs readings are those of the earlier map; cells that other
    readings screen from all changed ones keep their values. It is no substitute for
    :func:`moisturemap.zones.map_visit`, which looks at everything anew.

    Parameters
    ----------
    before : MappedVisit
        Or a study: the rest of it is kept as it is.
    survey : Survey
        With the changed readings, and otherwise that of `before`.
    options : VisitOptions, optional

    Returns
    -------
    MappedVisit or None
        None where it takes the whole way: many readings changed, a part of the floor is mapped now
        that was not, or the other way round.
    """
    options = options or VisitOptions()
    clean = clean_readings(
        survey, before.visit.id, instrument=options.instrument, domains=before.domains
    )
    if clean.instrument != before.clean.instrument or why_unusable(clean, survey.plan):
        return None
    changed, gone = _changes(before.clean, clean)
    count = int(changed.sum()) + len(gone)
    if count > max(MOST_CHANGED, SHARE_CHANGED * len(clean.readings)):
        return None
    found = _carried_over(before.found, clean, changed)
    places = pd.concat([clean.readings[changed], gone])[["x", "y"]].to_numpy(dtype=float)
    moisture = remap(before.moisture, found.readings, clean, around=places, options=options.mapping)
    if set(moisture.refusals) != set(before.moisture.refusals):
        return None
    moisture, wet = levelled(survey, clean.visit, found, clean, moisture, options)
    return replace(
        before,
        survey=survey,
        visit=clean.visit,
        clean=clean,
        found=found,
        moisture=moisture,
        wet=wet,
    )


def _changes(before: CleanReadings, now: CleanReadings) -> tuple[NDArray[np.bool_], pd.DataFrame]:
    """Which readings of now are new or other than before, and those of before that are no more.

    Of a changed one the place before is among those that are no more.
    """
    old = before.readings.set_index("reading")[COMPARED]
    new = now.readings.set_index("reading")[COMPARED]
    same = new.reindex(old.index)
    kept = ((same == old) | (same.isna() & old.isna())).all(axis=1)
    gone = old[~kept]
    return ~new.index.isin(old.index[kept]), gone


def _carried_over(before: Anomalies, clean: CleanReadings, changed: NDArray[np.bool_]) -> Anomalies:
    """Give unchanged readings the flags they had; an anomaly that lost all of its readings goes."""
    readings = clean.readings.copy()
    readings["anomaly"] = ""
    earlier = before.readings.set_index("reading")[["flag", "reason", "anomaly"]]
    marks = ["flag", "reason", "anomaly"]
    stays = ~changed & readings["flag"].isin(USED_FLAGS).to_numpy()
    readings.loc[stays, marks] = earlier.loc[readings.loc[stays, "reading"]].to_numpy()
    lost = set(earlier["anomaly"]) - set(readings["anomaly"])
    table = before.table[~before.table["anomaly"].isin(lost)].reset_index(drop=True)
    return replace(before, table=table, readings=readings)
