"""Where a floor lies on the site: the place and turn of its plan in a map's coordinates."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from moisturemap.checked import checked, within


@dataclass(frozen=True, slots=True)
@checked
class SitePlace:
    """The place of a plan in a coordinate reference system.

    Attributes
    ----------
    anchor : (float, float)
        Easting and northing of the plan's origin 0, 0 [unit of the system].
    crs : str
        Name of the system, such as ``EPSG:25832``; "" for a grid of the site's own in metres.
    north_deg : float
        Where grid north points on the plan: degrees clockwise from up, as the arrow of the drawing
        shows it.
    unit_m : float
        Metres in the unit of the system.

    Notes
    -----
    A turn and a shift, ISO 19162 calls it a similarity without scale: distances on the floor stay
    as measured. The scale of a projection, at most some millimetres in 10 m, is left out.
    """

    anchor: Annotated[tuple[float, float], within(-1e9, 1e9)]
    crs: str = ""
    north_deg: Annotated[float, within(-360, 360, "degrees")] = 0.0
    unit_m: Annotated[float, within(1e-4, 1e4, "m")] = 1.0

    def placed(self, geometry: BaseGeometry) -> BaseGeometry:
        """Return a geometry of the plan [m] where it lies on the site [unit of the system].

        Parameters
        ----------
        geometry : shapely geometry
        """
        turn = math.radians(self.north_deg)
        cos, sin = math.cos(turn) / self.unit_m, math.sin(turn) / self.unit_m
        matrix = [cos, -sin, sin, cos, *self.anchor]
        return affine_transform(geometry, matrix)
