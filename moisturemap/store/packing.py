"""A survey into a project file."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from moisturemap.provenance import fingerprint
from moisturemap.store import attachment, frames, survey_rows
from moisturemap.store.edits import add_rows
from moisturemap.store.former import BEFORE, read_before, with_lost
from moisturemap.store.project import Project, new_project
from moisturemap.store.record import Head, Signature
from moisturemap.survey import Survey


def pack(survey: Survey, path: str | Path, who: str, why: str = "survey packed") -> Head:
    """Write a survey into a new project file and return the head of its record.

    Parameters
    ----------
    survey : Survey
    path : str or Path
    who : str
        Name of the person.
    why : str
        Reason kept in the record.

    Raises
    ------
    StoreError
        If the path exists, cannot be written, or the disk is full; nothing is left behind then.
    """
    with new_project(Path(path)) as project:
        _fill(project, survey, Signature(who, why, kind="create"))
        return project.head()


def _sources(survey: Survey) -> Iterator[tuple[str, bytes]]:
    """Yield the files the survey was read from that are still what they were then."""
    folder = survey.folder or Path()
    folder = folder if folder.is_dir() else folder.parent
    for known in survey.provenance.inputs:
        path = folder / known.name
        if path.is_file() and fingerprint(path).sha256 == known.sha256:
            yield known.name, path.read_bytes()


def _before(survey: Survey) -> list[dict[str, Any]]:
    """Return as settings what was changed in the project file the folder came from."""
    told = {} if survey.folder is None else read_before(survey.folder)
    told = with_lost(told, survey.lost_record)
    return [survey_rows.setting(BEFORE, told)] if told else []


def _fill(project: Project, survey: Survey, signature: Signature) -> None:
    with project._writing(signature) as made:
        for layer, named in survey_rows.named_rows(survey).items():
            if layer == "settings":
                named = [*named, survey_rows.setting("project", uuid.uuid4().hex), *_before(survey)]
            if named:
                made.add(layer, named)
        if survey.folder is not None:
            made.add("attachments", [attachment.source(one, made.keep) for one in _sources(survey)])
        for layer in frames.TABLES:
            add_rows(made, layer, getattr(survey, layer))
