"""What lies below the folder of a run and is no floor of it, though it may look like one."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from moisturemap.batch.listing import FloorSource
from moisturemap.store.backup import BACKUPS_SUFFIX

SURVEY = "survey.toml"
TABLES = (".csv", ".xlsx")
RUN = "manifest.json"
"""A folder with it holds results, its tables are none of a survey."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A place that is not studied.

    Attributes
    ----------
    path : str
        Relative to the folder of the run.
    why : str
    """

    path: str
    why: str


def find_left_out(
    source: Path, floors: Sequence[FloorSource], *, without: Path | None = None
) -> tuple[LeftOut, ...]:
    """Return what a run leaves out of a folder, in order of path; nothing of a list.

    Surveys inside a survey, linked folders, hidden folders with a survey in them, and folders with
    tables but no ``survey.toml`` in or above them. Copies the program made itself are not named.

    Parameters
    ----------
    source : Path
    floors : sequence of FloorSource
        What the run studies, by :func:`find_surveys`.
    without : Path, optional
        Folder that is not looked into.
    """
    if source.is_file():
        return ()
    surveys = {one.path for one in floors}
    above = {parent for one in floors for parent in one.path.parents}
    results = None if without is None else without.resolve()
    found: list[tuple[Path, str]] = []
    for place, inner, names in os.walk(source):
        here = Path(place)
        if results is not None and here.resolve() == results:
            inner.clear()
            continue
        if here in surveys:
            found += [(one, f"inside the survey {_shown(here, source)}") for one in _within(here)]
            inner.clear()
            continue
        found += [
            (here / one, "a link, not followed") for one in inner if (here / one).is_symlink()
        ]
        hidden = [here / one for one in inner if one.startswith(".")]
        found += [(one, "a hidden folder") for folder in hidden for one in _surveys_in(folder)]
        inner[:] = [one for one in inner if not one.startswith(".") and not _copies(one)]
        if here not in above and RUN not in names and any(_is_table(one) for one in names):
            found.append((here, f"tables, but no {SURVEY}"))
    told = [LeftOut(_shown(path, source), why) for path, why in found]
    return tuple(sorted(told, key=lambda one: one.path))


def _within(survey: Path) -> list[Path]:
    return [one for one in _surveys_in(survey) if one != survey]


def _surveys_in(folder: Path) -> list[Path]:
    """Return the survey folders at or below a folder that is no copy of the program's own."""
    found = []
    for place, inner, names in os.walk(folder):
        inner[:] = [one for one in inner if not _copies(one)]
        if SURVEY in names:
            found.append(Path(place))
    return found


def _copies(name: str) -> bool:
    return name.endswith(BACKUPS_SUFFIX)


def _is_table(name: str) -> bool:
    return name.lower().endswith(TABLES) and not name.startswith((".", "~"))


def _shown(path: Path, source: Path) -> str:
    return path.relative_to(source).as_posix() if path != source else "."
