"""Calibrated tests as they were judged, and those that do not speak for the floor."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from moisturemap.acceptance import Decision, reasons_not_judged, why_not_judged
from moisturemap.quantities import three_figures
from moisturemap.report.content import Block, Bullets, Column, Paragraph, Table, Terms
from moisturemap.report.material import Material
from moisturemap.report.picture_words import has_a_say, verdict_of
from moisturemap.report.pictures import tests_map, tests_picture
from moisturemap.report.wording import MISSING, is_missing, text_or_missing, word_of

NO_CORRECTION = 0.05
"""A result changed by less than this is shown as it was read, one decimal [unit of the result]."""


OFTEN = 3
"""What is said of so many tests in the same words stands once, above them (our choice)."""

_INVALID = "not valid, so not judged; it counts against the floor all the same. "
_INVALID_TOLD = (
    "A test that is not valid is not judged, and what it reads counts against the floor all the"
    " same."
)
_ALLOWED = re.compile(r"; (the \S+ allowed [^;]* probe [^;]*)(?=;|$)")
"""What is added for a probe that was not checked, behind the chance of each test."""


def judged(material: Material, decision: Decision) -> list[Block]:
    """Say what each test shows against its limit, and which do not speak for the floor."""
    wording = material.wording
    rows = [row for row in decision.tests.to_dict("records") if has_a_say(row)]
    pictures = (
        tests_map(decision, material.found, material.form),
        tests_picture(decision, material.form),
    )
    blocks: list[Block] = [picture for picture in pictures if picture is not None]
    if rows:
        blocks += [
            _against_the_limit(material, decision, rows),
            *_reasons_of(material, decision, rows),
        ]
    blocks += _unjudged(material, decision)
    blocks.append(Paragraph(wording.sentence(decision.proof)))
    relations = tuple(
        f"Scan and tests on {one.slab}: {wording.sentence(one.reason)}" for one in decision.curves
    )
    return [*blocks, *([Bullets(relations)] if relations else [])]


def _against_the_limit(material: Material, decision: Decision, rows: list[dict[Any, Any]]) -> Table:
    wording = material.wording
    columns = (
        Column("Hole", 0.7),
        Column("Room", 1.0),
        Column("Read", 1.0),
        Column("Depth", 0.8, "right"),
        Column("Result ± U (k = 2)", 1.5, "right"),
        Column("As read", 0.9, "right"),
        Column("Limit", 0.6, "right"),
        Column("Standing", 1.1),
        Column("Verdict", 1.1),
    )
    told = tuple(
        (
            text_or_missing(row["hole"]),
            text_or_missing(row["room"]),
            _day(material, row["read"]),
            wording.depth(row["depth_mm"]),
            _result(row),
            f"{row['raw']:.5g}" if _is_corrected(row) else "the same",
            _limit(decision, row),
            str(row["standing"]),
            verdict_of(row),
        )
        for row in rows
    )
    note = (
        "U: expanded uncertainty. Result: as read, with the correction by the checks, and at the "
        "temperature of the room in service where that is higher."
    )
    return Table("Tests against the limit", columns, told, note=note)


def limit_of(limit: Any) -> str:
    """Write a limit as it is stated, in the unit of the results."""
    return "not stated" if is_missing(limit) else f"{limit:g}"


def _limit(decision: Decision, row: dict[Any, Any]) -> str:
    """Write the limit a test was held against; of one that was not, that of its room."""
    stated = decision.limits.get(str(row["room"]), decision.limits.get(""))
    if stated is not None:
        return f"{stated.value:g} {stated.unit}"
    return limit_of(row["limit"])


def _unjudged(material: Material, decision: Decision) -> list[Block]:
    """List what was recorded and does not speak for the floor, each reason once."""
    told_of = {str(row["test"]): row for row in decision.unjudged.to_dict("records")}
    tests = {str(test.entry.key): test for test in decision.judged}
    found = []
    for keys, reasons in _by_tests(decision).items():
        why = why_not_judged(tests[keys[0]], reasons)
        rows = [told_of[key] for key in keys]
        named = [
            f"{_named(material, row)}: {_value(row)}, {_day(material, row['read'])}" for row in rows
        ]
        method = word_of(str(rows[0]["method"]))
        found.append(("; ".join(named), method, material.wording.sentence(why)))
    if not found:
        return []
    columns = (Column("Tests", 2.4), Column("Method", 0.8), Column("Why", 4.4))
    note = "A test that does not speak for the floor may still count against it."
    return [Table("Tests that do not speak for the floor", columns, tuple(found), note=note)]


def _by_tests(decision: Decision) -> dict[tuple[str, ...], list[str]]:
    """Return the reasons by the keys of the tests, of one method, that they hold for."""
    shared: dict[tuple[str, str, str], list[str]] = {}
    for test in (one for one in decision.judged if not one.judged):
        for reason in dict.fromkeys(reasons_not_judged(test)):
            told = reason.replace(f", {test.entry.label},", "")
            alike = (test.entry.method.key, why_not_judged(test, [told]), told)
            shared.setdefault(alike, []).append(str(test.entry.key))
    found: dict[tuple[str, ...], list[str]] = {}
    for (*_, told), keys in shared.items():
        found.setdefault(tuple(keys), []).append(told)
    return found


def _named(material: Material, row: dict[Any, Any]) -> str:
    hole = text_or_missing(row["hole"])
    if is_missing(row["depth_mm"]):
        return hole
    return f"{hole} at {material.wording.depth(row['depth_mm'])}"


def _day(material: Material, when: object) -> str:
    if is_missing(when) or not isinstance(when, datetime):
        return MISSING
    return material.wording.day(material.wording.here(when))


def _value(row: dict[Any, Any]) -> str:
    return MISSING if is_missing(row["value"]) else f"{three_figures(row['value'])} {row['unit']}"


def _result(row: dict[Any, Any]) -> str:
    if is_missing(row["value"]):
        return MISSING
    told = three_figures(row["value"], row["limit"])
    if is_missing(row["uncertainty"]):
        return f"{told} ± {MISSING} {row['unit']}"
    decimals = max(1, len(told.partition(".")[2]))
    return f"{told} ± {row['uncertainty']:.{decimals}f} {row['unit']}"


def _is_corrected(row: dict[Any, Any]) -> bool:
    return not is_missing(row["raw"]) and abs(row["raw"] - row["value"]) >= NO_CORRECTION


def _why_of(material: Material, row: dict[Any, Any]) -> str:
    return f"Why, {_named(material, row)}"


def _reasons_of(
    material: Material, decision: Decision, rows: list[dict[Any, Any]]
) -> Iterator[Block]:
    """Yield why each test stands as it does, after what is said of many of them alike."""
    say = material.wording.sentence
    once, told = said_once([_reasons(decision, row) for row in rows])
    if once:
        yield Paragraph(" ".join(map(say, once)), "note")
    yield Terms(
        tuple((_why_of(material, row), say(one)) for row, one in zip(rows, told, strict=True))
    )


def said_once(told: list[str]) -> tuple[list[str], list[str]]:
    """Return what many reasons say alike, once and in sentences, and the reasons without it."""
    once = []
    if sum(one.startswith(_INVALID) for one in told) >= OFTEN:
        once.append(_INVALID_TOLD)
        told = [one.removeprefix(_INVALID) for one in told]
    found = Counter(match[1] for one in told for match in _ALLOWED.finditer(one))
    for clause in (one for one, count in found.items() if count >= OFTEN):
        once.append(f"Of each chance below: {clause}.")
        told = [one.replace(f"; {clause}", "") for one in told]
    return once, told


def _reasons(decision: Decision, row: dict[Any, Any]) -> str:
    """Say why a test stands as it does; what keeps it from speaking stands in the next table."""
    if str(row["verdict"]) == "not judged":
        test = next(one for one in decision.judged if one.entry.key == row["test"])
        told = test.against.why
        if test.standing == "invalid":
            told = f"{_INVALID}{told}"
        return told
    parts = [str(row["why"]), *str(row["reasons"]).split("\n")]
    return "; ".join(part for part in parts if part)
