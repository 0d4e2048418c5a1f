"""What an investigation found: the causes, the clues, and what to measure next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import pandas as pd

from moisturemap.investigation.answers import Answers
from moisturemap.investigation.cause import CAUSES
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.explain import Explanation
from moisturemap.investigation.plan_clues import WetPlace
from moisturemap.investigation.standing import Standing
from moisturemap.investigation.tested import TestedPlace

CAUSE_COLUMNS = (
    "cause",
    "standing",
    "why_for",
    "why_against",
    "cannot_be_told_from",
    "words",
    "kinds_for",
    "kinds_against",
    "confirm",
    "who_confirms",
)
"""``standing`` is ``points-to``, ``open``, ``against`` or ``not-looked-at``; reasons are sentences
joined by a space; causes in ``cannot_be_told_from`` are joined by commas."""

EVIDENCE_COLUMNS = (
    "cause",
    "evidence",
    "kind",
    "mark",
    "value",
    "threshold",
    "why",
    "source",
)
"""One row for each cause and clue; ``mark`` is ``for``, ``against``, ``silent`` or
``not-asked``."""

NEXT_COLUMNS = (
    "rank",
    "what",
    "where",
    "x",
    "y",
    "depth_mm",
    "when",
    "divides",
    "expected_pairs",
    "basis",
    "burden",
    "risk",
)
"""``expected_pairs`` is the number of pairs of open causes it is expected to divide, one half way
counting half; ``basis`` is ``simulated``, or ``judged`` where nothing can be simulated and one act
in two is taken to answer."""


@dataclass(frozen=True)
class Investigation:
    """Where the water of a wet or failed floor may come from.

    Attributes
    ----------
    place : TestedPlace or None
        Where depth was read; None without a valid reading at depth.
    wet : WetPlace or None
        The wet zone in question; None without a scan.
    beside : tuple of TestedPlace
        Places on the same slab outside every wet zone.
    answers : Answers
        With what the survey says in their place.
    clues : tuple of Clue
    stands : tuple of Standing
    explanation : Explanation or None
    next_measurements : pandas.DataFrame
        Columns ``NEXT_COLUMNS``, best first.
    margins : pandas.DataFrame
        Surface temperature less dew point over time.
    events : dict of str to date
        What happened when.
    cautions : tuple of str
        To be read first.
    doubts : tuple of str
        What contradicts itself in evidence and dates, to be read before the finding.
    statements : tuple of str
        What was not concluded, and why; limits of use.
    """

    place: TestedPlace | None
    wet: WetPlace | None
    beside: tuple[TestedPlace, ...]
    answers: Answers
    clues: tuple[Clue, ...]
    stands: tuple[Standing, ...]
    explanation: Explanation | None
    next_measurements: pd.DataFrame
    margins: pd.DataFrame
    events: Mapping[str, date] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    statements: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def causes(self) -> pd.DataFrame:
        """The causes by standing; columns ``CAUSE_COLUMNS``."""
        rows = [_cause_row(one) for one in self.stands]
        return pd.DataFrame(rows, columns=list(CAUSE_COLUMNS))

    @property
    def evidence(self) -> pd.DataFrame:
        """Every clue against every cause; columns ``EVIDENCE_COLUMNS``."""
        return evidence_table(self.clues)

    @property
    def open_causes(self) -> tuple[str, ...]:
        """Causes that are pointed to or open."""
        return tuple(one.cause for one in self.stands if one.standing in ("points-to", "open"))

    @property
    def firm(self) -> str:
        """The cause pointed to, or ""."""
        return next((one.cause for one in self.stands if one.standing == "points-to"), "")

    @property
    def sentence(self) -> str:
        """The finding in a sentence."""
        return finding_sentence(self)


def finding_sentence(found: Investigation) -> str:
    """Say what is pointed to, or what stays open."""
    if found.firm:
        words = CAUSES[found.firm].words
        return (
            f"The readings point to {words}, at least in part. To confirm: "
            f"{CAUSES[found.firm].confirm} ({CAUSES[found.firm].who})."
        )
    left = [one for one in found.open_causes if one != "other"]
    if not left and all(one.standing != "against" for one in found.stands):
        return "Nothing that was looked at tells one cause from another yet: measure first."
    unseen = [one for one in found.stands if one.standing == "not-looked-at"]
    unseen = [one for one in unseen if one.cause != "other"]
    if not left and unseen:
        return (
            "What was looked at speaks against each cause that it can tell of. Not looked"
            f" at: {len(unseen)} of the list. Measure first."
        )
    if not left:
        return "No listed cause is left that was looked at: think of another, or of two at once."
    names = "; ".join(CAUSES[one].words for one in left)
    if len(left) == 1:
        return (
            f"What was looked at leaves {names} open, not shown. To confirm:"
            f" {CAUSES[left[0]].confirm} ({CAUSES[left[0]].who})."
        )
    return f"No single cause stands out. Open: {names}."


def _cause_row(one: Standing) -> tuple[object, ...]:
    about = CAUSES[one.cause]
    return (
        one.cause,
        one.standing,
        " ".join(one.why_for),
        " ".join(one.why_against),
        ", ".join(one.alike),
        about.words,
        ", ".join(sorted(one.kinds_for)),
        ", ".join(sorted(one.kinds_against)),
        about.confirm,
        about.who,
    )


def evidence_table(clues: Sequence[Clue]) -> pd.DataFrame:
    """Return every clue against every cause; columns ``EVIDENCE_COLUMNS``."""
    rows = [
        (
            cause,
            clue.key,
            clue.kind,
            clue.mark(cause),
            clue.value,
            clue.threshold,
            clue.sentence,
            clue.source,
        )
        for cause in CAUSES
        for clue in clues
        # how well another cause explains depth is no evidence on this one
        if not clue.key.startswith("depth-profile: ") or clue.key.endswith(f": {cause}")
    ]
    return pd.DataFrame(rows, columns=list(EVIDENCE_COLUMNS))
