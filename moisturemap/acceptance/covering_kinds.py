"""Kinds of floor covering by the words people write, and limits of another kind.

Method: ``docs/method/acceptance.md``, rule 12.
"""

from __future__ import annotations

import re

from moisturemap.acceptance.verdict import limit_words
from moisturemap.survey import Limit, Survey

_COVERINGS = {
    "wood": r"parquet|parkett|floorboards?|hardwood|wood(?:en)? floor\w*|engineered",
    "laminate": r"laminat\w*|stratifié",
    "tiles": r"(?<!carpet )(?<!vinyl )(?<!rubber )(?<!cork )tiles?\b|fliesen?|stone|carrelage",
    "carpet": r"carpet\w*|teppich\w*|moquette",
    "vinyl": r"vinyl\w*|pvc|lvt",
    "linoleum": r"lino(?:leum)?\b",
    "rubber": r"rubber|kautschuk|caoutchouc",
    "cork": r"cork|kork|liège",
    "resin": r"epoxy\w*|resin|polyurethane",
}

_OF_ADHESIVES = {"resin", "rubber"}
"""Kinds that name what an adhesive is made of as often as a covering."""


def coverings_named(text: str) -> tuple[str, ...]:
    """Return the kinds of covering that a text names.

    Parameters
    ----------
    text : str

    Examples
    --------
    >>> coverings_named("vinyl tiles, and carpet in the office")
    ('carpet', 'vinyl')
    """
    return tuple(name for name, words in _COVERINGS.items() if re.search(words, text, re.I))


def of_another_covering(survey: Survey, limit: Limit) -> str:
    """Say that the document of a limit is of another covering than the job's; "" where it is not.

    Parameters
    ----------
    survey : Survey
    limit : Limit
    """
    covering = survey.details.get("covering", "").strip()
    laid, meant = set(coverings_named(covering)), set(coverings_named(limit.source))
    if not laid or meant & laid or not meant - _OF_ADHESIVES:
        return ""
    return (
        f"{limit_words(limit)} is of a document for another covering by its name"
        f" ({limit.source.strip()}), and the covering is stated as {covering!r}: name the document"
        " of the covering and the adhesive that are laid, with its limit, or put the covering right"
    )
