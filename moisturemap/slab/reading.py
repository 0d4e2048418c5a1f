"""A humidity read in a hole."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DepthReading:
    """A humidity read in a hole.

    Attributes
    ----------
    depth_mm : float
        Below the top face [mm].
    rh_pct : float
        [%RH]
    sd_pct : float
        Standard uncertainty of the reading [%RH]; half the expanded one (k = 2).
    probe : str
        Readings with one probe share part of their error.
    """

    depth_mm: float
    rh_pct: float
    sd_pct: float = 1.0
    probe: str = ""
