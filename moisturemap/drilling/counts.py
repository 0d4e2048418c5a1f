"""How many holes: counting rules of published documents, as data to be verified and overridden."""

from __future__ import annotations

import math
from dataclasses import dataclass

from moisturemap.errors import OptionError

SQUARE_FEET_1000 = 1000 * 0.3048**2
"""1000 square feet [m2]: 92.90, not 100. Documents pair the two; count in the unit of the job."""

CERTAINTIES = {
    "seen": "clause seen",
    "secondary": "as quoted by trade guides, clause not seen",
    "memory": "from memory",
}


@dataclass(frozen=True, slots=True)
class CountRule:
    """A counting rule: so many for a first area, then so many for each further area or part of it.

    Attributes
    ----------
    key : str
        Short name to choose it by.
    document, edition : str
        Where the rule is from.
    method : str
        What is counted.
    first_count, first_area_m2 : int, float
        Tests for the first area [m2].
    step_count, step_area_m2 : int, float
        Tests for each further area [m2] or part of it.
    words : str
        The rule as a sentence fragment, in its own units.
    certainty : str
        One of ``CERTAINTIES``: how well the rule is known here.
    """

    key: str
    document: str
    edition: str
    method: str
    first_count: int
    first_area_m2: float
    step_count: int
    step_area_m2: float
    words: str
    certainty: str

    def __post_init__(self) -> None:
        if self.first_count < 1 or self.step_count < 0:
            message = "a counting rule needs at least one test"
            raise OptionError(message, value=(self.first_count, self.step_count))
        if self.first_area_m2 <= 0 or self.step_area_m2 <= 0:
            message = "areas of a counting rule must be positive"
            raise OptionError(message, value=(self.first_area_m2, self.step_area_m2))
        if self.certainty not in CERTAINTIES:
            allowed = ", ".join(CERTAINTIES)
            raise OptionError("unknown certainty", value=self.certainty, allowed=allowed)

    def count(self, area_m2: float) -> int:
        """Return the number of tests for a floor area [m2]."""
        further = max(0.0, area_m2 - self.first_area_m2) / self.step_area_m2
        return self.first_count + self.step_count * math.ceil(further - 1e-9)

    def sentence(self, area_m2: float) -> str:
        """Say the rule, the area it was applied to, and how sure it is."""
        edition = f" ({self.edition})" if self.edition else ""
        return (
            f"{self.count(area_m2)} for {area_m2:.1f} m2 by {self.document}{edition}: "
            f"{self.words}; {CERTAINTIES[self.certainty]}, verify against the current document and "
            "the project specification."
        )


_RULES = (
    CountRule(
        "astm-f2170",
        "ASTM F2170",
        "2009 and later",
        "in-situ RH",
        3,
        100.0,
        1,
        100.0,
        "3 for the first 100 m2 and 1 for each further 100 m2 or part of it",
        "secondary",
    ),
    CountRule(
        "astm-f2170-ft2",
        "ASTM F2170",
        "2009 and later",
        "in-situ RH",
        3,
        SQUARE_FEET_1000,
        1,
        SQUARE_FEET_1000,
        "3 for the first 1000 ft2 (92.9 m2) and 1 for each further 1000 ft2 or part of it",
        "secondary",
    ),
    CountRule(
        "as-1884",
        "AS 1884",
        "2021",
        "in-situ RH",
        3,
        100.0,
        1,
        100.0,
        "3 for the first 100 m2 and 1 for each further 100 m2",
        "secondary",
    ),
    CountRule(
        "astm-f1869",
        "ASTM F1869",
        "2011",
        "moisture vapour emission",
        3,
        SQUARE_FEET_1000,
        1,
        SQUARE_FEET_1000,
        "3 for the first 1000 ft2 (92.9 m2) and 1 for each further 1000 ft2",
        "seen",
    ),
    CountRule(
        "hood-8203",
        "practice after BS 8203 and BS 8201",
        "",
        "hood",
        4,
        50.0,
        1,
        50.0,
        "4 for the first 50 m2 and 1 for each further 50 m2 (50 to 100 m2 is remembered)",
        "memory",
    ),
    CountRule(
        "carbide",
        "German test practice after DIN 18560-1",
        "2015",
        "carbide",
        2,
        100.0,
        1,
        200.0,
        "1 to 2 up to 100 m2, then 1 for each 200 m2, at least 1 a storey",
        "secondary",
    ),
    CountRule(
        "timber-pin",
        "NWFA guidelines",
        "",
        "pin readings in timber",
        20,
        SQUARE_FEET_1000,
        20,
        SQUARE_FEET_1000,
        "20 readings for each 1000 ft2 (92.9 m2) of wood subfloor, averaged",
        "secondary",
    ),
)

COUNT_RULES = {rule.key: rule for rule in _RULES}
"""Counting rules by key."""

DEFAULT_RULE = "astm-f2170"


def count_rule(rule: str | CountRule) -> CountRule:
    """Return a rule by its key, or the rule itself.

    Raises
    ------
    OptionError
        When no rule has that key.
    """
    if isinstance(rule, CountRule):
        return rule
    if rule not in COUNT_RULES:
        raise OptionError("unknown counting rule", value=rule, allowed=", ".join(COUNT_RULES))
    return COUNT_RULES[rule]
