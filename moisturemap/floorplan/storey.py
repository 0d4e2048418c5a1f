"""Storeys of a building that are drawn beside each other in one plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moisturemap.checked import checked, within


@dataclass(frozen=True, slots=True)
@checked
class Storey:
    """A storey.

    Attributes
    ----------
    name : str
    level : int or None
        0 is the ground floor, 1 the one above, -1 the one below; None when not stated: then
        nothing is compared with the storey above.
    origin : (float, float)
        Where a point that all storeys share (a corner of the building, a shaft) is drawn for this
        storey [m].
    """

    name: str
    level: Annotated[int | None, within(-20, 200)] = None
    origin: Annotated[tuple[float, float], within(-1e5, 1e5, "m")] = (0.0, 0.0)
