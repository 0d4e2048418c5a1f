"""Which machines hang on which circuit, and what they draw together.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from moisturemap.equipment.position import outlets_on
from moisturemap.equipment.site import Site
from moisturemap.floorplan import PlanLine, geodesic_distance
from moisturemap.quantities import tape

_CIRCUIT = re.compile(r"\bcircuit\s+(\S+)", re.IGNORECASE)
_RATING = re.compile(r"\b(\d+(?:\.\d+)?)\s*A\b")

ADVICE = (
    "Points of one circuit share its load: add up the rated currents and stay within what a "
    "competent person says the circuit carries."
)


def power_notes(
    site: Site, rows: Sequence[Mapping[str, Any]], current_a: Mapping[str, float]
) -> tuple[str, ...]:
    """Say which machines hang on each power point or circuit, and what they are known to draw.

    Points whose names hold the same ``circuit X`` are one circuit; ``16 A`` in a name is what it is
    rated for.

    Parameters
    ----------
    site : Site
        Any of the kinds.
    rows : sequence of mapping
        Of ``MOVE_COLUMNS``.
    current_a : mapping of str to float
        Current of a machine by name [A], where a log or a list tells it.
    """
    outlets = site.plan.lines_of("power-point")
    standing = [row for row in rows if row["action"] != "remove"]
    if not outlets or not standing:
        return ()
    at = np.array([shapely.get_coordinates(one.geometry.centroid)[0] for one in outlets])
    nearest = _cables(site, standing).argmin(axis=0)
    loads: dict[str, list[str]] = {}
    for row, index in zip(standing, nearest, strict=True):
        loads.setdefault(_label(outlets[index], at[index]), []).append(str(row["machine"]))
    listed = [_load(label, sorted(names), current_a) for label, names in sorted(loads.items())]
    return (f"Nearest power of each machine: {'; '.join(listed)}. {ADVICE}",)


def cable_notes(site: Site, rows: Sequence[Mapping[str, Any]], cable_m: float) -> tuple[str, ...]:
    """Say which machines stand farther from any power point than the cable is long.

    Parameters
    ----------
    site : Site
        Any of the kinds.
    rows : sequence of mapping
        Of ``MOVE_COLUMNS``.
    cable_m : float
        [m]
    """
    standing = [row for row in rows if row["action"] != "remove"]
    if not site.plan.lines_of("power-point") or not standing:
        return ()
    way = _cables(site, standing).min(axis=0)
    far = [
        f"{row['machine']} ({tape(length)} m)" if np.isfinite(length) else f"{row['machine']}"
        for row, length in zip(standing, way, strict=True)
        if length > cable_m
    ]
    if not far:
        return ()
    return (
        f"Beyond {cable_m:g} m of cable from every power point of the plan, laid round walls and "
        f"through open doors: {', '.join(far)}. Draw the point that feeds it, or have a competent "
        "person choose a longer lead.",
    )


def _cables(site: Site, standing: Sequence[Mapping[str, Any]]) -> NDArray[np.float64]:
    """Lengths of cable from each power point to each machine [m]; inf where no way leads."""
    stand = np.array([(row["new_x"], row["new_y"]) for row in standing], dtype=float)
    outlets = outlets_on(site.space, site.plan.lines_of("power-point"))
    return np.asarray(geodesic_distance(site.space, outlets, stand), dtype=float)


def _label(outlet: PlanLine, at: np.ndarray) -> str:
    circuit = _CIRCUIT.search(outlet.name)
    if circuit:
        rating = _RATING.search(outlet.name)
        return f"circuit {circuit[1].rstrip(',;')}" + (f" ({rating[0]})" if rating else "")
    return f"{outlet.name or 'power point'} at ({tape(at[0])}, {tape(at[1])})"


def _load(label: str, names: Sequence[str], current_a: Mapping[str, float]) -> str:
    """Name the machines of a circuit, their known current, and where it is above the rating."""
    said = f"{label}: {', '.join(names)}"
    known = [name for name in names if name in current_a]
    if not known:
        return said
    total = sum(current_a[name] for name in known)
    unknown = [name for name in names if name not in current_a]
    more = f" and what {' and '.join(unknown)} draw{'s' * (len(unknown) == 1)}" if unknown else ""
    said += f", together {total:.1f} A{more}"
    rating = _RATING.search(label)
    if rating and total > float(rating[1]):
        said += f", more than {rating[0]}: part them over other circuits, or run fewer at a time"
    return said
