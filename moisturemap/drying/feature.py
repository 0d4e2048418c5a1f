"""Flagged lines and spots over the visits: pipe, leak, or moisture that dries.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.anomalies import Anomalies
from moisturemap.drying.change_map import ChangeMap, Floor
from moisturemap.drying.contrast import ContrastField, krige_contrast
from moisturemap.drying.series import VisitSeries
from moisturemap.errors import NotEnoughData

Array = NDArray[np.float64]

FEATURE_COLUMNS = (
    "anomaly",
    "kind",
    "room",
    "readings",
    "strength",
    "change",
    "change_sd",
    "expected_fall",
    "verdict",
    "sentence",
)
"""``change`` of the feature itself since the first visit, the change of the floor around it taken
out; ``expected_fall`` is what it would have lost had it dried like the wet floor; ``verdict`` is
``"steady"``, ``"rose"``, ``"dried"`` or ``"cannot-tell"``."""

DECISIVE = 1.96
SURE = 2.58
"""Standard deviations from which a side is taken; more before a line is said to rise."""

SAME_PLACE_M = 0.10
CUTS = {
    "steady": "reads the same on every visit: fits a pipe or metal, not moisture that dries",
    "rose": "rose: fits water still arriving, not a pipe or metal by itself",
    "dried": "fell like moisture: a pipe or metal by itself does not",
}

SPEAKS = {
    "steady": "reads the same on every visit, which speaks for a pipe or metal",
    "rose": "rose, which speaks for water still arriving",
    "dried": "fell as moisture does, which speaks for wet floor",
}
"""The same of what the readings of one visit leave contested: a change takes a side, no more."""


def judge_features(
    found: Anomalies, floor: Floor, series: VisitSeries, change: ChangeMap, kept_share: float
) -> pd.DataFrame:
    """Judge each flagged line and spot by how it changed; columns ``FEATURE_COLUMNS``.

    Parameters
    ----------
    found : Anomalies
        Of the latest visit.
    floor : Floor
    series : VisitSeries
    change : ChangeMap
        First to latest visit.
    kept_share : float
        Share of its excess that the wet floor kept between these visits.
    """
    rows, weights = [], series.change_weights()
    table = found.table[found.table["kind"].isin(["line", "spot"])]
    for key in dict.fromkeys(table["domain"]):
        own = table[table["domain"] == key]
        if str(key) not in change.fields:
            continue
        around = _floor_around(found, floor, series, change.fields[str(key)], str(key))
        if around is None:
            continue
        panel = floor.panels[str(key)]
        complete = panel.complete(weights)
        for one in own.itertuples():
            readings = found.readings[found.readings["anomaly"] == one.anomaly]
            row = _own_rows(panel.points, readings) & complete
            if row.any():
                rows.append(_judged(one, panel, row, (around, weights, series), kept_share))
    return pd.DataFrame(rows, columns=list(FEATURE_COLUMNS))


def _own_rows(points: Array, readings: pd.DataFrame) -> NDArray[np.bool_]:
    if readings.empty:
        return np.zeros(len(points), dtype=bool)
    distance, _ = cKDTree(readings[["x", "y"]].to_numpy(dtype=float)).query(points)
    return np.asarray(distance <= SAME_PLACE_M)


def _floor_around(
    found: Anomalies, floor: Floor, series: VisitSeries, whole: ContrastField, key: str
) -> ContrastField | None:
    """Change of the floor as told by readings on no flagged line or spot."""
    panel = floor.panels[key]
    hidden = _own_rows(panel.points, found.readings[found.readings["anomaly"] != ""])
    values = panel.values.copy()
    values[hidden] = np.nan
    calm = type(panel)(
        panel.domain, panel.points, values, panel.counts, panel.censored, (), panel.spacing
    )
    try:
        step = max(one.step for one in series.clean)
        return krige_contrast(
            calm, floor.embedding[key], whole.weights, whole.common_sd, step, fit=whole.fit
        )
    except NotEnoughData:
        return None


def _judged(
    one: Any,
    panel: Any,
    row: NDArray[np.bool_],
    how: tuple[ContrastField, Array, VisitSeries],
    kept_share: float,
) -> dict[str, object]:
    around, weights, _ = how
    used = weights != 0.0
    observed = panel.values[np.ix_(row, used)] @ weights[used]
    base, base_sd = around.average(panel.points[row])
    change = float(observed.mean()) - base
    # the common offset stands in both and cancels
    own = math.sqrt(max(base_sd**2 - around.common_sd**2, 0.0))
    sd = math.hypot(own, around.reading_sd / math.sqrt(row.sum()))
    strength = float(one.strength)
    fall = abs(strength) * (1.0 - kept_share)
    sign = 1.0 if math.isnan(strength) else float(np.sign(strength))
    verdict = _verdict(change * sign, sd, fall)
    sentence = feature_words(one, (change, sd), fall, verdict)
    return {
        "anomaly": one.anomaly,
        "kind": one.kind,
        "room": one.room,
        "readings": int(row.sum()),
        "strength": strength,
        "change": change,
        "change_sd": sd,
        "expected_fall": fall,
        "verdict": verdict,
        "sentence": sentence,
    }


def feature_words(one: Any, changed: tuple[float, float], fall: float, verdict: str) -> str:
    """Say how a flagged line or spot changed, and what that makes of it.

    Parameters
    ----------
    one : object
        Its row; a mark set by hand has a ``strength`` of NaN, since nobody measured it. What is
        contested stays so: its own sentence says that the readings cannot tell.
    changed : (float, float)
        Change and its sd, in reading units.
    fall : float
        What it would have lost had it dried like the wet floor; NaN for a mark.
    verdict : str
        As in ``FEATURE_COLUMNS``.
    """
    change, sd = changed
    told = "What it is cannot be told yet: another visit at the same places would help."
    if verdict in CUTS and getattr(one, "standing", "") == "contested":
        told = f"It {SPEAKS[verdict]}. It stays contested: a change alone does not settle it."
    elif verdict in CUTS:
        told = f"It {CUTS[verdict]}."
    if math.isnan(one.strength):
        if verdict not in CUTS:
            told = "How far it reads above the floor is not known, so it is not judged by this."
        return (
            f"{one.anomaly} ({one.kind}, marked by hand) changed by {change:+.1f} (sd {sd:.1f}) "
            f"against the floor around it. {told} Locate it before drilling."
        )
    return (
        f"{one.anomaly} ({one.kind}, {one.strength:+.0f} above its surroundings) changed by "
        f"{change:+.1f} (sd {sd:.1f}) against the floor around it; drying like the wet floor it "
        f"would have lost {fall:.1f}. {told} Locate it before drilling."
    )


def _verdict(change: float, sd: float, fall: float) -> str:
    """Take a side where the data do: likeliest of staying, falling as expected, rising."""
    if change > SURE * sd:
        return "rose"
    stays, falls = abs(change) <= SURE * sd, change < -DECISIVE * sd
    if stays and fall > 2.0 * DECISIVE * sd:
        return "steady"
    if falls and change < -0.5 * fall:
        return "dried"
    return "cannot-tell"
