"""What a search found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.pattern import Wave
from moisturemap.anomalies.rises import Rises
from moisturemap.anomalies.rivals import Weighed

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Finds:
    """What a search found.

    Attributes
    ----------
    calm : CalmFloor
    things, contested : tuple of Weighed
        Candidates that leave the map, and that stay in it.
    lone : ndarray, shape (n,)
        How far single readings stand off their neighbours [reading]; 0 for most.
    doubtful : ndarray of bool, shape (n,)
        Single readings that may be wet floor.
    plain : ndarray of bool, shape (n,)
        Readings neither wet nor disturbed by anything else: only they may show a pattern.
    rises : Rises
        What is left of short rises.
    waves : tuple of Wave
        Of a regular pattern.
    """

    calm: CalmFloor
    things: tuple[Weighed, ...]
    contested: tuple[Weighed, ...]
    lone: Array
    doubtful: Mask
    plain: Mask
    rises: Rises
    waves: tuple[Wave, ...] = ()
