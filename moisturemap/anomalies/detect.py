"""Detect what disturbs the readings of a visit."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import geopandas as gpd
import numpy as np
import pandas as pd

from moisturemap.anomalies.anomalies import ANOMALY_COLUMNS, Anomalies
from moisturemap.anomalies.assemble import Anomaly, assemble
from moisturemap.anomalies.describe import Told, describe, reason
from moisturemap.anomalies.doubted import DoubtedSweep, doubted_sweeps
from moisturemap.anomalies.finds import Finds
from moisturemap.anomalies.limits import grid_limits, joined
from moisturemap.anomalies.options import DetectOptions
from moisturemap.anomalies.persistence import judge_persistence
from moisturemap.anomalies.remarks import row_remarks, set_remarks
from moisturemap.anomalies.rises import Rises
from moisturemap.anomalies.scene import Scene, scene_of
from moisturemap.anomalies.search import search
from moisturemap.anomalies.visits import values_before
from moisturemap.base_material import TIMBER, material_of
from moisturemap.floorplan import Domain, FloorPlan
from moisturemap.survey import DOUBTED, CleanReadings

Progress = Callable[[str, float], None] | None

LEAST = 20
"""Fewer readings than this on a domain are too few to tell a disturbance from the floor."""

Mark = tuple[str, str, str, tuple[bool, float]]
"""Name, flag and reason given to a location, and what gave them precedence."""

LETTERS = {"line": "L", "spot": "S", "mesh": "M", "stray": "X"}


def _room_of(anomaly: Anomaly, locations: pd.DataFrame, plan: FloorPlan) -> str:
    """Room most of its readings lie in, else the room it lies in itself."""
    if anomaly.disturbed.size:
        return str(locations["room"].iloc[anomaly.disturbed].mode().iloc[0])
    place = anomaly.geometry.representative_point()
    room = plan.room_at(place.x, place.y)
    return room.name if room else ""


@dataclass(frozen=True)
class _Searched:
    """What a search of one domain found; ``low`` are the locations that a doubted sweep leaves."""

    found: list[Anomaly]
    scene: Scene
    finds: Finds
    locations: pd.DataFrame
    doubted: list[DoubtedSweep]
    low: list[tuple[int, DoubtedSweep]]


def _search(
    domain: Domain,
    clean: CleanReadings,
    options: DetectOptions,
    level: float | None,
    earlier: Sequence[CleanReadings],
) -> _Searched | str:
    """Search one domain, or say why it was not searched."""
    locations = clean.locations[clean.locations["domain"] == domain.key].reset_index(drop=True)
    if len(locations) < LEAST:
        few = "1 reading is" if len(locations) == 1 else f"{len(locations)} readings are"
        return (
            f"{few} too few to tell pipes and metal from the floor; nothing was looked for there."
        )
    if locations["value"].nunique() == 1:
        return "all readings are equal, so pipes and metal cannot be told from the floor."
    scene = scene_of(locations, clean, level, options.footprint_m)
    doubted = doubted_sweeps(scene)
    kept = np.ones(len(locations), dtype=bool)
    for one in doubted:
        kept[one.readings] = False
    every = locations["location"].to_numpy()
    low = [(int(every[k]), one) for one in doubted for k in one.readings[one.low]]
    locations, scene = locations[kept].reset_index(drop=True), scene.part(kept)
    before = values_before(scene.points, scene.spacing, earlier, domain.key)
    scene = replace(scene, before=before)
    finds = search(scene)
    found = assemble(finds, scene, domain.geometry, options.flag_from)
    return _Searched(found, scene, finds, locations, doubted, low)


def detect(
    clean: CleanReadings,
    plan: FloorPlan,
    domains: Sequence[Domain],
    *,
    options: DetectOptions | None = None,
    progress: Progress = None,
    earlier: Sequence[CleanReadings] = (),
    levels: Mapping[str, float] | None = None,
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
        Earlier visits, oldest first: what stays between visits is believed more to be a thing, what
        dries less.
    levels : mapping of str to float, optional
        The wet level by domain, where the survey states one: what reads above it and would leave
        the map is held to higher odds. Without it all that stands out is.

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
        level = (levels or {}).get(domain.key)
        result = _search(domain, clean, options, level, earlier)
        if isinstance(result, str):
            notebook.limits.append((where, result))
            continue
        notebook.read(result, domain, plan)
    if progress is not None:
        progress("looked for pipes and metal", 1.0)
    return Anomalies(
        _table(notebook.rows),
        _flagged(clean, notebook.marks),
        joined(notebook.limits),
        tuple(notebook.remarks),
        tuple(notebook.doubted),
        notebook.rises,
    )


@dataclass
class _Notebook:
    """What is written down as the domains are searched; marks are by location."""

    rows: list[dict[str, object]] = field(default_factory=list)
    limits: list[tuple[str, str]] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    doubted: list[str] = field(default_factory=list)
    marks: dict[int, Mark] = field(default_factory=dict)
    rises: dict[str, Rises] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=lambda: dict.fromkeys(LETTERS, 0))

    def read(self, result: _Searched, domain: Domain, plan: FloorPlan) -> None:
        """Write down what the search of a domain found."""
        scene, finds, where = result.scene, result.finds, domain.label
        lines = [(one.geometry, one.strength) for one in result.found if one.kind == "line"]
        over_dry = scene.values - finds.calm.base
        single = [
            (one.geometry.x, one.geometry.y)
            for one in result.found
            if one.kind in ("stray", "spot") and one.strength > 0.0
        ]
        rises = finds.rises.with_courses(lines, over_dry)
        self.rises[domain.key] = rises.with_rows(np.array(single).reshape(-1, 2), scene.spacing)
        self.doubt(result, where)
        timber = all(material_of(plan.room(one).slab.base) == TIMBER for one in domain.rooms)
        told = grid_limits(scene, finds, timber=timber)
        self.limits.extend((where, words) for words in told)
        self.remarks.extend(row_remarks(scene, where))
        named = []
        for anomaly in sorted(result.found, key=lambda one: -one.score):
            lasting = judge_persistence(anomaly, scene, finds.calm)
            name = self.write(anomaly, domain, result.locations, plan, lasting)
            named.append((name, anomaly))
        self.remarks.extend(set_remarks(named, scene.spacing, where))

    def doubt(self, result: _Searched, where: str) -> None:
        """Write down the sweeps that contradict the grid, and mark what of them is left out."""
        self.doubted.extend(f"{where}: {one.sentence}." for one in result.doubted)
        for location, one in result.low:
            self.marks[location] = ("", DOUBTED, one.sentence, (True, np.inf))

    def write(
        self,
        anomaly: Anomaly,
        domain: Domain,
        locations: pd.DataFrame,
        plan: FloorPlan,
        lasting: str,
    ) -> str:
        """Write an anomaly down, mark its readings and return its name."""
        self.counts[anomaly.kind] += 1
        name = f"{LETTERS[anomaly.kind]}{self.counts[anomaly.kind]}"
        room = _room_of(anomaly, locations, plan)
        told = describe(anomaly, plan, room, lasting)
        self.rows.append(_row(name, anomaly, domain, room, lasting, told))
        numbers = locations["location"].to_numpy()[anomaly.disturbed]
        sizes = np.abs(anomaly.effect)
        for location, size, stays in zip(numbers, sizes, anomaly.stays, strict=True):
            before = self.marks.get(int(location))
            flag = "contested" if stays else anomaly.kind
            # a reading over a thing leaves the map, whatever else may lie there
            rank = (not stays, float(size))
            if before is None or rank > before[3]:
                self.marks[int(location)] = (name, flag, reason(anomaly, name, bool(stays)), rank)
        return name


def _row(
    name: str, anomaly: Anomaly, domain: Domain, room: str, lasting: str, told: Told
) -> dict[str, object]:
    return {
        "anomaly": name,
        "kind": anomaly.kind,
        "standing": anomaly.standing,
        "odds": anomaly.odds,
        "room": room,
        "domain": domain.key,
        "strength": anomaly.strength,
        "score": anomaly.score,
        "length_m": anomaly.length,
        "width_m": anomaly.width,
        "readings": int(anomaly.disturbed.size),
        "persistence": lasting,
        "confirmed": told.confirmed,
        "sentence": told.sentence,
        "geometry": anomaly.geometry,
    }


def _table(rows: list[dict[str, object]]) -> gpd.GeoDataFrame:
    if rows:
        return gpd.GeoDataFrame(rows, columns=list(ANOMALY_COLUMNS), geometry="geometry")
    empty: dict[str, object] = {name: pd.Series(dtype=object) for name in ANOMALY_COLUMNS}
    empty["confirmed"] = pd.Series(dtype=bool)
    for name in ("odds", "strength", "score", "length_m", "width_m"):
        empty[name] = pd.Series(dtype=float)
    empty["readings"] = pd.Series(dtype=int)
    empty["geometry"] = gpd.GeoSeries([], dtype="geometry")
    return gpd.GeoDataFrame(empty, columns=list(ANOMALY_COLUMNS), geometry="geometry")


def _flagged(clean: CleanReadings, marks: dict[int, Mark]) -> gpd.GeoDataFrame:
    readings = clean.readings.copy()
    found = [marks.get(int(location)) for location in readings["location"]]
    readings["anomaly"] = [mark[0] if mark else "" for mark in found]
    for column, part in (("flag", 1), ("reason", 2)):
        readings[column] = [
            mark[part] if mark else was for mark, was in zip(found, readings[column], strict=True)
        ]
    return readings
