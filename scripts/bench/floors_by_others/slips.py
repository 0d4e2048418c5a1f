"""Wrong readings: digits swapped or lost, full scale keyed, the head not flat on the floor."""

from __future__ import annotations

import numpy as np

SLIPS = ("swapped digits", "missing digit", "full scale", "head lifted", "doubled digit")


def draw_slips(
    rng: np.random.Generator, values: np.ndarray, scale: tuple[float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Values with a few slips (0 to 2%), and the mask of those that changed."""
    out = values.copy()
    rate = float(rng.choice([0.0, 0.005, 0.01, 0.02], p=[0.4, 0.25, 0.25, 0.1]))
    for i in np.nonzero(rng.random(len(values)) < rate)[0]:
        out[i] = np.clip(_slip(rng, values[i], scale[1]), *scale)
    return out, out != values


def _slip(rng: np.random.Generator, value: float, top: float) -> float:
    digits = str(round(value))
    kind = str(rng.choice(SLIPS, p=[0.35, 0.25, 0.1, 0.2, 0.1]))
    if kind == "full scale":
        return top
    if kind == "head lifted":
        return float(round(value * rng.uniform(0.2, 0.7)))
    if len(digits) < 2:
        return value
    at = int(rng.integers(len(digits) - 1))
    if kind == "swapped digits":
        return float(digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :])
    if kind == "missing digit":
        return float(digits[:at] + digits[at + 1 :])
    return float(digits[: at + 1] + digits[at:])
