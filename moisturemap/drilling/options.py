"""Options of the drill plan."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from moisturemap.checked import checked
from moisturemap.drilling.counts import BY_LIMIT, count_rule
from moisturemap.errors import OptionError
from moisturemap.survey import CountRule

Place = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
@checked
class Weights:
    """Weights of the one objective the plan maximises; every term lies between about 0 and 1.

    Attributes
    ----------
    wettest : float
        Chance that a hole lies in the wettest twentieth of the floor, and to a quarter how high
        the highest hole reads.
    domain : float
        Share of the separately mapped parts of the floor with a hole.
    zone : float
        Share of the wet zones, by area, with a hole.
    dry_reference : float
        How dry the driest hole is, by rank.
    calibration : float
        How evenly the holes spread over the quantiles of the scan.
    coverage : float
        How near the floor is to its nearest hole.
    perimeter : float
        Share of the exterior walls with a hole within 0.91 m (3 ft).
    undisturbed : float
        Less the chance that something hidden lies within the clearance, over that under unread
        floor, hole by hole.
    """

    wettest: float = 8.0
    domain: float = 4.0
    zone: float = 2.0
    dry_reference: float = 1.0
    calibration: float = 1.0
    coverage: float = 1.0
    perimeter: float = 1.0
    undisturbed: float = 1.0


@dataclass(frozen=True, kw_only=True, slots=True)
@checked
class DrillOptions:
    """What the user may choose about a drill plan.

    Attributes
    ----------
    count_rule : str or CountRule
        Key of ``COUNT_RULES`` or a rule of one's own; ``by-limit`` takes that of the method of the
        limit.
    count : int or None
        Number of holes in concrete or screed instead of the rule's.
    clearance_m : float
        From flagged lines and spots (their footprint included), known services, joints, keep-clear
        areas and other holes [m]; from known services at least ``KNOWN_SERVICE_M`` all the same.
    wall_clearance_m : float
        From walls and columns [m].
    pinned : tuple of (float, float)
        Places [m] that must have a hole; the rest is planned around them.
    moved : tuple of ((float, float), (float, float))
        A hole taken from a place to another [m]: the first is rejected, the second pinned.
    kept : tuple of (float, float)
        Places [m] of holes proposed before one was moved: they stay where their clearances allow.
    rejected : tuple of (float, float)
        Places [m] that shall have no hole within ``reject_radius_m``.
    reject_radius_m : float
    done : tuple of (float, float)
        Holes drilled already [m]; they count, and are listed with status "done".
    count_earlier : bool
        True counts the drilled tests of the survey as done holes; otherwise they are only kept
        clear of.
    beside : tuple of str
        Names of anomalies to confirm with a hole beside them, outside their clearance.
    places : int
        Most places the floor is thinned to for planning.
    draws : int
        Conditional draws behind the chance of hitting the wettest twentieth.
    patch_radius_m : float
        Radius of the round wet patch whose chance to be missed is stated [m].
    weights : Weights
    seed : int
    """

    count_rule: str | CountRule = BY_LIMIT
    count: int | None = None
    clearance_m: float = 0.3
    wall_clearance_m: float = 0.1
    pinned: tuple[Place, ...] = ()
    moved: tuple[tuple[Place, Place], ...] = ()
    kept: tuple[Place, ...] = ()
    rejected: tuple[Place, ...] = ()
    reject_radius_m: float = 0.5
    done: tuple[Place, ...] = ()
    count_earlier: bool = False
    beside: tuple[str, ...] = ()
    places: int = 500
    draws: int = 300
    patch_radius_m: float = 1.0
    weights: Weights = field(default_factory=Weights)
    seed: int = 20_260_103

    def __post_init__(self) -> None:
        if self.count_rule != BY_LIMIT:
            count_rule(self.count_rule)
        if self.count is not None and self.count < 1:
            raise OptionError("a drill plan needs a hole", value=self.count, allowed="1 or more")
        for name in ("clearance_m", "wall_clearance_m", "reject_radius_m", "patch_radius_m"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0):
                message = f"{name} must be a length in metres"
                raise OptionError(message, value=value, allowed="0 or more")

    @property
    def wanted(self) -> tuple[Place, ...]:
        """Places pinned, and those holes were moved to."""
        return (*self.pinned, *(new for _, new in self.moved))

    @property
    def unwanted(self) -> tuple[Place, ...]:
        """Places rejected, and those holes were moved from."""
        return (*self.rejected, *(old for old, _ in self.moved))
