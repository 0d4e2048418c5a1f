"""The sign of each verdict on a test: shape, fill and stroke tell them apart in grey, too."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from moisturemap.figures.style import INK, MUTED, PAPER, RAMP, WARNING

if TYPE_CHECKING:  # what judges is not loaded for a map
    from moisturemap.acceptance import Decision, ProfileVerdict


@dataclass(frozen=True, slots=True)
class Sign:
    """How a test is drawn; what does not count for the floor is open and struck through."""

    marker: str
    face: str
    edge: str
    struck: bool = False


AGAINST, UNCOUNTED = "against", "not judged"
"""A test that may not speak for the floor but counts against it; one that counts for nothing."""

SIGNS = {
    "exceeds": Sign("D", WARNING, WARNING),
    AGAINST: Sign("D", PAPER, WARNING, struck=True),
    "not proven": Sign("o", PAPER, INK),
    "meets": Sign("o", RAMP[5], RAMP[5]),
    UNCOUNTED: Sign("o", PAPER, MUTED, struck=True),
}
"""By verdict, the gravest first."""

WORDS = {
    "exceeds": "exceeds the limit",
    AGAINST: "not counted for the floor, only against it",
    "not proven": "not proven",
    "meets": "meets the limit",
    UNCOUNTED: "not counted",
}
"""What a key says of each sign."""

STRUCK = (2, 2, -45)
"""Marker of the stroke: a line through the middle."""

STROKE = 1.75
"""Length of the stroke, in widths of its mark."""


def sign_of(test: Mapping[Hashable, Any]) -> str:
    """Return the sign of a test, a row of ``Decision.tests``."""
    against = str(test["counts_against"])
    if test["standing"] == "invalid":
        return AGAINST if against else UNCOUNTED
    return "not proven" if against == "conflict" else against or str(test["verdict"])


def sign_of_spot(spot: ProfileVerdict) -> str:
    """Return the sign of what was worked out from depths."""
    if spot.valid:
        return spot.verdict
    return AGAINST if spot.counts_against else UNCOUNTED


def not_valid(decision: Decision) -> frozenset[str]:
    """Return the keys of the tests that are not valid."""
    invalid = decision.tests.loc[decision.tests["standing"] == "invalid", "test"]
    return frozenset(str(key) for key in invalid)


def sign_lines(sign: Sign, x: float, y: float, size: float = 8.0) -> list[Line2D]:
    """Return the lines that draw a sign, its stroke above it.

    Parameters
    ----------
    sign : Sign
    x, y : float
    size : float
        Width of the mark [pt].
    """
    looks: list[dict[str, Any]] = [
        {"marker": sign.marker, "markersize": size, "markerfacecolor": sign.face}
    ]
    if sign.struck:
        looks.append({"marker": STRUCK, "markersize": STROKE * size})
    common: dict[str, Any] = {"linestyle": "none", "markeredgecolor": sign.edge}
    return [
        Line2D([x], [y], markeredgewidth=1.6 - 0.3 * at, **common, **look)
        for at, look in enumerate(looks)
    ]


def draw_sign(ax: Axes, kind: str, x: float, y: float, *, size: float, zorder: float) -> None:
    """Draw a test on axes, whole where it stands at their edge."""
    for at, line in enumerate(sign_lines(SIGNS[kind], x, y, size)):
        line.set(zorder=zorder + 0.01 * at, clip_on=False)
        ax.add_line(line)


def sign_handle(kind: str, label: str) -> tuple[Line2D, ...]:
    """Return the entry of a key for a sign: its mark, and its stroke where it has one."""
    lines = sign_lines(SIGNS[kind], 0.0, 0.0, 6.0)
    lines[0].set_label(label)
    return tuple(lines)
