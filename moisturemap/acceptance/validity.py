"""Whether a test counts, and every reason why not."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from moisturemap.acceptance.measure import DETAILS, MEASURES
from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.rule import Rule, RuleBook
from moisturemap.base_material import material_of
from moisturemap.errors import InputError
from moisturemap.quantities import beside


@dataclass(frozen=True, slots=True)
class Finding:
    """A rule that a test does not keep, or cannot be shown to keep.

    Attributes
    ----------
    test, hole : str
    rule : str
        Id of the rule.
    effect : str
        ``invalid``, ``not-for-limit``, ``widen`` or ``remark``.
    sentence : str
        What was found and what is asked for.
    document, source, sureness : str
        Of the rule.
    missing : bool
        True where the record does not say, False where what it says breaks the rule.
    """

    test: str
    hole: str
    rule: str
    effect: str
    sentence: str
    document: str = ""
    source: str = ""
    sureness: str = ""
    missing: bool = False


def examine(entry: TestEntry, book: RuleBook) -> tuple[Finding, ...]:
    """Hold a test against every rule that applies to it.

    Parameters
    ----------
    entry : TestEntry
        The test as it was recorded.
    book : RuleBook
        Rules in force.
    """
    rules = [rule for rule in book.rules.values() if applies(rule, entry, book)]
    found = [_finding(rule, entry) for rule in rules]
    kept = [one for one in found if one is not None]
    return tuple(_without_lesser(kept, book))


def applies(rule: Rule, entry: TestEntry, book: RuleBook) -> bool:
    """Whether a rule holds for a test: method, edition, slab and surface."""
    if entry.method.key not in rule.methods:
        return False
    base, surface = entry.slab.base.casefold(), entry.text("surface").casefold()
    material = material_of(entry.slab.base)
    return (
        _edition_fits(rule, entry, book)
        and (rule.faces is None or rule.faces == entry.slab.open_faces)
        and (rule.heated is None or rule.heated is bool(entry.slab.heated))
        and (rule.thicker_mm is None or _thickest(entry) > rule.thicker_mm)
        and (not rule.base_has or any(word in base for word in rule.base_has))
        and (not rule.made_of or material in rule.made_of)
        and material not in rule.not_made_of
        and (not rule.surface_has or any(said(word, surface) for word in rule.surface_has))
    )


def _thickest(entry: TestEntry) -> float:
    """Thickness of the layer by the plan or the test, whichever is more; 0 where nobody says."""
    return max(entry.slab.thickness_mm or 0.0, entry.thickness_mm or 0.0)


NEGATIONS = ("not", "no", "non", "never", "without", "free", "un")
"""Words before a finish that turn it into its opposite."""


FILLERS = (
    "of",
    "from",
    "any",
    "old",
    "all",
    "and",
    "or",
    "residue",
    "residues",
    "is",
    "was",
    "were",
)
"""Words passed over between a finish and what turns it into its opposite."""

REMOVED = (["removed"], ["stripped"], ["absent"])
"""Words behind a finish that turn it into its opposite."""


def said(word: str, text: str) -> bool:
    """Whether a text speaks of something: a word of it begins so and is not negated.

    Examples
    --------
    >>> [said("sealed", text) for text in ("sealed with epoxy", "unsealed", "not sealed")]
    [True, False, False]
    """
    parts = [part for part in re.findall(r"\w+", text.casefold()) if part not in FILLERS]
    first = word.casefold().split()
    for k in range(len(parts) - len(first) + 1):
        here = parts[k : k + len(first)]
        fits = here[:-1] == first[:-1] and here[-1].startswith(first[-1])
        gone = (k and parts[k - 1] in NEGATIONS) or parts[k + len(first) :][:1] in REMOVED
        if fits and not gone:
            return True
    return False


def _edition_fits(rule: Rule, entry: TestEntry, book: RuleBook) -> bool:
    if not rule.editions:
        return True
    stated = _plain(entry.text("edition"))
    if any(_plain(edition) in stated for edition in rule.editions):
        return True
    others = [one for one in book.rules.values() if set(one.methods) & set(rule.methods)]
    known = any(_plain(edition) in stated for one in others for edition in one.editions)
    return rule.default and not known


def _plain(text: str) -> str:
    return text.casefold().replace(" ", "").replace("astm", "")


def _finding(rule: Rule, entry: TestEntry) -> Finding | None:
    if rule.measure not in MEASURES:
        message = f"rule {rule.id!r} looks at something unknown"
        raise InputError(message, value=rule.measure, allowed=", ".join(MEASURES))
    value = MEASURES[rule.measure](entry)
    if rule.measure == "always":
        return _made(rule, entry, rule.effect, rule.words)
    if value is None:
        if rule.missing == "ignore":
            return None
        asked = f" ({rule.allowed} is asked for)" if rule.allowed else ""
        return _made(rule, entry, rule.missing, f"{rule.words}: not stated{asked}", missing=True)
    if rule.keeps(value):
        return None
    if rule.is_ is not None:
        detail = DETAILS[rule.measure](entry) if rule.measure in DETAILS else ""
        return _made(rule, entry, rule.effect, (rule.fault or rule.words) + detail)
    sentence = (
        f"{rule.words} is {_shown(float(value), rule)}{rule.after}, {rule.allowed} is asked for"
    )
    return _made(rule, entry, rule.effect, sentence)


def _shown(value: float, rule: Rule) -> str:
    decimals = 0 if abs(value) >= 100 else 1 if abs(value) >= 10 else 2
    told = beside(value, rule.at_least, rule.at_most, rule.above, decimals=decimals)
    return told.rstrip("0").rstrip(".") if "." in told else told


def _made(
    rule: Rule, entry: TestEntry, effect: str, sentence: str, *, missing: bool = False
) -> Finding:
    if rule.note:
        sentence += f"; {rule.note}"
    return Finding(
        entry.key,
        entry.hole,
        rule.id,
        effect,
        sentence,
        rule.document,
        rule.source,
        rule.sureness,
        missing,
    )


def _without_lesser(findings: Sequence[Finding], book: RuleBook) -> list[Finding]:
    """Leave out a remark where a stronger rule already speaks of the same measure."""
    strong = {
        book.rules[f.rule].measure
        for f in findings
        if f.effect == "invalid" and f.rule in book.rules
    }
    return [
        f
        for f in findings
        if f.effect == "invalid"
        or f.rule not in book.rules
        or book.rules[f.rule].measure not in strong
    ]


def standing(findings: Sequence[Finding]) -> str:
    """Return valid, valid with remarks, or invalid."""
    if any(finding.effect == "invalid" for finding in findings):
        return "invalid"
    return "valid with remarks" if findings else "valid"
