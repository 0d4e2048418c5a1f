"""What to do next, in the order it matters."""

from __future__ import annotations

from collections.abc import Sequence

from moisturemap.acceptance.asked import asked_by, listed
from moisturemap.acceptance.cover import Cover
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.floor import settling
from moisturemap.acceptance.rule import PlaceRule
from moisturemap.acceptance.sealed import ProfileVerdict
from moisturemap.survey import CountRule

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")

CHECK_RULES = (
    "probe-checked-before",
    "probe-checked-after",
    "probe-deviation",
    "probe-reference-near",
)
LONG_WAIT_DAYS = 365.0
"""A wait beyond this is no plan [days]; our choice."""

TOO_LONG = (
    "Do not plan on a wait of more than a year: ask the maker of the covering about a moisture"
    " barrier, and look for a source that still wets the floor (ground, leak)."
)


def next_steps(
    tests: Sequence[JudgedTest],
    spots: Sequence[ProfileVerdict],
    covers: Sequence[Cover],
    limited: bool,
    conflicting: Sequence[JudgedTest] = (),
) -> tuple[str, ...]:
    """Say what to do next.

    Parameters
    ----------
    limited : bool
        Whether a limit is stated at all.
    conflicting : sequence of JudgedTest
        Results that contradict the limit without being judged by it.
    """
    steps = []
    if not limited:
        steps.append(
            "State the limit: method, value and unit from the document of the covering and adhesive"
            " maker, with its name and revision."
        )
    steps += _wet(tests, spots)
    steps += settling(conflicting)
    steps += _checks(tests)
    steps += _repeats(tests)
    steps += _more(covers)
    steps += [
        f"{one.sentence[0].upper()}{one.sentence[1:]}."
        for one in covers
        if one.met is False and not isinstance(one.rule, CountRule | PlaceRule)
    ]
    return tuple(steps)


def _wet(tests: Sequence[JudgedTest], spots: Sequence[ProfileVerdict]) -> list[str]:
    steps = []
    exceeding = _named_once(tests, spots, "exceeds")
    if exceeding and _under_covering(tests):
        steps.append(
            f"Find what keeps {listed(exceeding)} wet and read again: under a covering the floor"
            " hardly dries. Whether it is taken up is for those who answer for it."
        )
    elif exceeding:
        steps.append(
            f"Keep drying and read again: {listed(exceeding)}. If the floor"
            " was drying and stays wet, look for a source of water before anything else."
        )
    steps += _waits(spots)
    unproven = _named_once(tests, spots, "not proven")
    if unproven:
        steps.append(f"Read again later, or with less uncertainty: {listed(unproven)}.")
    return steps


def _waits(spots: Sequence[ProfileVerdict]) -> list[str]:
    """Say what has no day, and of the rest how long the place dries that takes longest."""
    waits = [(s.spot, s.wait) for s in spots if s.wait is not None and s.wait.days.high > 0]
    without: dict[str, list[str]] = {}
    for name, wait in waits:
        if wait.why_none:
            without.setdefault(wait.sentence, []).append(name)
    steps = [f"{said} This is said of {listed(names)}." for said, names in without.items()]
    named = [(wait, name) for name, wait in waits if not wait.why_none]
    if not named:
        return steps
    longest, name = max(named, key=lambda one: one[0].days.value)
    said = f"{longest.sentence} This is said of {name}."
    if any(spot.spot == name and not spot.valid for spot in spots):
        said = f"{longest.sentence} This is said of {name}, where no test is valid: repeat it."
    if longest.days.value > LONG_WAIT_DAYS:
        steps.append(f"{TOO_LONG} {said}")
    elif without:
        steps.append(f"The floor has no day while one of its places has none. {said}")
    else:
        steps.append(f"Plan the wait and test again before covering. {said}")
    return steps


def _under_covering(tests: Sequence[JudgedTest]) -> bool:
    """Whether all places that exceed lay under a covering when they were read."""
    rooms = [
        (test.entry.room, None if test.read is None else test.read.date())
        for test in tests
        if test.stands_against == "exceeds"
    ]
    return bool(rooms) and all(room and room.slab.covered_on(day) for room, day in rooms)


def _named_once(
    tests: Sequence[JudgedTest], spots: Sequence[ProfileVerdict], verdict: str
) -> list[str]:
    """Name the tests and profiles of a verdict; a test of a named profile is named with it."""
    deep = [s for s in spots if s.governs and s.verdict == verdict]
    within = {key for spot in deep for key in spot.tests}
    names = [
        t.entry.label for t in tests if t.stands_against == verdict and t.entry.key not in within
    ]
    return list(dict.fromkeys([*names, *(spot.spot for spot in deep)]))


def _checks(tests: Sequence[JudgedTest]) -> list[str]:
    wrong: dict[str, None] = {}
    for test in tests:
        if any(f.rule in CHECK_RULES and f.effect == "invalid" for f in test.findings):
            wrong[test.entry.text("instrument") or "the instrument not named"] = None
    if not wrong:
        return []
    return [
        f"Check {listed(list(wrong))} against two saturated salts either side of the limit (NaCl"
        " and KCl for 75 to 85 %RH), before and after the readings, and record it with the"
        " temperature; where no check stands before a reading, read again after it."
    ]


def _repeats(tests: Sequence[JudgedTest]) -> list[str]:
    invalid = [t.entry.label for t in tests if t.standing == "invalid" and not t.superseded]
    return [f"Repeat the invalid tests: {listed(invalid)}."] if invalid else []


def _more(covers: Sequence[Cover]) -> list[str]:
    """Ask for tests that are lacking; places asked for serve the count too."""
    asked = asked_by(covers)
    wanted = [f"one {place}" for place in asked.places]
    total = max(asked.short, len(wanted))
    if total == 0:
        return []
    if len(wanted) > 1 and asked.short <= len(wanted):
        number = f"; the rule on number asks for {_number(asked.short)} more" if asked.short else ""
        several = f"{_number(len(wanted)).capitalize()} places ask for a valid test"
        return [f"{several}: {listed(asked.places)}; one hole may serve several of these{number}."]
    free = total - len(wanted)
    if free and wanted:
        wanted.append(f"{_number(free)} where the scan reads highest among floor not yet tested")
    sentence = f"{_number(total).capitalize()} more {'tests' if total > 1 else 'test'}"
    return [f"{sentence}: {listed(wanted)}." if wanted else f"{sentence}."]


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)
