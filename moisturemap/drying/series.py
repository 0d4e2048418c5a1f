"""The visits that are compared, in order of time.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.offset import VisitOffset, visit_offsets
from moisturemap.drying.options import DryingOptions
from moisturemap.survey import CleanReadings, Visit

Array = NDArray[np.float64]

WEEK_DAYS = 7.0


@dataclass(frozen=True)
class VisitSeries:
    """Visits read with one meter, in order of time.

    Attributes
    ----------
    clean : tuple of CleanReadings
    offsets : tuple of VisitOffset
        One a visit, against the latest, whose map and wet level set the scale.
    days : ndarray, shape (visits,)
        Since the first visit [days]; NaN where a visit states no start.
    notes : tuple of str
    """

    clean: tuple[CleanReadings, ...]
    offsets: tuple[VisitOffset, ...]
    days: Array
    notes: tuple[str, ...] = ()

    @classmethod
    def of(
        cls,
        clean: Sequence[CleanReadings],
        options: DryingOptions,
        wet_level: float | None = None,
    ) -> VisitSeries:
        """Order visits by their start and work out the offsets of the meter.

        Parameters
        ----------
        clean : sequence of CleanReadings
            One a visit.
        options : DryingOptions
        wet_level : float, optional
            With it a whole floor that fell is looked for from the second visit on.

        Returns
        -------
        VisitSeries
        """
        starts = [one.visit.started for one in clean]
        known = [start for start in starts if start is not None]
        first = min(known) if known else None
        days = np.array(
            [
                np.nan
                if start is None or first is None
                else (start - first).total_seconds() / 86400.0
                for start in starts
            ]
        )
        order = np.argsort(days, kind="stable") if np.isfinite(days).all() else np.arange(len(days))
        ordered = tuple(clean[index] for index in order)
        offsets, notes = visit_offsets(ordered, options, days[order], wet_level)
        latest = offsets[-1].value
        offsets = tuple(replace(one, value=one.value - latest) for one in offsets)
        return cls(ordered, offsets, days[order], (*notes, *_time_notes(ordered, days[order])))

    @property
    def visits(self) -> tuple[Visit, ...]:
        """The visits."""
        return tuple(one.visit for one in self.clean)

    @property
    def timed(self) -> bool:
        """True when rates can be worked out: all starts are known and not all are the same."""
        return bool(np.isfinite(self.days).all() and np.ptp(self.days) > 0.0)

    def change_weights(self, first: int = 0, last: int = -1) -> Array:
        """Weights (visits,) of the change between two visits.

        Parameters
        ----------
        first, last : int
            Indices of visits.

        Returns
        -------
        ndarray, shape (visits,)
            -1 and 1.
        """
        weights = np.zeros(len(self.clean))
        weights[first] -= 1.0
        weights[last] += 1.0
        return weights

    def rate_weights(self) -> Array:
        """Weights (visits,) of the least-squares slope over all visits [1/week].

        Returns
        -------
        ndarray, shape (visits,)
        """
        centred = self.days - self.days.mean()
        return np.asarray(WEEK_DAYS * centred / (centred @ centred))

    def common_sd(self, weights: Array) -> float:
        """Return the sd that offsets give to a weighted sum of visits [reading units].

        Parameters
        ----------
        weights : ndarray, shape (visits,)

        Returns
        -------
        float
        """
        return float(np.sqrt(weights**2 @ np.array([one.sd**2 for one in self.offsets])))


def _time_notes(clean: Sequence[CleanReadings], days: Array) -> tuple[str, ...]:
    notes = []
    untimed = [one.visit.id for one in clean if one.visit.started is None]
    if untimed:
        notes.append(
            f"Visit {', '.join(untimed)} states no start: changes are shown, rates and "
            "forecasts are not."
        )
    elif len(clean) > 1:
        same = np.flatnonzero(np.diff(days) == 0.0)
        for index in map(int, same):
            notes.append(
                f"Visits {clean[index].visit.id} and {clean[index + 1].visit.id} state "
                "the same time: what differs between them is not drying."
            )
    return tuple(notes)
