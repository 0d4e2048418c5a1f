"""Issues of a report kept in a project file, and what was changed between them."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from moisturemap.store.project import Project
from moisturemap.store.record import RecordEntry

FIRST = "first issue"
MOST_NAMED = 4
"""Corrected values that are told one by one (our choice); beyond, their number alone."""

_DONE = {"add": "added", "correct": "corrected", "remove": "removed"}
_DOCUMENTS = "issued_documents"


@dataclass(frozen=True, slots=True)
class Revision:
    """One issue: number of the report, when, by whom, and what was changed since the one before."""

    number: str
    when: datetime
    who: str
    changed: str


@dataclass(frozen=True, slots=True)
class Revisions:
    """The issues of a job before this report.

    Attributes
    ----------
    earlier : tuple of Revision
    changed : str
        What was changed since the last of them; "" before the first.
    """

    earlier: tuple[Revision, ...] = ()
    changed: str = ""


def revisions_of(project: Project) -> Revisions:
    """Return the reports issued from a project, and what its record says of each.

    Documents of one making, such as PDF and DOCX, are one issue.
    """
    issues: dict[tuple[int, str, str], datetime] = {}
    for row in project.rows(_DOCUMENTS):
        one = (int(row["record_number"]), _number_of(row), str(row["who"]))
        issues.setdefault(one, datetime.fromisoformat(str(row["issued"])))
    if not issues:
        return Revisions()
    entries = project.record()
    told: list[Revision] = []
    at = 0
    for (made_from, number, who), when in issues.items():
        changed = _since(told[-1].number, entries[at:made_from]) if told else FIRST
        told.append(Revision(number, when, who, changed))
        at = made_from
    return Revisions(tuple(told), _since(told[-1].number, entries[at:]))


def _number_of(row: dict[str, object]) -> str:
    """Return the number a document bears; its file name where it was kept without."""
    options = json.loads(str(row["options"])).get("options", {})
    return str(options.get("report") or row["name"])


def _since(number: str, entries: Iterable[RecordEntry]) -> str:
    made = [one for one in entries if one.layer != _DOCUMENTS]
    if not made:
        return f"nothing in the data since {number}"
    counts: dict[str, Counter[str]] = {}
    values: list[str] = []
    for entry in made:
        operation = entry.operation
        counts.setdefault(entry.layer, Counter())[entry.action] += len(operation.fids)
        values += _values(entry)
    parts = [
        f"{layer.replace('_', ' ')}: "
        + ", ".join(f"{count} {_DONE[action]}" for action, count in done.items())
        for layer, done in counts.items()
    ]
    named = f" ({', '.join(values)})" if 0 < len(values) <= MOST_NAMED else ""
    return f"since {number}: {'; '.join(parts)}{named}"


def _values(entry: RecordEntry) -> list[str]:
    """Name the readings and tests whose value was corrected, old and new."""
    if entry.action != "correct" or entry.layer not in ("readings", "tests"):
        return []
    operation = entry.operation
    name = "reading" if entry.layer == "readings" else "hole"
    told = []
    for old, new in zip(operation.old, operation.new, strict=True):
        before, after = (dict(zip(operation.columns, row, strict=True)) for row in (old, new))
        if before.get("value") != after.get("value"):
            which = after.get(name) or after["fid"]
            told.append(f"{which}: {_plain(before['value'])} → {_plain(after['value'])}")
    return told


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
