"""What the search noticed beside the anomalies: rows keyed out of place, regular sets of lines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.assemble import Anomaly
from moisturemap.anomalies.limits import MESH_PITCHES, alias_wavelength
from moisturemap.anomalies.row import shifted_rows
from moisturemap.anomalies.scene import Scene

Array = NDArray[np.float64]

PARALLEL = np.deg2rad(8.0)
"""Lines this near in direction may form a set [rad]."""

WIDEST_PITCH = 1.2
"""Greatest pitch of a regular set of lines [m]."""

REGULAR = 0.2
"""Greatest coefficient of variation of the pitch of a regular set."""

ALIKE = 0.12
"""A pitch this near to an alias of mesh, as a share, may be mesh."""


def row_remarks(scene: Scene, where: str) -> list[str]:
    """Say which rows look keyed in one place out of step."""
    found = []
    for row in shifted_rows(scene.points, scene.values, scene.spacing):
        along = "x" if row.axis == "y" else "y"
        step = scene.spacing * row.by
        found.append(
            f"{where}: the row at {row.axis} = {row.place:.2f} m fits its neighbours better when "
            f"its values are moved by {step:+.2f} m along {along}: it was likely keyed in one "
            "place out of step; check it against the site sheet."
        )
    return found


def _direction(anomaly: Anomaly) -> float:
    (x0, y0), (x1, y1) = anomaly.geometry.coords[0], anomaly.geometry.coords[-1]
    return float(np.arctan2(y1 - y0, x1 - x0) % np.pi)


def _pitch(lines: list[Anomaly]) -> float | None:
    """Distance between parallel lines when it is regular, else None."""
    angle = _direction(lines[0])
    normal = np.array([-np.sin(angle), np.cos(angle)])
    offsets = np.sort(
        [float(np.array(line.geometry.centroid.coords[0]) @ normal) for line in lines]
    )
    gaps = np.diff(offsets)
    regular = gaps.mean() <= WIDEST_PITCH and gaps.std() <= REGULAR * gaps.mean()
    return float(gaps.mean()) if regular else None


def set_remarks(named: list[tuple[str, Anomaly]], spacing: float, where: str) -> list[str]:
    """Say which straight lines form a regular set, and whether it may be mesh at a false pitch."""
    straight = [
        (name, one) for name, one in named if one.kind == "line" and len(one.geometry.coords) == 2
    ]
    found, done = [], set()
    for name, one in straight:
        if name in done:
            continue
        turn = _direction(one)
        family = [
            (other, line)
            for other, line in straight
            if min(abs(_direction(line) - turn), np.pi - abs(_direction(line) - turn)) <= PARALLEL
        ]
        done |= {other for other, _ in family}
        pitch = _pitch([line for _, line in family]) if len(family) >= 3 else None
        if pitch is None:
            continue
        names = ", ".join(other for other, _ in family)
        found.append(
            f"{where}: {names} run parallel about {pitch:.2f} m apart: likely heating "
            f"loops or regular bars{_mesh_words(pitch, spacing)}."
        )
    return found


def _mesh_words(pitch: float, spacing: float) -> str:
    alike = [
        mesh for mesh in MESH_PITCHES if abs(alias_wavelength(mesh, spacing) / pitch - 1.0) <= ALIKE
    ]
    if not alike:
        return ""
    words = " or ".join(f"{1000 * mesh:.0f} mm" for mesh in alike)
    return f"; mesh of {words} would show at this pitch on a grid of {spacing:.2f} m too"
