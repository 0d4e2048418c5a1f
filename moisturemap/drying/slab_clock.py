"""How fast the depth of a slab can follow its surface.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math

from moisturemap.floorplan import FloorPlan
from moisturemap.slab import USUAL_DIFFUSIVITY, SlabSpec, outside_model, rounded_days

FACTOR = 2.0
"""D1 of a concrete that was not measured is known to a factor of two."""


def depth_half_life(spec: SlabSpec) -> tuple[float, float]:
    """Shortest and longest half-life of the slowest part of the moisture in a slab [days].

    The first eigenmode of a slab with its faces held dry falls as exp(-pi^2 D t / 4 L^2), L being
    the drying length (Crank, The Mathematics of Diffusion, 2nd ed. 1975, eq. 4.17 in the long-time
    limit), with D from half to twice D1. D1 is that of wet concrete: below about 80 %RH
    diffusivity falls by a factor of 10 and more, so even the longer figure is optimistic there.
    """
    slow = 4.0 * spec.drying_length_mm**2 * math.log(2.0) / (math.pi**2 * spec.diffusivity_mm2_day)
    return slow / FACTOR, slow * FACTOR


def depth_sentences(plan: FloorPlan, rooms: tuple[str, ...]) -> tuple[str, ...]:
    """Say how the depth of the slabs under some rooms lags behind a relative reading.

    Parameters
    ----------
    plan : FloorPlan
    rooms : tuple of str
        Rooms with a forecast.
    """
    said = []
    for name in dict.fromkeys(rooms):
        slab = plan.room(name).slab
        if not slab.thickness_mm:
            continue
        spec = SlabSpec(
            slab.thickness_mm,
            slab.open_faces,
            None,
            slab.base,
            bool(slab.heated),
            USUAL_DIFFUSIVITY,
        )
        if outside_model(spec):
            continue
        low, high = depth_half_life(spec)
        said.append(
            f"{name}: the depth of {slab.thickness_mm:g} mm of concrete drying from "
            f"{'one face' if slab.open_faces == 1 else 'both faces'} halves its excess in about "
            f"{rounded_days(low)} to {rounded_days(high)} days at best, whatever the surface "
            "shows. Only calibrated tests at depth tell when the slab may be covered."
        )
    return tuple(said)
