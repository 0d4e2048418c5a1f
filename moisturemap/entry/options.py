"""Options as they are typed at a door."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from moisturemap.bundles import StudyOptions
from moisturemap.drying import DryingOptions
from moisturemap.equipment import PlacementOptions
from moisturemap.errors import OptionError


def drill_options(
    *,
    count: int | None = None,
    clearance_m: float | None = None,
    pinned: Sequence[str] = (),
    rejected: Sequence[str] = (),
) -> StudyOptions:
    """Return study options for a drill plan; places are texts like ``"3.2,1.5"`` [m].

    Parameters
    ----------
    count : int, optional
        Holes instead of the rule's number.
    clearance_m : float, optional
        From what is flagged, known services, joints [m].
    pinned : sequence of str
        Places ``"x,y"`` [m] that get a hole.
    rejected : sequence of str
        Places ``"x,y"`` [m] that get none.
    """
    options = StudyOptions()
    drilling = replace(
        options.drilling,
        count=count,
        pinned=tuple(_place(text) for text in pinned),
        rejected=tuple(_place(text) for text in rejected),
    )
    if clearance_m is not None:
        drilling = replace(drilling, clearance_m=clearance_m)
    return replace(options, drilling=drilling)


def _place(text: str) -> tuple[float, float]:
    try:
        x, y = (float(part) for part in text.split(","))
    except ValueError:
        message = "a place is two numbers in metres with a comma between"
        raise OptionError(message, value=text, allowed="x,y such as 3.2,1.5") from None
    return x, y


def drying_options(*, dry_level: float | None = None) -> DryingOptions:
    """Return options of a comparison; ``dry_level`` is the reading of dry floor.

    Parameters
    ----------
    dry_level : float, optional
        Reading of dry floor [reading units].
    """
    return DryingOptions(asymptote=dry_level)


def placement_options(
    *,
    dehumidifiers: int | None = None,
    air_movers: int | None = None,
    throw_m: float = 6.0,
    cable_m: float = 10.0,
    ceiling_m: float | None = None,
    closed_doors: Sequence[str] = (),
) -> PlacementOptions:
    """Return options of a placement; see ``PlacementOptions``.

    Parameters
    ----------
    dehumidifiers : int, optional
        How many.
    air_movers : int, optional
        How many.
    throw_m : float
        Reach of an air mover [m].
    cable_m : float
        Length of a cable [m].
    ceiling_m : float, optional
        Height of the rooms [m].
    closed_doors : sequence of str
        Names of doors that stay shut.
    """
    return PlacementOptions(
        dehumidifiers=dehumidifiers,
        air_movers=air_movers,
        throw_m=throw_m,
        cable_m=cable_m,
        ceiling_m=ceiling_m,
        closed_doors=tuple(closed_doors),
    )
