"""What people on the job decided about anomalies and holes, over what was computed."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from shapely.geometry import Point

from moisturemap.errors import OptionError

SAME_PLACE_M = 0.6
"""A decision about an anomaly holds for one of its kind within this distance [m]."""

TAPE_M = 0.02
"""Holes are rounded to the tape; within this distance they stand where they were wished [m]."""

SETTING = "decisions"
"""Key of the decisions among the settings of a project."""


@dataclass(frozen=True, kw_only=True)
class AnomalyOverride:
    """What somebody decided about an anomaly, or marked as one.

    ``verdict`` is "accepted", "dismissed" or "marked"; ``places`` holds a place on the anomaly,
    or for a mark its shape: one place a spot, two or more a line, three or more a mesh [m].
    """

    verdict: str
    kind: str
    places: tuple[tuple[float, float], ...]
    why: str
    who: str
    when: str


@dataclass(frozen=True, kw_only=True)
class HoleOverride:
    """A wish about a hole [m].

    ``verdict`` is "pinned" (drill there), "rejected" (not there) or "moved" (to ``to``).
    """

    verdict: str
    x: float
    y: float
    to: tuple[float, float] | None = None
    why: str
    who: str
    when: str


@dataclass(frozen=True)
class Overrides:
    """Overrides of the people on one job, in the order they were taken."""

    anomalies: tuple[AnomalyOverride, ...] = ()
    holes: tuple[HoleOverride, ...] = ()

    def as_plain(self) -> dict[str, Any]:
        """Return plain types to be kept in the project."""
        return {
            "anomalies": [
                {**dataclasses.asdict(one), "places": [list(p) for p in one.places]}
                for one in self.anomalies
            ],
            "holes": [
                {**dataclasses.asdict(one), "to": list(one.to) if one.to else None}
                for one in self.holes
            ],
        }

    def with_anomaly(self, decision: AnomalyOverride) -> Overrides:
        """Return the decisions with one more."""
        return replace(self, anomalies=(*self.anomalies, decision))

    def with_hole(self, decision: HoleOverride) -> Overrides:
        """Return the decisions with one more; one about the same place takes its turn.

        A hole that stands where somebody wished it is no other hole when it is moved on, or not
        wanted after all: the wish that brought it there goes.
        """
        new = [decision]
        brought = next((one for one in self.holes if _brings(one, decision)), None)
        if brought is not None and brought.verdict == "pinned" and decision.to is not None:
            new = [replace(decision, verdict="pinned", x=decision.to[0], y=decision.to[1], to=None)]
        elif brought is not None and brought.to is not None and decision.to is not None:
            new = [replace(decision, x=brought.x, y=brought.y)]
        elif brought is not None and brought.to is not None and decision.verdict == "rejected":
            new = [replace(brought, verdict="rejected", to=None), decision]
        elif brought is not None and decision.verdict == "pinned":
            return self
        here = {(one.x, one.y) for one in new}
        others = [one for one in self.holes if one is not brought and (one.x, one.y) not in here]
        return replace(self, holes=(*others, *new))

    def without(self, which: str, index: int) -> Overrides:
        """Return the decisions without one of ``anomalies`` or ``holes``.

        Raises
        ------
        OptionError
            When there is no such decision.
        """
        kept = list(getattr(self, which))
        if not 0 <= index < len(kept):
            message = "there is no such decision"
            raise OptionError(message, value=index, allowed=f"0 to {len(kept) - 1}")
        del kept[index]
        return replace(self, **{which: tuple(kept)})


def _brings(earlier: HoleOverride, decision: HoleOverride) -> bool:
    """Whether an earlier wish is why a hole stands where another one is about."""
    if earlier.verdict == "rejected":
        return False
    x, y = earlier.to or (earlier.x, earlier.y)
    return math.hypot(x - decision.x, y - decision.y) <= TAPE_M


def overrides_of(settings: Mapping[str, Any]) -> Overrides:
    """Return the decisions kept in the settings of a project.

    Parameters
    ----------
    settings : mapping
        Settings of a project, by name.
    """
    kept = settings.get(SETTING) or {}
    anomalies = [
        AnomalyOverride(**{**one, "places": tuple((float(x), float(y)) for x, y in one["places"])})
        for one in kept.get("anomalies", ())
    ]
    holes = [
        HoleOverride(**{**one, "to": tuple(one["to"]) if one.get("to") else None})
        for one in kept.get("holes", ())
    ]
    return Overrides(tuple(anomalies), tuple(holes))


def override_of(anomaly: Any, decisions: tuple[AnomalyOverride, ...]) -> AnomalyOverride | None:
    """Return the last decision about an anomaly (a row of its table), or None.

    Parameters
    ----------
    anomaly : object
        Row of the table of anomalies.
    decisions : tuple of AnomalyOverride
        What people decided, in order.
    """
    about = [one for one in decisions if one.verdict != "marked" and is_meant(anomaly, one)]
    return about[-1] if about else None


def is_meant(anomaly: Any, decision: AnomalyOverride) -> bool:
    """Return whether an override is about an anomaly (a row of its table): kind and place."""
    near = anomaly.geometry.distance(Point(decision.places[0])) <= SAME_PLACE_M
    return bool(anomaly.kind == decision.kind and near)
