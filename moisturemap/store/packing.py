"""A survey into a project file."""

from __future__ import annotations

import uuid
from pathlib import Path

from moisturemap.store import connection, survey_rows
from moisturemap.store.edits import add_rows
from moisturemap.store.lock import WriterLock
from moisturemap.store.project import Project
from moisturemap.store.record import Head, Signature
from moisturemap.survey import Survey


def pack(survey: Survey, path: str | Path, who: str, why: str = "survey packed") -> Head:
    """Write a survey into a new project file and return the head of its record.

    Raises
    ------
    StoreError
        If the path exists, cannot be written, or the disk is full; nothing is left behind then.
    """
    path = Path(path)
    lock = WriterLock(path)
    try:
        with Project(path, connection.create(path), lock) as project:
            try:
                _fill(project, survey, Signature(who, why, kind="create"))
                return project.head()
            except BaseException:
                project.close()
                path.unlink(missing_ok=True)
                raise
    finally:
        lock.release()


def _fill(project: Project, survey: Survey, signature: Signature) -> None:
    with project._writing(signature) as made:
        for layer, named in survey_rows.named_rows(survey).items():
            if layer == "settings":
                named = [*named, survey_rows.setting("project", uuid.uuid4().hex)]
            if named:
                made.add(layer, named)
        for layer in survey_rows.FRAMES:
            add_rows(made, layer, getattr(survey, layer))
