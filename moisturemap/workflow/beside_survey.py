"""What lies beside a survey.toml: the memory of an unpacked project, and lists nobody named."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from moisturemap.survey import Survey
from moisturemap.survey.note_words import warns_of_drilling
from moisturemap.survey.own_words import LEFT_UNREAD

_TABLES = (".csv", ".tsv", ".txt", ".xlsx", ".geojson", ".json", ".dxf", ".dwg", ".ifc")
_NAMES = re.compile(r"service|utilit|\bmep\b|\bm ?& ?e\b|\bhvac\b|tga\b|réseaux?", re.IGNORECASE)
"""Common names of drawings and lists of services, beside the words that notes use."""


def with_beside(survey: Survey, folder: Path, expected: str) -> Survey:
    """Return a survey with what the files beside it tell.

    Parameters
    ----------
    survey : Survey
    folder : Path
    expected : str
        Fingerprint that ``survey.toml`` states of the memory of former changes.
    """
    from moisturemap.store import former_of_folder

    told = former_of_folder(folder, expected)
    notes = (*survey.notes, *told.get("notes", ()), *_left_unread(survey, folder))
    return replace(survey, **{**told, "notes": notes})


def _left_unread(survey: Survey, folder: Path) -> list[str]:
    """Say which files beside the survey tell of services by their name and were not read."""
    read = {Path(one.name).name for one in survey.provenance.inputs}
    return [
        f"{path.name} {LEFT_UNREAD}, so it was not read. By its name it tells of services: name it"
        " as the plan, or draw its lines on the plan as known-service, before any drilling."
        for path in sorted(folder.iterdir())
        if path.suffix.lower() in _TABLES and path.name not in read and _of_services(path.stem)
    ]


def _of_services(stem: str) -> bool:
    words = re.sub(r"[_.\-]+", " ", stem)
    return bool(_NAMES.search(words)) or warns_of_drilling(words)
