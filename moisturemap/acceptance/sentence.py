"""The verdict on a floor in a sentence, with what was chosen otherwise than usual."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from moisturemap.acceptance.limit_doubt import beyond_coverings
from moisturemap.acceptance.rule import RuleBook
from moisturemap.acceptance.verdict import CONFLICTING, USUAL_RISK, percent, risk_of
from moisturemap.survey import Limit


def choices_words(accepted_risk: float, book: RuleBook, limits: Mapping[str, Limit | None]) -> str:
    """Say what was chosen otherwise than usual: whoever reads the verdict must know it."""
    said = ""
    if book.altered:
        names = ", ".join(book.altered)
        said += f" The rules of the package were changed by {book.sources[-1]}: {names}."
    if accepted_risk != USUAL_RISK:
        said += (
            f" A consumer's risk of {percent(accepted_risk)} was chosen in place of"
            f" {percent(USUAL_RISK)}, where the document of the limit states none."
        )
    held = [one for one in limits.values() if one is not None]
    stated = sorted({risk_of(one, USUAL_RISK) for one in held if one.risk_pct is not None})
    for risk in stated:
        if risk != USUAL_RISK:
            said += (
                f" The record states a consumer's risk of {percent(risk)} for its limit, where"
                f" {percent(USUAL_RISK)} is usual: see that its document does."
            )
    return said + beyond_coverings(held)


BY_INVALID = (
    "At least one result lies above the limit. None that does is valid: such a test clears nothing"
    " and is not waved away, so the floor counts as above the limit until it is repeated."
)


def verdict_sentence(
    verdict: str, count: int, until: datetime | None, choices: str, *, validly: bool = True
) -> str:
    """Return the verdict in a sentence.

    Parameters
    ----------
    verdict : str
    count : int
        Of the places validly tested.
    until : datetime or None
        Until when a floor that meets does.
    choices : str
        Words of ``choices_words``.
    validly : bool
        Whether a valid result exceeds, where the verdict is that.
    """
    if verdict == "meets":
        sentence = (
            f"Meets the limit at all {count} places validly tested, and the tests cover the floor"
            f" by the rules in force.{choices}"
        )
        if until is not None:
            sentence += (
                f" It holds until {until:%Y-%m-%d} by the rule on the age of tests; a floor left"
                " open after that is read again."
            )
        return sentence
    if verdict == "exceeds" and not validly:
        return BY_INVALID
    if verdict == "exceeds":
        return "Exceeds the limit: at least one place does, and the highest result governs."
    if verdict == CONFLICTING:
        return (
            "Not proven, conflicting evidence: a calibrated result that is not judged by the limit"
            " contradicts it. What would settle it stands among the next steps."
        )
    return "Not proven: the tests do not show that the floor meets the limit."
