"""Questions to a floor's truth: its wet patches, its disturbed and its quiet readings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from .floor import Floor
from .raster import CELL
from .things import Thing

OFF, QUIET = 4.0, 1.0  # noise sd
LEAST_PATCH = 1.0  # m2


@dataclass(frozen=True)
class WetPatch:
    """One wet patch: its cells (ny, nx), area (m2), readings in it (indices), peak reading."""

    cells: np.ndarray
    area: float
    readings: np.ndarray
    peak: float


def wet_patches(floor: Floor, least: float = LEAST_PATCH) -> list[WetPatch]:
    """Find connected wet parts (corners touch) of at least ``least`` m2, largest first."""
    labels, count = ndimage.label(floor.truth_wet, structure=np.ones((3, 3)))
    at = _cell_of(floor, floor.points)
    patches = []
    for label in range(1, count + 1):
        cells = labels == label
        area = float(cells.sum()) * CELL**2
        if area >= least:
            readings = np.nonzero(cells[at])[0]
            patches.append(WetPatch(cells, area, readings, float(floor.truth_signal[cells].max())))
    return sorted(patches, key=lambda patch: -patch.area)


def _cell_of(floor: Floor, places: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    rows = np.round((places[:, 1] - floor.y[0]) / CELL).astype(int)
    columns = np.round((places[:, 0] - floor.x[0]) / CELL).astype(int)
    return np.clip(rows, 0, len(floor.y) - 1), np.clip(columns, 0, len(floor.x) - 1)


def errors(floor: Floor) -> np.ndarray:
    """Return what things and slips add to each reading (n,), in noise sd."""
    return (floor.disturbance + floor.slip) / floor.noise_sd


def off_readings(floor: Floor) -> np.ndarray:
    """Mark readings (n,) that a thing or a slip puts off by at least 4 noise sd."""
    return np.abs(errors(floor)) >= OFF


def quiet_readings(floor: Floor) -> np.ndarray:
    """Mark readings (n,) that things and slips put off by less than 1 noise sd."""
    return np.abs(errors(floor)) < QUIET


def peak_of(floor: Floor, thing: Thing) -> float:
    """Largest part (in noise sd, with its sign) one thing adds along its own course."""
    added = floor.disturbed_by(thing.nodes[:: max(len(thing.nodes) // 400, 1)], (thing,))
    return float(added[np.argmax(np.abs(added))]) / floor.noise_sd


def readings_near(floor: Floor, thing: Thing, within: float | None = None) -> np.ndarray:
    """Mark readings (n,) this thing alone puts off by ``within`` (4) noise sd or more."""
    limit = OFF if within is None else within
    return np.abs(floor.disturbed_by(floor.taken_at, (thing,))) >= limit * floor.noise_sd
