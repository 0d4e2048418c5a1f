"""What a grid of readings cannot see, said in sentences."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from moisturemap.anomalies.finds import Finds
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.scene import Scene

MESH_PITCHES = (0.10, 0.15, 0.20)
"""Usual pitches of welded mesh [m] (common practice)."""

LONGEST_WAVE = 3.0
"""A false pattern longer than this passes for the swell of the floor itself (our choice) [m]."""

RELIABLE_STRENGTH = 4.0
"""Strength of a thin long thing the sentence speaks of [noise sd]."""


def alias_wavelength(pitch: float, spacing: float) -> float:
    """Wavelength at which a pattern of a pitch shows on a grid of a spacing [m].

    1/|1/pitch - k/spacing| with k the nearest integer of spacing/pitch; infinite when the pattern
    hits every reading alike and cannot be seen at all.
    """
    ratio = spacing / pitch
    apart = abs(ratio - round(ratio))
    return float("inf") if apart < 0.02 else spacing / apart


def ridge_fraction(width: float, spacing: float) -> float:
    """Least fraction of a ridge's strength its nearest row of readings sees.

    exp(-(spacing/2)^2 / 2 width^2), for a ridge of profile sd ``width`` half way between rows [m].
    """
    return float(np.exp(-0.5 * (0.5 * spacing / width) ** 2))


def joined(told: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """Join what is told of several domains alike into one sentence.

    Parameters
    ----------
    told : sequence of (str, str)
        Name of the domain and what is told of it.
    """
    where: dict[str, list[str]] = {}
    for name, words in told:
        where.setdefault(words, []).append(name)
    return tuple(f"{', '.join(names)}: {words}" for words, names in where.items())


def grid_limits(scene: Scene, finds: Finds, *, timber: bool = False) -> list[str]:
    """Say what the readings of a domain cannot see; timber holds no mesh."""
    spacing = scene.spacing
    widths = [one.shape.width for one in finds.things if isinstance(one.shape, Ridge)]
    told = (
        f"readings every {spacing:.2f} m see a pipe, cable or bar only where the "
        f"scanner responds at least {spacing / 2:.2f} m to each side of it (one standard "
        "deviation); a narrower response can fall between two rows: pipes cannot be "
        "excluded."
    )
    found = [told]
    if widths and min(widths) < spacing / 2:
        share = ridge_fraction(min(widths), spacing)
        found.append(
            f"the narrowest line found responds over about {min(widths):.2f} m (one "
            f"standard deviation); another like it half way between two rows would show only "
            f"{share:.0%} of its strength."
        )
    found.append(_faint(finds))
    if not timber:
        found.append(_aliases(spacing))
    return found


def _faint(finds: Finds) -> str:
    faint = RELIABLE_STRENGTH * finds.calm.noise_sd
    times = f"{RELIABLE_STRENGTH:.0f} times the noise of one reading"
    return f"what lifts a reading by less than about {faint:.0f} ({times}) may go unnoticed."


def _aliases(spacing: float) -> str:
    seen = {pitch: alias_wavelength(pitch, spacing) for pitch in MESH_PITCHES}
    hidden = [f"{1000 * pitch:.0f} mm" for pitch, wave in seen.items() if wave > LONGEST_WAVE]
    shown = [
        f"{1000 * pitch:.0f} mm as {wave:.1f} m"
        for pitch, wave in seen.items()
        if LONGEST_WAVE >= wave > 2.05 * spacing
    ]
    parts = []
    if shown:
        parts.append(f"mesh would show at a false pitch ({', '.join(shown)}), like heating loops")
    if hidden:
        parts.append(
            f"mesh of {' or '.join(hidden)} would lift neighbouring readings alike and stay unseen"
        )
    if not parts:
        return "mesh of the usual pitches would show as an up and down between readings."
    return f"at this spacing {'; '.join(parts)}."
