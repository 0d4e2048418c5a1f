"""Disturbed readings and what disturbs them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import geopandas as gpd

from moisturemap.anomalies.rises import Rises

ANOMALY_KINDS = ("line", "spot", "mesh", "stray")

STANDINGS = ("thing", "contested")
"""``thing``: its readings leave the map. ``contested``: it may be wet floor; its readings stay in
the map with the flag ``contested``, and the drill plan keeps clear of it all the same."""

ANOMALY_COLUMNS = (
    "anomaly",
    "kind",
    "standing",
    "odds",
    "room",
    "domain",
    "strength",
    "score",
    "length_m",
    "width_m",
    "readings",
    "persistence",
    "confirmed",
    "sentence",
    "geometry",
)
"""``anomaly`` is "L1", "S1", "M1", "X1" by kind; ``standing`` is one of ``STANDINGS``; ``odds`` are
those of a thing against wet floor and a step, at most even for what is contested, NaN where it was
not weighed against them (patterns, single readings, marks); ``room`` is the one most of it lies in,
for a line may run through several (``rooms_crossed``); ``strength`` in reading units,
``score`` that over its standard error; ``readings`` is how many readings it disturbs; ``length_m``
is NaN for what is not a line; ``width_m`` is the standard deviation of the response across it, for
mesh the distance between crests, NaN for a single reading; ``persistence`` is "", "persists" or
"dries"; ``confirmed`` is False for a line that hides readings above the wet level, no sweep
shows and the plan has no service along: a band of wet floor as narrow may read alike; geometry is a
line for ``line``, a point for ``spot`` and ``stray``, a polygon for ``mesh``."""


@dataclass(frozen=True)
class Anomalies:
    """Anomalies of one visit.

    Attributes
    ----------
    table : geopandas.GeoDataFrame
        Columns ``ANOMALY_COLUMNS``.
    readings : geopandas.GeoDataFrame
        The readings of ``CleanReadings`` with ``flag`` set to the anomaly's kind, or to
        ``contested``, and ``reason`` and ``anomaly`` (its name, else "") filled for the disturbed
        ones.
    limits : tuple of str
        What a grid like this cannot see, in sentences.
    remarks : tuple of str
        What else the search noticed: rows that look keyed in one place too far along, lines that
        form a regular set.
    doubted : tuple of str
        Which sweeps contradict the grid they pass, in sentences; their readings carry the flag
        ``doubted`` where they are left out.
    rises : mapping of str to Rises
        By the key of each domain searched: what speaks for something embedded, named or not.
    """

    table: gpd.GeoDataFrame
    readings: gpd.GeoDataFrame
    limits: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    doubted: tuple[str, ...] = ()
    rises: Mapping[str, Rises] = field(default_factory=dict)
