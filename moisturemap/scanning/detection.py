"""What a square grid of readings can and cannot find."""

from __future__ import annotations

import math

from moisturemap.anomalies import USUAL_FOOTPRINT_M
from moisturemap.anomalies.decision import WITNESS_TO_M
from moisturemap.anomalies.scene import THIN_M
from moisturemap.errors import OptionError

MESH_PITCHES_M = (0.10, 0.15, 0.20)
"""Usual pitches of reinforcing mesh [m] (common practice)."""

SPOT_MISS = 0.05
"""Chance of missing a spot that is still called found."""

LONGEST_WAVE_M = 3.0
"""A false pattern longer than this passes for the swell of the floor itself (our choice) [m]."""


def miss_probability(radius: float, spacing: float) -> float:
    """Return the chance that a circle dropped at random holds no point of a square grid.

    With q = r / G, equation (1): hit = pi q^2 for q <= 1/2; equation (2): hit = pi q^2 -
    4 [q^2 acos(1 / 2q) - sqrt(q^2 - 1/4) / 2] for 1/2 < q < 1 / sqrt 2; 1 beyond.

    Parameters
    ----------
    radius : float
        Radius r of the circle [m].
    spacing : float
        Spacing G of the grid [m].

    References
    ----------
    D. A. Singer and F. E. Wickman, Probability tables for locating elliptical targets with
    square, rectangular and hexagonal point nets, Pennsylvania State University, 1969.
    """
    if radius < 0 or spacing <= 0:
        message = "a radius is not negative and a spacing is positive"
        raise OptionError(message, value=(radius, spacing), allowed="metres")
    q = radius / spacing
    if q >= math.sqrt(0.5):
        return 0.0
    hit = math.pi * q**2
    if q > 0.5:
        hit -= 4 * (q**2 * math.acos(0.5 / q) - 0.5 * math.sqrt(q**2 - 0.25))
    return 1.0 - hit


def smallest_spot(spacing: float, miss: float = SPOT_MISS) -> float:
    """Return the radius [m] of the smallest circle a square grid misses no oftener than this."""
    if not 0 < miss < 1:
        raise OptionError("a chance lies between 0 and 1", value=miss, allowed="0 < miss < 1")
    from scipy.optimize import brentq  # a fifth of a second to load, and no map needs it

    found = brentq(lambda q: miss_probability(q, 1.0) - miss, 0.0, math.sqrt(0.5))
    return float(found) * spacing


def ridge_share(width_sd: float, spacing: float) -> float:
    """Return the share of its height that the reading nearest to a ridge shows at worst.

    exp(-(h / 2)^2 / 2 w^2): the ridge of Gaussian section with sd w runs midway between two
    lines of a grid of spacing h.
    """
    if width_sd <= 0 or spacing <= 0:
        raise OptionError(
            "a width and a spacing are positive", value=(width_sd, spacing), allowed="metres"
        )
    return math.exp(-((spacing / 2) ** 2) / (2 * width_sd**2))


def mesh_alias(pitch: float, spacing: float) -> float:
    """Return the wavelength [m] at which a mesh shows in readings at this spacing.

    1 / |1/p - k/h| with the whole k that makes it longest (sampling theorem; C. E. Shannon,
    Proc. IRE 37 (1949) 10); infinite when the spacing is a multiple of the pitch: every reading
    then stands alike to the wires.
    """
    if pitch <= 0 or spacing <= 0:
        raise OptionError(
            "a pitch and a spacing are positive", value=(pitch, spacing), allowed="metres"
        )
    beat = abs(1 / pitch - round(spacing / pitch) / spacing)
    return math.inf if beat < 1e-9 / pitch else 1 / beat


def telling_apart(spacing: float, footprint: float = USUAL_FOOTPRINT_M) -> str:
    """Say whether a pipe and a band of water can be told apart at a spacing, and at which.

    A reading tells them apart where a usual thing gives less than a sixth of its strength and a wet
    band of sd 0.35 m more than a quarter: from 1.9 widths to 0.56 m beside it (see
    docs/method/anomalies.md). On a grid of that spacing and less the next row lies there, however
    a pipe runs.

    Parameters
    ----------
    spacing : float
        Of the grid [m].
    footprint : float
        Sd of the meter's response across a thin thing [m].
    """
    if not 0 < footprint <= 1:
        raise OptionError("a footprint is positive", value=footprint, allowed="up to 1 m")
    width = math.hypot(footprint, THIN_M)
    if 1.9 * width >= WITNESS_TO_M:
        return (
            f"With a footprint of {footprint:.2g} m (sd) a pipe looks as wide as a band of water "
            "at any spacing: read with a smaller head where services may run."
        )
    if spacing <= WITNESS_TO_M:
        return (
            f"At {spacing:.2g} m a pipe and a narrow band of water can be told apart with a "
            f"footprint of {footprint:.2g} m (sd), most surely at half that spacing."
        )
    return (
        f"At {spacing:.2g} m a pipe along a row and a narrow band of water read alike and stay "
        f"contested: read every {min(0.5, spacing / 2):.2g} m where services may run, or sweep "
        "across what is contested."
    )


def grid_limits(spacing: float, footprint: float | None = None) -> tuple[str, ...]:
    """Say in sentences what readings at a spacing find and what they can miss.

    Parameters
    ----------
    spacing : float
        Between readings [m].
    footprint : float, optional
        Sd of the meter's response across a thin thing [m]; None takes a usual one.
    """
    spot = 2 * smallest_spot(spacing)
    sentences = [
        f"At {spacing:.2g} m between readings a wet spot {spot:.2g} m across is missed with a "
        f"chance of {SPOT_MISS:.0%}; smaller ones more often.",
        telling_apart(spacing, footprint or USUAL_FOOTPRINT_M),
    ]
    narrow = 0.08
    share = ridge_share(narrow, spacing)
    if share < math.exp(-0.5):
        sentences.append(
            f"A pipe that disturbs a strip some {4 * narrow:.2g} m wide shows as little as "
            f"{share:.0%} of its height where it runs between the readings: pipes and cables "
            "cannot be excluded. Read every 0.15 m across the places where it matters."
        )
    hidden = [p for p in MESH_PITCHES_M if mesh_alias(p, spacing) > LONGEST_WAVE_M]
    waves = {p: mesh_alias(p, spacing) for p in MESH_PITCHES_M if p not in hidden}
    long_waves = [
        f"{p * 1000:.0f} mm mesh as waves of {w:.2g} m"
        for p, w in waves.items()
        if w > 2 * spacing * 0.999 and p < 2 * spacing
    ]
    if long_waves:
        sentences.append(f"Reinforcement may look like heating loops: {', '.join(long_waves)}.")
    if hidden:
        listed = " or ".join(f"{p * 1000:.0f} mm" for p in hidden)
        sentences.append(
            f"Mesh of {listed} pitch lifts neighbouring readings alike and cannot "
            "be seen at this spacing."
        )
    return tuple(sentences)
