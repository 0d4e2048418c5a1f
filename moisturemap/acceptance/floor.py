"""The verdict on a floor, from its tests, its spots and what they cover.

The order of judgement, and the moves under which it is monotone: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from moisturemap.acceptance.cover import Cover
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.sealed import ProfileVerdict
from moisturemap.acceptance.verdict import CONFLICTING
from moisturemap.quantities import spoken_figures


@dataclass(frozen=True)
class FloorVerdict:
    """The verdict and why.

    Attributes
    ----------
    verdict : str
        ``meets``, ``exceeds``, ``not proven`` or ``not proven: conflicting evidence``.
    reasons : tuple of str
        The governing one first.
    conflicting : tuple of JudgedTest
        Valid results that contradict the limit without being judged by it.
    brief : mapping of str to str
        Reasons that are long, each in one line that carries its numbers; "" for a result that a
        later one replaces, which is no reason any more.
    """

    verdict: str
    reasons: tuple[str, ...]
    conflicting: tuple[JudgedTest, ...] = ()
    brief: Mapping[str, str] = field(default_factory=dict)


def floor_verdict(
    judged: Sequence[JudgedTest],
    spots: Sequence[ProfileVerdict],
    covers: Sequence[Cover],
    unlimited: Sequence[str] = (),
    doubts: Sequence[str] = (),
) -> FloorVerdict:
    """Weigh everything; the gravest governs and nothing is averaged.

    A result speaks for the floor only when it is valid, fresh and the latest of its place. Against
    the floor every result speaks, valid or not: what is above the limit is not waved away.

    Parameters
    ----------
    judged : sequence of JudgedTest
    spots : sequence of ProfileVerdict
    covers : sequence of Cover
    unlimited : sequence of str
        Rooms for which no limit is stated though others have one.
    doubts : sequence of str
        What in the record cannot be.
    """
    speaking = sorted((test for test in judged if test.judged), key=_excess, reverse=True)
    against = sorted((test for test in judged if test.stands_against), key=_excess, reverse=True)
    governing = [spot for spot in spots if spot.governs]
    clashing = tuple(
        test
        for test in against
        if test.stands_against == "conflict" and not _explained(test, governing)
    )
    said = [(t.stands_against, _said(t)) for t in against if t.stands_against != "conflict"]
    said += [("not proven", _said(t)) for t in clashing if t.standing == "invalid"]
    said += [(s.verdict, f"{_spot_named(s)}: {s.why}") for s in governing]
    conflicting = tuple(test for test in clashing if test.standing != "invalid")
    exceeding = [why for verdict, why in said if verdict == "exceeds"]
    doubtful = [*doubts, *(why for verdict, why in said if verdict == "not proven")]
    clashes = [_said(test) for test in conflicting]
    gaps = [one.sentence for one in covers if one.required and one.met is False]
    gaps += [f"no limit is stated for {', '.join(unlimited)}"] if unlimited else []
    if not speaking and not exceeding:
        gaps.insert(0, "no valid test was held against a limit")
    replaced = [_replaced(test) for test in judged if test.superseded and _failed(test)]
    reasons = (*exceeding, *clashes, *doubtful, *gaps, *replaced)
    brief = {_said(test): _briefly(test) for test in against} | dict.fromkeys(replaced, "")
    if exceeding:
        return FloorVerdict("exceeds", reasons, conflicting, brief)
    if clashes:
        return FloorVerdict(CONFLICTING, reasons, conflicting, brief)
    if doubtful or gaps:
        return FloorVerdict("not proven", reasons, brief=brief)
    highest = speaking[0]
    governs = f"the highest result governs, {highest.entry.label}: "
    why = f"{governs}{highest.verdict.why}"
    brief |= {why: f"{governs}{highest.verdict.short}"}
    return FloorVerdict("meets", (why, *replaced), brief=brief)


def exceeds_validly(judged: Sequence[JudgedTest], spots: Sequence[ProfileVerdict]) -> bool:
    """Whether a valid test or profile exceeds the limit, not only such as are to be repeated."""
    tests = any(t.standing != "invalid" and t.stands_against == "exceeds" for t in judged)
    return tests or any(s.valid and s.governs and s.verdict == "exceeds" for s in spots)


def _excess(test: JudgedTest) -> float:
    found = test.verdict.excess
    found = test.against.excess if found is None else found
    return 1.0 if found is None else found


def _said(test: JudgedTest) -> str:
    """Say what stands against the floor, and why a test that is not valid still does."""
    sentence = f"{_named(test)}: {test.against.why}"
    if test.standing == "invalid":
        first = next(f.sentence for f in test.findings if f.effect == "invalid")
        sentence += (
            f". The test is not valid ({first}), so it cannot clear the floor; nor is what it read"
            " waved away: repeat it"
        )
    elif not test.fresh and test.age_days is not None:
        sentence += f". It is {test.age_days:.0f} days old: read it again"
    return sentence + (f" ({test.note})" if test.note else "")


def _briefly(test: JudgedTest) -> str:
    """Say the same in one line, with the numbers that make it true."""
    return f"{_named(test)}: {test.against.short}"


def _named(test: JudgedTest) -> str:
    return f"{test.entry.label} (not valid)" if test.standing == "invalid" else test.entry.label


def _spot_named(spot: ProfileVerdict) -> str:
    return spot.spot if spot.valid else f"{spot.spot} (not valid)"


def _failed(test: JudgedTest) -> bool:
    return test.against.verdict in ("exceeds", "not proven", "conflict")


def _replaced(test: JudgedTest) -> str:
    return f"earlier, {test.entry.label}: {test.against.why}; {test.verdict.why}"


def _explained(test: JudgedTest, governing: Sequence[ProfileVerdict]) -> bool:
    """Whether the profile of its spot speaks for it: deep floor is damper by nature."""
    return any(spot.estimate is not None and test.entry.key in spot.tests for spot in governing)


def settling(conflicting: Sequence[JudgedTest]) -> list[str]:
    """Say what would settle evidence that conflicts."""
    steps = []
    for test in conflicting:
        steps.append(
            f"Settle {test.entry.label} ({spoken_figures(test.value or 0.0)}"
            f" {test.entry.method.units[0]}, {test.entry.method.key}): read the same place again by"
            " the same method, and beside it by the method and depth of the limit; read the slab"
            " there at three depths, from which the humidity under the covering is worked out; or"
            f" have the author of the limit state one for {test.entry.method.quantity.label}."
        )
    return steps
