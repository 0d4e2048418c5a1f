"""Photographs that lie in a survey folder, at the hole, test or reading they show."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from moisturemap.errors import MoistureMapError
from moisturemap.report.content import Picture
from moisturemap.report.pictures import photograph
from moisturemap.report.wording import Wording
from moisturemap.store.attachment import look_into
from moisturemap.survey import Survey

FOLDERS = ("photographs", "photos", "attachments")
"""Folders of a survey whose pictures are shown, too, where no test names them."""

SUFFIXES = (".jpg", ".jpeg", ".png")

_READING = re.compile(r"(?:reading|messwert)[ _.-]*(\d+)", re.IGNORECASE)

Shown = tuple[tuple[Picture, ...], tuple[str, ...]]


def folder_photographs(survey: Survey, wording: Wording) -> Shown:
    """Return the photographs of a survey folder, and what could not be shown.

    A test names its photograph; a file in one of ``FOLDERS`` tells its hole or reading by its own
    name, as ``H1 before.jpg`` or ``reading 12.png`` do, and is shown without one otherwise.

    Parameters
    ----------
    survey : Survey
        Read from a folder; one of a project has its photographs in it.
    wording : Wording

    Returns
    -------
    tuple of Picture, tuple of str
        By hole; and a sentence for each file that is no picture or lies outside the folder.
    """
    folder = survey.folder
    if folder is None or not folder.is_dir():
        return (), ()
    of: dict[Path, list[str]] = {}
    for path, what in _named(survey, folder):
        of.setdefault(path, []).append(what)
    for path, what in _lying(survey, folder):
        of.setdefault(path, [what] if what else [])
    pictures, refused = [], []
    for path, shown in sorted(of.items(), key=lambda one: (not one[1], one[1], one[0].name)):
        name = path.name
        if not path.is_relative_to(folder.resolve()):
            refused.append(
                f"The photograph {name} is not shown: it lies outside the survey folder."
            )
            continue
        try:
            pictures.append(_picture(path, ", ".join(dict.fromkeys(shown)), wording))
        except (MoistureMapError, OSError):
            refused.append(f"The photograph {name} is not shown: it is no readable JPEG or PNG.")
    return tuple(pictures), tuple(refused)


def _picture(path: Path, of: str, wording: Wording) -> Picture:
    content = path.read_bytes()
    taken = look_into(content, path.name).get("taken")
    told = "" if not taken else f"taken {wording.moment(datetime.fromisoformat(taken))}"
    return photograph(content, ", ".join(part for part in (of, told, f"file {path.name}") if part))


def _named(survey: Survey, folder: Path) -> Iterator[tuple[Path, str]]:
    """Yield the pictures that tests name and that are there."""
    tests = survey.tests
    for one in tests.to_dict("records") if "photo" in tests else ():
        name = "" if one["photo"] is None else str(one["photo"]).strip()
        beside = (folder / str(one.get("source") or "")).parent
        found = [place / name for place in (folder, beside) if name and _is_file(place / name)]
        if found:
            depth = one.get("depth_mm")
            deep = "" if depth is None or depth != depth else f", {depth:g} mm deep"
            yield found[0].resolve(), f"Hole {one['hole']}{deep}" if one["hole"] else "Test"


def _lying(survey: Survey, folder: Path) -> Iterator[tuple[Path, str]]:
    """Yield the pictures of the folders for them, with what their names say they show."""
    holes = sorted({str(one) for one in survey.tests["hole"] if str(one)}, key=len, reverse=True)
    for place in (folder / one for one in FOLDERS):
        for path in sorted(place.iterdir()) if place.is_dir() else ():
            if path.suffix.lower() in SUFFIXES and path.is_file():
                yield path.resolve(), _shows(path.stem, holes)


def _shows(stem: str, holes: list[str]) -> str:
    """Say of which hole or reading a file is by its name; "" where it names none."""
    for hole in holes:
        if re.search(rf"(?<![^\W_]){re.escape(hole)}(?![^\W_])", stem, re.IGNORECASE):
            return f"Hole {hole}"
    reading = _READING.search(stem)
    return f"Reading {reading[1]}" if reading else ""


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):  # no system takes it for the name of a file
        return False
