"""Where each cause stands: exclusion, simulation and rules put together without a prior."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from moisturemap.investigation.cause import CAUSES, SIDES, THROUGH_INSULATION
from moisturemap.investigation.clue import MEASURED, Clue
from moisturemap.investigation.explain import CAP, DIVIDED, Explanation
from moisturemap.investigation.histories import PAIRS

LEAN = 3.0
"""Ratio from which depth leans against a cause; the first of the bands 1, 3, 20, 100."""

KINDS_FOR = 2
"""Independent kinds that must speak for a cause before it is pointed to (our choice)."""

KINDS_AGAINST = 2
"""Kinds against, none for, from which a cause is spoken against (our choice)."""


NOT_BY_DEPTH = frozenset(("insulation",))
"""Causes that readings in the slab cannot put aside: a screed may read dry over wet insulation
(WTA guidance on drying screeds, from memory)."""

FLOODS_BELOW = frozenset(("flood",))
"""Causes that depth puts aside in a floating screed only when it explains another at least ``CAP``
times better: a flood that ran down the edge wets it from below and at the edge for months, and so
reads like others (on trial floors 4 of 12 such floods were put aside by depth and one false
answer)."""

SOAKS = frozenset(("flood", "surface-water"))
"""Causes whose water suction draws through a whole slab, which then reads alike at all depths as
one does that is fed from a wall: a wall the plan does not speak for puts none aside there
(sorptivity: Hall and Hoff, from memory)."""

NOT_SHOWN_IN_FLOOR = frozenset(("wall",))
"""Causes that readings in the floor never point to: what wets it from both faces at once reads
alike at all depths, as water from the side does, so the wall itself must be looked at (BRE Digest
245, from memory; of 93 findings on trial floors two were wrong, and both named the wall)."""


@dataclass(frozen=True)
class Standing:
    """Where a cause stands.

    Attributes
    ----------
    cause : str
    standing : str
        One of ``STANDINGS``.
    why_for, why_against : tuple of str
        Sentences.
    kinds_for, kinds_against : frozenset of str
    alike : tuple of str
        Open causes it cannot be told from.
    """

    cause: str
    standing: str
    why_for: tuple[str, ...]
    why_against: tuple[str, ...]
    kinds_for: frozenset[str]
    kinds_against: frozenset[str]
    alike: tuple[str, ...] = ()


def ruled_out(clues: Sequence[Clue]) -> frozenset[str]:
    """Causes that measurements contradict, or that two kinds other than depth speak against."""
    found = {cause for clue in clues for cause in clue.excludes}
    physically = found_causes(clues)
    for cause in CAUSES:
        speaking = [clue for clue in clues if clue.mark(cause) == "for" and clue.specific]
        for_ = {clue.kind for clue in speaking} - {"depth"}
        against = {clue.kind for clue in clues if clue.mark(cause) == "against"} - {"depth"}
        measured = bool(against & frozenset(MEASURED))
        if len(against) >= KINDS_AGAINST and measured and not for_:
            found.add(cause)
    return frozenset(found) - physically


def found_causes(clues: Sequence[Clue]) -> frozenset[str]:
    """Causes that were found: they stay open, whatever speaks against them."""
    return frozenset(cause for clue in clues for cause in clue.finds)


def standings(
    clues: Sequence[Clue], explanation: Explanation | None, *, in_doubt: str = ""
) -> tuple[Standing, ...]:
    """Say where every cause stands.

    Parameters
    ----------
    clues : sequence of Clue
    explanation : Explanation or None
        None where depth is not simulated.
    in_doubt : str
        Why nothing firm may be said, or "".
    """
    found = {cause: _first(cause, clues, explanation) for cause in CAUSES}
    kept = found_causes(clues)
    weaker = _outweighed(found, explanation)
    found |= {cause: one for cause, one in weaker.items() if cause not in kept}
    if explanation is not None and not in_doubt:
        firm = _pointed_to(found, explanation)
        if firm:
            found[firm] = _with(found[firm], "points-to")
    told = {key: _alike(one, found, explanation) for key, one in found.items()}
    return tuple(sorted(told.values(), key=lambda one: _order(one, explanation)))


def _first(cause: str, clues: Sequence[Clue], explanation: Explanation | None) -> Standing:
    for_, against = _marks(cause, clues, "for"), _marks(cause, clues, "against")
    kinds_for = frozenset(clue.kind for clue in for_ if clue.specific)
    kinds_against = frozenset(clue.kind for clue in against)
    excluded = any(cause in clue.excludes for clue in clues)
    ratio = behind(cause, explanation)
    if ratio is not None and _soaked_through(cause, clues, explanation):
        ratio = min(ratio, LEAN)
    out = excluded or _out(ratio, _same_side(cause, explanation), kinds_for, kinds_against)
    out = out and cause not in found_causes(clues)
    # neither what speaks against a cause alone nor what speaks for most of them looked at it
    looked = bool(kinds_for) or (explanation is not None and cause in explanation.support)
    standing = "against" if out else "open" if looked else "not-looked-at"
    return Standing(
        cause,
        standing,
        tuple(clue.sentence for clue in for_),
        tuple(clue.sentence for clue in against),
        kinds_for,
        kinds_against,
    )


def _soaked_through(cause: str, clues: Sequence[Clue], explanation: Explanation | None) -> bool:
    """Whether only a wall that nothing else speaks for reads more like it than a soaked slab."""
    if cause not in SOAKS or explanation is None or explanation.best != "wall":
        return False
    seen = {clue.kind for clue in _marks("wall", clues, "for") if clue.specific}
    return explanation.soaked and not seen & {"plan", "opening"}


def _outweighed(
    found: Mapping[str, Standing], explanation: Explanation | None
) -> dict[str, Standing]:
    """Put aside what one kind speaks against where a cause of the same face has two kinds for it.

    The other one has none against it, and depth explains it no worse.
    """
    changed = {}
    for cause, one in found.items():
        if one.standing != "open" or not one.kinds_against or one.kinds_for - {"depth"}:
            continue
        for rival, other in found.items():
            alike = _same_face(cause, rival) and not _in_insulation(cause, rival, explanation)
            if rival != cause and alike:
                strong = len(other.kinds_for - {"depth"}) >= KINDS_FOR and not other.kinds_against
                if other.standing == "open" and strong and not _better(cause, rival, explanation):
                    words = CAUSES[rival].words
                    sentence = (
                        f'"{words}" wets the slab from the same face, with two kinds of evidence'
                        " for it and none against."
                    )
                    why = (*one.why_against, sentence)
                    changed[cause] = replace(one, standing="against", why_against=why)
                    break
    return changed


def _same_face(first: str, second: str) -> bool:
    """Whether two causes wet the slab from the same face."""
    return first in SIDES and SIDES[first] == SIDES.get(second)


def _in_insulation(first: str, second: str, explanation: Explanation | None) -> bool:
    """Whether the water of both may lie in the insulation below a screed: it came by either."""
    floats = explanation is not None and explanation.story.build_up == "floating"
    return floats and {first, second} <= THROUGH_INSULATION


def _better(first: str, second: str, explanation: Explanation | None) -> bool:
    """Whether depth leans to the first of two causes."""
    if explanation is None or not {first, second} <= set(explanation.support):
        return False
    return explanation.ratio(first, second) > LEAN


def _marks(cause: str, clues: Sequence[Clue], mark: str) -> list[Clue]:
    return [clue for clue in clues if clue.mark(cause) == mark]


def behind(cause: str, explanation: Explanation | None) -> float | None:
    """How many times better the best cause explains the depths; None where depth is silent.

    Parameters
    ----------
    cause : str
    explanation : Explanation or None
    """
    if explanation is None or not explanation.explained or cause not in explanation.support:
        return None
    if any(cause in PAIRS[pair] for pair in explanation.better_pairs(LEAN)):
        # part of a pair that explains the readings better than any single cause
        return 1.0
    floats = explanation.story.build_up == "floating"
    lies_below = cause in FLOODS_BELOW or {cause, explanation.best} <= THROUGH_INSULATION
    ratio = explanation.behind(cause)
    if cause in NOT_BY_DEPTH or (floats and lies_below and ratio < CAP):
        return min(ratio, LEAN)
    return ratio


def _out(
    ratio: float | None, same_side: bool, kinds_for: frozenset[str], kinds_against: frozenset[str]
) -> bool:
    """Whether a cause is spoken against: by depth, or by two kinds with none for it."""
    others_for = kinds_for - {"depth"}
    if ratio is not None:
        # depth alone does not overrule two other kinds: the model may be wrong
        # nor, of causes of one face, a single kind: they differ by strength and time, which are
        # assumed
        if ratio >= CAP and len(others_for) < (1 if same_side else KINDS_FOR):
            return True
        if ratio > DIVIDED and not same_side and not others_for:
            return True
    against = kinds_against - {"depth"}
    if ratio is not None and ratio > LEAN:
        against = against | {"depth"}
    return (
        len(against) >= KINDS_AGAINST
        and bool(against & frozenset(MEASURED))
        and not (others_for or ("depth" in kinds_for and ratio is not None and ratio <= LEAN))
    )


def _same_side(cause: str, explanation: Explanation | None) -> bool:
    """Whether a cause wets the slab from the face of the best explained one."""
    return explanation is not None and _same_face(cause, explanation.best)


def _pointed_to(found: Mapping[str, Standing], explanation: Explanation) -> str:
    """Return the one cause that may be pointed to, or ""."""
    if not explanation.explained or explanation.flat or explanation.better_pairs(LEAN):
        return ""
    depths = {round(one.depth_mm) for one in explanation.observations if not one.beside}
    best = explanation.best
    one = found[best]
    if len(depths) < 2 or one.standing != "open" or one.kinds_against:
        return ""
    if best in NOT_SHOWN_IN_FLOOR:
        return ""
    if len(one.kinds_for) < KINDS_FOR or not explanation.fits(best):
        return ""
    # what stays open against depth has other evidence for it, and the two contradict each other
    alone = all(other.standing != "open" for other in found.values() if other.cause != best)
    # what hangs on a single reading may hang on a single mistake
    return best if alone and explanation.steady else ""


def _with(one: Standing, standing: str, alike: tuple[str, ...] = ()) -> Standing:
    return Standing(
        one.cause,
        standing,
        one.why_for,
        one.why_against,
        one.kinds_for,
        one.kinds_against,
        alike,
    )


def _alike(
    one: Standing, found: Mapping[str, Standing], explanation: Explanation | None
) -> Standing:
    """Name the open causes an open one cannot be told from."""
    if one.standing != "open":
        return one
    others = [
        other.cause
        for other in found.values()
        if other.cause != one.cause
        and other.standing == "open"
        and not told_apart(one.cause, other.cause, explanation)
    ]
    return _with(one, one.standing, tuple(others))


def told_apart(first: str, second: str, explanation: Explanation | None) -> bool:
    """Whether depth tells two causes apart."""
    if explanation is None or not explanation.explained:
        return False
    if first not in explanation.support or second not in explanation.support:
        return False
    gap = abs(explanation.support[first] - explanation.support[second])
    return bool(gap > _LOG_DIVIDED)


_LOG_DIVIDED = math.log(DIVIDED)


def _order(one: Standing, explanation: Explanation | None) -> tuple[float, ...]:
    """By standing, then support, then harm if missed."""
    place = {"points-to": 0, "open": 1, "not-looked-at": 2, "against": 3}[one.standing]
    ratio = behind(one.cause, explanation)
    near = 0.0 if ratio is None else float(ratio > LEAN) + float(ratio > DIVIDED)
    return place, -len(one.kinds_for) + len(one.kinds_against), near, CAUSES[one.cause].harm
