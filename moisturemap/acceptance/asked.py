"""Where the rules ask for a valid test, now and once the holes of a plan were tested."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from moisturemap.acceptance.cover import Cover
from moisturemap.acceptance.rule import PlaceRule
from moisturemap.survey import CountRule

LISTED = 6
"""Places named in one sentence before the rest is only counted."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the rules on number and place still ask for.

    Attributes
    ----------
    places : tuple of str
        Each place that lacks a valid test, the wettest floor first: ``"in zone B"``. One hole may
        serve several.
    short : int
        Valid tests that the rules on number lack.
    """

    places: tuple[str, ...]
    short: int


def asked_by(covers: Sequence[Cover]) -> Asked:
    """Return what rules that are not met ask for.

    Parameters
    ----------
    covers : sequence of Cover
    """
    open_ = [one for one in covers if one.required and one.met is False]
    wettest_first = sorted(open_, key=lambda one: not _of_the_wettest(one))
    places = dict.fromkeys(place for one in wettest_first for place in one.lacking)
    counts = [one for one in covers if isinstance(one.rule, CountRule) and not one.met]
    return Asked(tuple(places), sum(one.needed - one.found for one in counts))


def _of_the_wettest(cover: Cover) -> bool:
    return isinstance(cover.rule, PlaceRule) and cover.rule.kind == "wettest-zone"


def holes_words(now: Asked, then: Asked, holes: int) -> str:
    """Say which of the places that ask for a test the holes of a plan leave; "" where none asks.

    Parameters
    ----------
    now, then : Asked
        As things are, and were all holes validly tested.
    holes : int
    """
    if not now.places and not now.short:
        return ""
    if not then.places and not then.short:
        return (
            "Were every hole of this plan tested validly, the rules on number and place of the"
            " tests would ask for no more."
        )
    told = f"the rule on number asks for {then.short} more" if then.short else ""
    if then.places:
        served = len(now.places) - sum(one in now.places for one in then.places)
        told = (
            f"of {len(now.places)} places that ask for a valid test they serve {served}; these are"
            f" left, or asked for then: {listed(then.places)}"
        ) + (f"; and {told}" if told else "")
    return (
        f"This plan does not give all that the rules ask for. Were its {holes} holes tested"
        f" validly, {told}. One further hole may serve several of these."
    )


def listed(items: Sequence[str]) -> str:
    """Name things, and how many more where there are many."""
    shown = list(items[:LISTED])
    if len(items) > LISTED:
        shown.append(f"{len(items) - LISTED} more")
    return ", ".join(shown)
