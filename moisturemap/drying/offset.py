"""How far the meter stood off on each visit, from dry references and check blocks.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from moisturemap.drying.meter_step import floor_steps
from moisturemap.drying.options import DryingOptions
from moisturemap.survey import CleanReadings, agreeing
from moisturemap.zones.part_fell import usual_drift

Array = NDArray[np.float64]

BLOCKS = ("check-block", "dry-reference")
"""References of an instrument check that tell how far a relative meter stands off."""

SAME_VISIT = timedelta(hours=24)
"""A check this near the start of a visit belongs to it."""

WIDEST = 2.2
"""Most by which few references widen the sd of their mean: as two degrees of freedom do."""

IMPLAUSIBLE = 5.0
"""An offset of so many times the usual drift is none of a meter by itself (project choice)."""

LEFT_OPEN = 0.75
"""sd of a doubted offset as a share of it, none at all lies well within (project choice)."""


@dataclass(frozen=True, slots=True)
class VisitOffset:
    """By how much all readings of a visit are taken to be off.

    Attributes
    ----------
    visit : str
    value : float
        Subtracted from every reading of the visit [reading units].
    sd : float
        Standard deviation, common to all places of the visit [reading units].
    how : str
        ``"dry-reference"``, ``"check-block"``, both joined by ``" and "``, or ``"assumed"``.
    doubted : bool
        More than a meter drifts by; the sd then leaves open whether there is one at all.
    fell : bool
        Doubted because the whole floor fell at once, or stayed so.
    """

    visit: str
    value: float
    sd: float
    how: str
    doubted: bool = False
    fell: bool = False


def visit_offsets(
    clean: Sequence[CleanReadings],
    options: DryingOptions,
    days: Array | None = None,
    wet_level: float | None = None,
) -> tuple[tuple[VisitOffset, ...], tuple[str, ...]]:
    """Work out the offset of each visit and say what it rests on.

    A dry reference tells the offset against the first visit that has one, a check block against
    the value it should show. The error of an offset is common to all places of its visit: it does
    not fall when places are averaged.

    Parameters
    ----------
    clean : sequence of CleanReadings
        One a visit.
    options : DryingOptions
        ``drift_sd`` where nothing tells an offset.
    days : ndarray, shape (visits,), optional
        Since the first visit [days]; without them no fall of a whole floor is looked for.
    wet_level : float, optional
        Without it such a fall is looked for from the third visit on only [reading units].

    Returns
    -------
    offsets : tuple of VisitOffset
    notes : tuple of str
    """
    assumed = _assumed_sd(clean, options)
    by_reference = _by_dry_reference(clean)
    by_block = _by_check_block(clean)
    found = []
    for one in clean:
        told = [part[one.visit.id] for part in (by_reference, by_block) if one.visit.id in part]
        if not told:
            found.append(VisitOffset(one.visit.id, 0.0, assumed, "assumed"))
            continue
        weight = np.array([1.0 / max(sd, 1e-9) ** 2 for _, sd, _ in told])
        value = float(weight @ [offset for offset, _, _ in told] / weight.sum())
        how = " and ".join(name for _, _, name in told)
        found.append(VisitOffset(one.visit.id, value, float(weight.sum() ** -0.5), how))
    notes = _said(found, assumed)
    found = [_doubted(one, assumed) for one in found]
    if days is not None:
        found = _stepped(found, floor_steps(clean, days, assumed, wet_level))
    return tuple(found), notes


def _stepped(found: list[VisitOffset], steps: Array) -> list[VisitOffset]:
    """Open the visits on which a whole floor stands lower, where no reference tells why.

    It does so until it rises as a whole. A reference tells a visit against the first that has one,
    so what that one is taken to be off by holds for all after it.
    """
    since: dict[str, float] = {}
    fallen = 0.0
    for visit, one in enumerate(found):
        references = [] if one.how == "assumed" else one.how.split(" and ")
        known = [since[reference] for reference in references if reference in since]
        if known:
            shift = min(known)
        else:
            fallen = min(0.0, fallen + float(steps[visit]))
            shift = fallen
        since.update({reference: shift for reference in references if reference not in since})
        if shift:
            sd = float(np.hypot(one.sd, LEFT_OPEN * abs(shift)))
            found[visit] = replace(one, value=one.value + shift, sd=sd, doubted=True, fell=True)
    return found


def _doubted(offset: VisitOffset, assumed: float) -> VisitOffset:
    """Return an offset no meter drifts by with an sd that leaves open whether there is one.

    A check block tells the meter by itself; floor that was dry may have grown damp.
    """
    if offset.how != "dry-reference" or abs(offset.value) <= IMPLAUSIBLE * assumed:
        return offset
    return replace(
        offset, sd=float(np.hypot(offset.sd, LEFT_OPEN * abs(offset.value))), doubted=True
    )


def doubt_sentences(offsets: Sequence[VisitOffset]) -> tuple[str, ...]:
    """Say that a reference moved more than a meter does: first of all that is said of a change.

    Parameters
    ----------
    offsets : sequence of VisitOffset
    """
    doubted = [one.visit for one in offsets if one.doubted and not one.fell]
    lower = [one.visit for one in offsets if one.fell]
    said = []
    if lower:
        said.append(
            f"On {', '.join(lower)} the whole floor reads lower, its driest part with it, by more "
            "than dries there: another zero, setting, pad or meter as likely as drying, or air "
            "that was made much drier. As much is left open in every change and forecast: read "
            "the check block and floor that is dry for certain on each visit."
        )
    if not doubted:
        return tuple(said)
    return (
        *said,
        f"What was read as dry floor moved on {', '.join(doubted)} by more than a meter drifts: "
        "that floor may not be dry, or another meter or setting was used. "
        "Whether the floor or the reference changed cannot be told, so as much is left open in "
        "every change: read floor that is dry for certain and the check block, and state the "
        "meter.",
    )


def _assumed_sd(clean: Sequence[CleanReadings], options: DryingOptions) -> float:
    if options.drift_sd is not None:
        return options.drift_sd
    return usual_drift(clean[-1], clean[-1].locations["value"].to_numpy(dtype=float))


def _by_dry_reference(clean: Sequence[CleanReadings]) -> dict[str, tuple[float, float, str]]:
    told = {
        one.visit.id: np.asarray(values, dtype=float)
        for one in clean
        if (values := agreeing(one.visit.dry_reference, one.instrument.scale).values)
    }
    several = [values for values in told.values() if values.size > 1]
    if not told:
        return {}
    freedom = sum(values.size - 1 for values in several)
    squares = sum(float(((values - values.mean()) ** 2).sum()) for values in several)
    step = max(clean[-1].step, 1e-9)
    # few references tell their own spread badly: Student's t over the normal distribution
    wide = min(float(stdtrit(freedom, 0.975)) / 1.96, WIDEST) if freedom else 1.0
    spread = max(wide * np.sqrt(squares / freedom) if freedom else 2.0 * step, 0.29 * step)
    first = float(next(iter(told.values())).mean())
    return {
        visit: (float(values.mean()) - first, float(spread / np.sqrt(values.size)), "dry-reference")
        for visit, values in told.items()
    }


def _by_check_block(clean: Sequence[CleanReadings]) -> dict[str, tuple[float, float, str]]:
    told: dict[str, tuple[float, float, str]] = {}
    first: float | None = None
    for one in clean:
        if one.visit.started is None:
            continue
        checks = [
            check
            for check in one.instrument.checks
            if check.reference in BLOCKS and abs(check.when - one.visit.started) <= SAME_VISIT
        ]
        if not checks:
            continue
        read = np.array([check.read for check in checks])
        first = float(read.mean()) if first is None else first
        expected = np.array(
            [first if check.expected is None else check.expected for check in checks]
        )
        sd = max(one.repeat_sd or one.step, 0.29 * one.step, 1e-9) / np.sqrt(read.size)
        told[one.visit.id] = (float((read - expected).mean()), float(sd), "check-block")
    return told


def _said(found: Sequence[VisitOffset], assumed: float) -> tuple[str, ...]:
    told = [one for one in found if one.how != "assumed"]
    untold = [one.visit for one in found if one.how == "assumed"]
    notes = []
    if told:
        each = ", ".join(f"{one.visit} {one.value:+.1f} (sd {one.sd:.1f})" for one in told)
        notes.append(f"Offsets of the meter taken out, by dry reference or check block: {each}.")
    if untold and len(found) > 1:
        which = "No visit has" if not told else f"Visit {', '.join(untold)} has no"
        what = "a dry reference or check block" if not told else "dry reference or check block"
        notes.append(
            f"{which} {what}: a drift of the meter would look like drying, so {assumed:.2g} is "
            "carried as its standard deviation from visit to visit, common to all places (an "
            "assumption)."
        )
    return tuple(notes)
