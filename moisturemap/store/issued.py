"""Issued documents: frozen with what they were made from, and made again to compare."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from moisturemap.errors import InputError, MoistureMapError
from moisturemap.provenance import versions
from moisturemap.store import attachment, record
from moisturemap.store.project import Project
from moisturemap.store.record import Head
from moisturemap.survey import Survey

MEDIA_TYPES = {
    ".pdf": "application/pdf",
    ".docx": "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
    ".html": "text/html",
    ".svg": "image/svg+xml",
    ".png": "image/png",
}

SAME_WITHIN = 1e-6
"""Relative difference up to which a number counts as the same (other processors round else)."""

Compute = Callable[[Survey, Mapping[str, Any]], Mapping[str, Any]]
"""Survey and the options of the document in, its key numbers out."""


@dataclass(frozen=True, slots=True)
class Issue:
    """What a document was made with.

    Attributes
    ----------
    numbers : mapping
        Key numbers printed in it, by name; plain numbers, texts or None.
    options : mapping
        Options it was computed with, as JSON can hold them.
    record_number : int or None
        Entry of the record whose data it was made from, as the document prints it
        (``survey.provenance.options["record_number"]``); the present end of the record by default.
    """

    numbers: Mapping[str, Any]
    options: Mapping[str, Any] = field(default_factory=dict)
    record_number: int | None = None


@dataclass(frozen=True, slots=True)
class Recheck:
    """An issued document against what comes out today from the same data.

    Attributes
    ----------
    document : str
    number : int
        Number (``fid``) of the document.
    differences : tuple of str
        Sentences; empty when the same numbers still come out.
    changes_since : int
        Entries of the record since the issue, other than issued documents.
    versions_then : dict of str to str
        Versions that differ from today's.
    """

    document: str
    number: int
    differences: tuple[str, ...]
    changes_since: int
    versions_then: dict[str, str]

    @property
    def same(self) -> bool:
        """True when the same numbers still come out."""
        return not self.differences


def issue(project: Project, path: str | Path, made_with: Issue, who: str, why: str = "") -> int:
    """Freeze a document in the project it reports on and return its number.

    Parameters
    ----------
    project : Project
    path : str or Path
    made_with : Issue
        Numbers and options the document rests on.
    who : str
        Name of the person.
    why : str
        Reason kept in the record.

    Raises
    ------
    InputError
        If it is no document, or names an entry the record does not have.
    """
    path = Path(path)
    why = why or f"document {path.name} issued"
    return issue_together(project, {path.name: path}, made_with, who, why)[0]


def issue_together(
    project: Project, files: Mapping[str, Path], made_with: Issue, who: str, why: str
) -> list[int]:
    """Freeze documents of one making as one change, all of them or none; return their numbers.

    Parameters
    ----------
    project : Project
    files : mapping of str to Path
        Name of each document, and where its content is.
    made_with : Issue
    who, why : str

    Raises
    ------
    InputError
        If one is no document, or names an entry the record does not have.
    """
    head = _head(project, made_with)
    documents = []
    for name, path in files.items():
        content = path.read_bytes()
        documents.append((_document(project, name, content, made_with, head, who), content))
    return project.issue(documents, who, why)


def _document(
    project: Project, name: str, content: bytes, made_with: Issue, head: Head, who: str
) -> dict[str, Any]:
    media_type = MEDIA_TYPES.get(Path(name).suffix.lower())
    if media_type is None:
        message = "not a document we issue"
        raise InputError(message, value=name, allowed=", ".join(MEDIA_TYPES))
    inputs = [asdict(one) for one in project.survey().provenance.inputs]
    return {
        "name": name,
        "media_type": media_type,
        "size": len(content),
        "sha256": hashlib.sha256(content).hexdigest(),
        "issued": attachment.now(),
        "who": who,
        "record_number": head.number,
        "record_hash": head.hash,
        "data_sha256": project.data_sha256(head.number),
        "options": record.canonical({"options": dict(made_with.options), "inputs": inputs}),
        "versions": record.canonical(versions()),
        "numbers": record.canonical(dict(made_with.numbers)),
    }


def _head(project: Project, made_with: Issue) -> Head:
    number = made_with.record_number
    if number is None:
        return project.head()
    entries = project.record()
    if not 1 <= number <= len(entries):
        message = "the record has no such entry; was the document made from another project?"
        raise InputError(message, value=number, allowed=f"1 to {len(entries)}")
    return Head(number, entries[number - 1].hash, entries[number - 1].made)


def recheck(project: Project, compute: Compute) -> tuple[Recheck, ...]:
    """Compute every issued document's numbers again, from the data as they were then.

    Parameters
    ----------
    project : Project
    compute : callable
        Works the numbers out again.
    """
    return tuple(_recheck(project, row, compute) for row in project.rows("issued_documents"))


def _recheck(project: Project, row: Mapping[str, Any], compute: Compute) -> Recheck:
    entries = project.record()
    then = row["record_number"]
    since = [one for one in entries[then:] if one.layer != "issued_documents"]
    differences = []
    if then > len(entries) or entries[then - 1].hash != row["record_hash"]:
        differences.append(
            "the record of changes was rewritten since: its entry "
            f"{then} no longer ends in the hash the document carries"
        )
    elif project.data_sha256(then) != row["data_sha256"]:
        differences.append("the data the record leads to are not those the document was made from")
    else:
        differences += _compute_again(project, row, compute)
    old, today = json.loads(row["versions"]), versions()
    changed = {name: text for name, text in old.items() if today.get(name) != text}
    return Recheck(row["name"], row["fid"], tuple(differences), len(since), changed)


def _compute_again(project: Project, row: Mapping[str, Any], compute: Compute) -> list[str]:
    # tests age: what was judged on the day of issue is judged again as of that day
    options = {"as_of": row["issued"], **json.loads(row["options"])["options"]}
    printed = json.loads(row["numbers"])
    try:
        found = compute(project.survey(at=row["record_number"]), options)
    except MoistureMapError as error:
        return [f"the numbers cannot be computed any more: {error}"]
    found = json.loads(record.canonical(dict(found)))
    return [
        f"{name}: {found.get(name)!r} comes out, the document says {then!r}"
        for name, then in printed.items()
        if not _same(then, found.get(name))
    ]


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        both_nan = math.isnan(one) and math.isnan(other)
        return both_nan or math.isclose(one, other, rel_tol=SAME_WITHIN, abs_tol=1e-12)
    return bool(one == other)
