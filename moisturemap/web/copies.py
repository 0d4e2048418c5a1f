"""Files of one job beside each other in a folder: which of them holds more, and where they part."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from moisturemap.store import Project


def copies_of(id: str, projects: Mapping[str, Project]) -> tuple[str, ...]:
    """Say in which other files a job lies as well, by the heads of their records.

    Parameters
    ----------
    id : str
        Of the job.
    projects : mapping of str to Project
        All that can be opened, by their ids.
    """
    here = projects[id]
    first = here.hash_of(1)
    return tuple(
        _told(here, other)
        for one, other in projects.items()
        if one != id and first and other.hash_of(1) == first
    )


def _told(here: Project, other: Project) -> str:
    mine, its, name = here.head(), other.head(), other.path.name
    shared = min(mine.number, its.number)
    if here.hash_of(shared) != other.hash_of(shared):
        return (
            f"Also in {name}, which differs from entry {_first_unlike(here, other, shared)} of the"
            " record on: each holds what the other lacks."
        )
    if its.number > mine.number:
        return (
            f"Also in {name}, which is further in the record by {its.number - mine.number}: this"
            " file is the older copy."
        )
    if its.number < mine.number:
        return (
            f"Also in {name}, an older copy: its record is shorter by {mine.number - its.number}."
        )
    return f"Also in {name}, with the same record: what is entered in one is not in the other."


def _first_unlike(here: Project, other: Project, last: int) -> int:
    """Return the first entry in which two records differ; each entry holds the hash before it."""
    alike, unlike = 1, last
    while unlike - alike > 1:
        middle = (alike + unlike) // 2
        if here.hash_of(middle) == other.hash_of(middle):
            alike = middle
        else:
            unlike = middle
    return unlike
