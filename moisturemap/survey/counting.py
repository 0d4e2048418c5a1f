"""How many calibrated tests a floor needs: counting rules of documents, from one place.

Drill plan and verdict count by the same rules, those of ``counts.toml``; verify them against the
current document and override them.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Annotated, Any

from moisturemap.checked import above, at_least, checked, one_of

SURENESS = ("seen", "secondary", "common practice", "memory", "project choice")
"""How well a rule is known: text read; quoted by another source; no single source; remembered;
chosen here."""

SURENESS_WORDS = {
    "seen": "clause seen",
    "secondary": "as quoted by trade guides, clause not seen",
    "common practice": "common practice",
    "memory": "from memory",
    "project choice": "our choice",
}
"""The same in words for a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class CountRule:
    """How many tests a floor area needs: so many for a first area, then for each further one.

    Attributes
    ----------
    id : str
    methods : tuple of str
    units : str
        ``metric``, ``feet`` or ``any``: the unit the job is reported in. Standards pair 1000 ft2
        with 100 m2, which are not the same area.
    first_count, first_area_m2
        So many tests for the first area [m2].
    step_count, step_area_m2
        So many for each further area [m2] or part of it.
    heated : bool or None
        Holds for heated (or unheated) layers only.
    per_room : bool
        Counted in each room by itself, not over the floor.
    over_m2 : float
        Holds for areas above this only [m2].
    words, document, source, sureness : str
    """

    id: str
    methods: tuple[str, ...]
    words: str
    document: str
    source: str
    sureness: Annotated[str, one_of(*SURENESS)]
    units: Annotated[str, one_of("metric", "feet", "any")] = "any"
    first_count: Annotated[int, at_least(1)] = 3
    first_area_m2: Annotated[float, above(0, "m2")] = 100.0
    step_count: Annotated[int, at_least(0)] = 1
    step_area_m2: Annotated[float, above(0, "m2")] = 100.0
    heated: bool | None = None
    per_room: bool = False
    over_m2: Annotated[float, at_least(0, "m2")] = 0.0

    def count(self, area_m2: float) -> int:
        """Return the number of tests needed for a floor area [m2]; 0 where the rule is silent."""
        if area_m2 <= self.over_m2 and self.over_m2 > 0:
            return 0
        further = max(0.0, area_m2 - self.first_area_m2) / self.step_area_m2
        return self.first_count + self.step_count * math.ceil(further - 1e-9)

    def sentence(self, area_m2: float) -> str:
        """Say the rule, the area it was applied to, and how sure it is."""
        count = self.count(area_m2)
        several = "test" if count == 1 else "tests"
        return (
            f"{count} {several} for {area_m2:.1f} m2 by {self.document}: {self.words};"
            f" {SURENESS_WORDS[self.sureness]}, verify against the current document and the"
            " project specification."
        )


@cache
def packaged_counts() -> tuple[CountRule, ...]:
    """Return the counting rules that come with the package."""
    text = files("moisturemap.survey").joinpath("counts.toml").read_text(encoding="utf-8")
    return tuple(CountRule(**_fields(table)) for table in tomllib.loads(text)["count"])


def _fields(table: dict[str, Any]) -> dict[str, Any]:
    return {name: tuple(v) if isinstance(v, list) else v for name, v in table.items()}


def counts_for(
    rules: Sequence[CountRule], method: str, *, units: str = "metric", heated: bool = False
) -> tuple[CountRule, ...]:
    """Return the rules that count tests of a method on a layer; all of them hold at once.

    Parameters
    ----------
    rules : sequence of CountRule
    method : str
        Key of the test method; the one with most tests when left out.
    units : str
        ``metric`` or ``us``.
    heated : bool
    """
    fitting = [r for r in rules if method in r.methods and r.units in (units, "any")]
    own = [r for r in fitting if r.heated is heated]
    general = [r for r in fitting if r.heated is None]
    return tuple(own or general)
