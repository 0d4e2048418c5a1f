"""How well machines serve the wet floor, as one number.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PlacementScore:
    """How well a kind of machine serves the wet floor.

    Attributes
    ----------
    kind : str
    unit : str
        ``"m"``: mean way of air from the wet floor that is reached to the nearest machine, smaller
        is better;
        ``"%"``: share of the wet floor's weight in a stream of air, larger is better.
    today, proposed : float
        NaN when no machine of the kind stands on the floor, or none reaches any wet floor.
    gain_pct : float
        Of what could be served, over today's positions (over no machine when there is none).
    exact : bool
        True when every combination of the positions was tried.
    today_unreached_pct, unreached_pct : float
        Wet floor's need that no machine of the kind reaches, today and as proposed [%].
    """

    kind: str
    unit: str
    today: float
    proposed: float
    gain_pct: float
    exact: bool
    today_unreached_pct: float = 0.0
    unreached_pct: float = 0.0
