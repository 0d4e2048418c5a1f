"""How many pairs of open causes an act is expected to divide, by the rules that will judge it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from itertools import combinations

import numpy as np

from moisturemap.investigation.act import Act
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.explain import CAP, Explanation
from moisturemap.investigation.standing import LEAN, Standing, behind, ruled_out, standings

SHOWS = 0.7
"""Share of acts that show a cause that acts: leaks pause, dye is lost, an opening misses the tear
(our choice; no rates were found for floors)."""

SHOWS_WRONGLY = 0.05
"""Share of acts that show a cause that does not act (our choice)."""

UNSEEN = 0.5
"""A cause nobody looked at weighs this much of one that is open (our choice)."""

OPEN = ("open", "points-to")


def expected_by_act(
    act: Act,
    clues: Sequence[Clue],
    stands: Sequence[Standing],
    explanation: Explanation | None,
) -> tuple[float, tuple[str, ...]]:
    """Pairs of open causes an act is expected to divide, and the causes left that it tells.

    Each cause left is taken to act, in turn; the act shows it or not; what it says joins the clues,
    and the causes are put in their standing again. A pair counts as divided when one of the two is
    then spoken against or shown, and the other is not; a result that speaks against the cause that
    acts, or shows another, divides nothing.

    Parameters
    ----------
    act : Act
    clues : sequence of Clue
        From which the standings follow.
    stands : sequence of Standing
    explanation : Explanation or None
    """
    left = [one.cause for one in stands if one.standing in OPEN and one.cause != "other"]
    unseen = [one.cause for one in stands if one.standing == "not-looked-at"]
    touched = tuple(cause for cause in (*left, *unseen) if cause in act.tells)
    # where hardly anything is open, the causes nobody looked at are what is left to divide
    others = unseen if len(left) < 2 else [one for one in unseen if one in act.tells]
    causes = [*left, *others]
    if not touched or len(causes) < 2:
        return 0.0, touched
    share = _shares(causes, unseen, stands, explanation)
    pairs = list(combinations(causes, 2))
    expected = 0.0
    for found in (True, False):
        # what nobody looked at is not divided from others by speaking against it
        against = _against((*clues, act.clue(found)), explanation) & set(left)
        shown = act.tells if found and act.says != "against" else frozenset()
        for cause, weight in share.items():
            if cause in against or (shown and cause not in shown):
                continue
            chance = SHOWS if cause in act.tells else SHOWS_WRONGLY
            chance = chance if found else 1.0 - chance
            expected += weight * chance * _divided(pairs, against, shown)
    return act.answers_share * expected, touched


def _shares(
    causes: Sequence[str],
    unseen: Collection[str],
    stands: Sequence[Standing],
    explanation: Explanation | None,
) -> Mapping[str, float]:
    """How much each cause left weighs: by depth, and by the kinds that speak for and against it."""
    known = {one.cause: one for one in stands}
    weight = {}
    for cause in causes:
        one = known[cause]
        kinds = len(one.kinds_for - {"depth"}) - len(one.kinds_against - {"depth"})
        ratio = behind(cause, explanation)
        depth = 1.0 / (LEAN if ratio is None else max(ratio, 1.0))
        weight[cause] = float(np.clip(depth * LEAN**kinds, 1.0 / CAP, CAP))
        weight[cause] *= UNSEEN if cause in unseen else 1.0
    total = sum(weight.values())
    return {cause: one / total for cause, one in weight.items()}


def _against(clues: Sequence[Clue], explanation: Explanation | None) -> frozenset[str]:
    """Causes spoken against by clues, the last of them not heard before."""
    again = None if explanation is None else explanation.without(ruled_out(clues))
    return frozenset(one.cause for one in standings(clues, again) if one.standing == "against")


def _divided(
    pairs: Sequence[tuple[str, str]], against: Collection[str], shown: Collection[str]
) -> int:
    """Pairs of which one is spoken against, or shown, and the other is not."""
    return sum(
        (first in against) != (second in against) or (first in shown) != (second in shown)
        for first, second in pairs
    )
