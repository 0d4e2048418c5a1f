"""How well machines serve the wet floor, as one number."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PlacementScore:
    """How well a kind of machine serves the wet floor.

    Attributes
    ----------
    kind : str
    unit : str
        ``"m"``: mean way of air from wet floor to the nearest machine, smaller is better;
        ``"%"``: share of the wet floor's weight in a stream of air, larger is better.
    today, proposed : float
        NaN for today when no machine of the kind stands on the floor.
    gain_pct : float
        Of what could be served, over today's positions (over no machine when there is none).
    exact : bool
        True when every combination of the positions was tried.
    """

    kind: str
    unit: str
    today: float
    proposed: float
    gain_pct: float
    exact: bool
