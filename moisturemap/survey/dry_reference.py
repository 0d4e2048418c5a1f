"""Readings taken on floor known to be dry, without those that cannot be of such floor.

One slip of the pen among them raises the wet level above every reading, and hides wet floor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

APART, OWN_SCATTER = 6.0, 0.03
"""A value is left out this many scatters from the median of all; the scatter is the median absolute
deviation times 1.4826, and at least this share of the median. Project choice."""

FEWEST = 3
"""Values among which one can stand apart."""


@dataclass(frozen=True)
class DryReference:
    """Dry readings of a visit by whether they are used.

    Attributes
    ----------
    values : tuple of float
        Those that agree [reading units].
    left_out : tuple of float
        Those off the scale, at its upper end, or far from the others [reading units].
    """

    values: tuple[float, ...]
    left_out: tuple[float, ...]

    @property
    def words(self) -> str:
        """Say what was left out; "" where nothing was."""
        if not self.left_out:
            return ""
        named = ", ".join(f"{value:g}" for value in self.left_out)
        return (
            f"Of the readings on floor known to be dry, {named} cannot be of such floor (off the "
            "scale, at its end, or far from the others) and is left out: correct the entry."
        )


def agreeing(values: Sequence[float], scale: tuple[float, float] | None) -> DryReference:
    """Part dry readings from those that cannot be of dry floor.

    Parameters
    ----------
    values : sequence of float
        As recorded [reading units].
    scale : (float, float) or None
        Lowest and highest value the meter can show [reading units].

    Examples
    --------
    >>> agreeing([30, 31, 300, 29], (0, 100)).left_out
    (300,)
    >>> agreeing([30, 31, 29, 33], None).left_out
    ()
    """
    read = np.array(values, dtype=float)
    kept = np.isfinite(read)
    if scale is not None:
        kept &= (read >= scale[0]) & (read < scale[1])
    if kept.sum() >= FEWEST:
        middle = float(np.median(read[kept]))
        off = np.abs(read - middle)
        scatter = max(1.4826 * float(np.median(off[kept])), OWN_SCATTER * abs(middle))
        kept &= off <= APART * scatter
    return DryReference(
        tuple(one for one, use in zip(values, kept, strict=True) if use),
        tuple(one for one, use in zip(values, kept, strict=True) if not use),
    )
