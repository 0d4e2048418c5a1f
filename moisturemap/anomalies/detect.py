"""Detect what disturbs the readings of a visit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.anomalies.anomalies import ANOMALY_COLUMNS, Anomalies
from moisturemap.anomalies.assemble import Anomaly, assemble
from moisturemap.anomalies.describe import reason, sentence
from moisturemap.anomalies.finder import Finds, Scan, build_templates, find
from moisturemap.anomalies.limits import grid_limits, joined
from moisturemap.anomalies.options import DetectOptions
from moisturemap.anomalies.persistence import judge_persistence
from moisturemap.anomalies.remarks import row_remarks, set_remarks
from moisturemap.floorplan import Domain, FloorPlan
from moisturemap.geostat import spacing_of
from moisturemap.survey import CleanReadings

Array = NDArray[np.float64]
Progress = Callable[[str, float], None] | None

LEAST = 20
"""Fewer readings than this on a domain are too few to tell a disturbance from the floor."""

LETTERS = {"line": "L", "spot": "S", "mesh": "M", "stray": "X"}


def _spacing(points: Array) -> float:
    """Typical distance between neighbours [m], not misled by places read twice a hair apart."""
    nearest = spacing_of(points)
    second = float(np.median(cKDTree(points).query(points, k=3)[0][:, 2]))
    return second if second > 2.0 * nearest else nearest


def _scan(spots: pd.DataFrame, clean: CleanReadings) -> Scan:
    points = spots[["x", "y"]].to_numpy(dtype=float)
    spacing = _spacing(points)
    floor = max(clean.step**2 / 12.0, 1e-4 * float(spots["value"].var()), 1e-8)
    if clean.repeat_sd is not None and clean.repeat_pairs >= 5:
        floor = max(floor, 0.5 * clean.repeat_sd**2)
    values, repeats = (spots[name].to_numpy(dtype=float) for name in ("value", "n"))
    read = clean.readings.groupby("spot")["value"]
    apart = (read.max() - read.min()).reindex(spots["spot"]).fillna(0.0).to_numpy(dtype=float)
    bank = build_templates(points, spacing)
    return Scan(points, values, 1.0 / repeats, spacing, floor, bank, apart)


def _room_of(anomaly: Anomaly, spots: pd.DataFrame, plan: FloorPlan) -> str:
    """Room most of its readings lie in, else the room it lies in itself."""
    if anomaly.disturbed.size:
        return str(spots["room"].iloc[anomaly.disturbed].mode().iloc[0])
    place = anomaly.geometry.representative_point()
    room = plan.room_at(place.x, place.y)
    return room.name if room else ""


def _search(
    domain: Domain, clean: CleanReadings, options: DetectOptions
) -> tuple[list[Anomaly], Scan, Finds] | str:
    """Anomalies of one domain, or why it was not searched."""
    spots = clean.spots[clean.spots["domain"] == domain.key]
    if len(spots) < LEAST:
        few = "1 reading is" if len(spots) == 1 else f"{len(spots)} readings are"
        return (
            f"{few} too few to tell pipes and metal from the floor; nothing was looked for there."
        )
    values = spots["value"].to_numpy(dtype=float)
    if np.ptp(values) == 0.0:
        return "all readings are equal, so pipes and metal cannot be told from the floor."
    scan = _scan(spots, clean)
    finds = find(scan, options)
    level = options.flag_from * finds.noise_sd
    return assemble(finds, scan, domain.geometry, level), scan, finds


def detect(
    clean: CleanReadings,
    plan: FloorPlan,
    domains: Sequence[Domain],
    *,
    options: DetectOptions | None = None,
    progress: Progress = None,
    earlier: Sequence[CleanReadings] = (),
) -> Anomalies:
    """Detect pipes, cables, metal, mesh and mis-keyed values in the readings of a visit.

    Parameters
    ----------
    clean : CleanReadings
    plan : FloorPlan
    domains : sequence of Domain
        Searched one by one.
    options : DetectOptions, optional
    progress : callable, optional
        Called with a phrase and a fraction from 0 to 1; may raise ``Cancelled``.
    earlier : sequence of CleanReadings
        Earlier visits, oldest first: what does not dry between visits is believed more.

    Returns
    -------
    Anomalies
        Readings are never deleted or changed, only flagged.
    """
    options = options or DetectOptions()
    notebook = _Notebook()
    for place, domain in enumerate(domains):
        where = domain.label
        if progress is not None:
            progress(f"looking for pipes and metal in {where}", place / len(domains))
        result = _search(domain, clean, options)
        if isinstance(result, str):
            notebook.limits.append((where, result))
            continue
        found, scan, finds = result
        spots = clean.spots[clean.spots["domain"] == domain.key].reset_index(drop=True)
        notebook.limits.extend((where, words) for words in grid_limits(scan, finds))
        notebook.remarks.extend(row_remarks(scan, where))
        named = []
        for anomaly in sorted(found, key=lambda one: -one.score):
            lasting = judge_persistence(anomaly, scan, finds, domain, earlier)
            named.append((notebook.write(anomaly, domain, spots, plan, lasting), anomaly))
        notebook.remarks.extend(set_remarks(named, scan.spacing, where))
    if progress is not None:
        progress("looked for pipes and metal", 1.0)
    return Anomalies(
        _table(notebook.rows),
        _flagged(clean, notebook.marks),
        joined(notebook.limits),
        tuple(notebook.remarks),
    )


@dataclass
class _Notebook:
    """What is written down as the domains are searched; marks are by spot."""

    rows: list[dict[str, object]] = field(default_factory=list)
    limits: list[tuple[str, str]] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    marks: dict[int, tuple[str, str, str, float]] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=lambda: dict.fromkeys(LETTERS, 0))

    def write(
        self, anomaly: Anomaly, domain: Domain, spots: pd.DataFrame, plan: FloorPlan, lasting: str
    ) -> str:
        """Write an anomaly down, mark its readings and return its name."""
        self.counts[anomaly.kind] += 1
        name = f"{LETTERS[anomaly.kind]}{self.counts[anomaly.kind]}"
        room = _room_of(anomaly, spots, plan)
        words = sentence(anomaly, plan, room, lasting)
        self.rows.append(_row(name, anomaly, domain, room, lasting, words))
        for index in anomaly.disturbed:
            spot, size = int(spots["spot"].iloc[index]), float(abs(anomaly.effect[index]))
            if spot not in self.marks or size > self.marks[spot][3]:
                self.marks[spot] = (name, anomaly.kind, reason(anomaly, name), size)
        return name


def _row(
    name: str, anomaly: Anomaly, domain: Domain, room: str, lasting: str, words: str
) -> dict[str, object]:
    return {
        "anomaly": name,
        "kind": anomaly.kind,
        "room": room,
        "domain": domain.key,
        "strength": anomaly.strength,
        "score": anomaly.score,
        "length_m": anomaly.length,
        "width_m": anomaly.width,
        "readings": int(anomaly.disturbed.size),
        "persistence": lasting,
        "sentence": words,
        "geometry": anomaly.geometry,
    }


def _table(rows: list[dict[str, object]]) -> gpd.GeoDataFrame:
    if rows:
        return gpd.GeoDataFrame(rows, columns=list(ANOMALY_COLUMNS), geometry="geometry")
    empty: dict[str, object] = {name: pd.Series(dtype=object) for name in ANOMALY_COLUMNS}
    for name in ("strength", "score", "length_m", "width_m"):
        empty[name] = pd.Series(dtype=float)
    empty["readings"] = pd.Series(dtype=int)
    empty["geometry"] = gpd.GeoSeries([], dtype="geometry")
    return gpd.GeoDataFrame(empty, columns=list(ANOMALY_COLUMNS), geometry="geometry")


def _flagged(
    clean: CleanReadings, marks: dict[int, tuple[str, str, str, float]]
) -> gpd.GeoDataFrame:
    readings = clean.readings.copy()
    found = [marks.get(int(spot)) for spot in readings["spot"]]
    readings["anomaly"] = [mark[0] if mark else "" for mark in found]
    for column, part in (("flag", 1), ("reason", 2)):
        readings[column] = [
            mark[part] if mark else was for mark, was in zip(found, readings[column], strict=True)
        ]
    return readings
