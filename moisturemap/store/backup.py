"""Copies of a project file made by themselves, before the first change of a day.

A copy is complete and compact; a small number is kept, the oldest goes first. It helps against a
file that is damaged, deleted by mistake or overwritten, not against the loss of the disk.
"""

from __future__ import annotations

import logging
import re
import shutil
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

from moisturemap.errors import OutputError, StoreError
from moisturemap.outputs import told
from moisturemap.store import connection, record

KEPT = 7
"""Copies kept of one project; our choice: a week of working days, and the weekend before it."""

LARGEST = 500_000_000
"""Largest project copied by itself [bytes]; writing it takes about 5 s. Our choice."""

ROOM = 3
"""Free space there must be, in sizes of the project, so that a copy never fills the disk."""

BACKUPS_SUFFIX = ".backups"
"""End of the name of a folder of copies."""

_LOG = logging.getLogger(__name__)


def folder_of(project: Path) -> Path:
    """Return the folder the copies of a project stand in, beside it."""
    return project.with_name(f"{project.stem}{BACKUPS_SUFFIX}")


def backups(project: Path) -> list[Path]:
    """Return the copies there are, the oldest first; files of other names are not ours."""
    name = re.compile(re.escape(project.stem) + r"-\d{4}-\d\d-\d\d" + re.escape(project.suffix))
    folder = folder_of(project)
    if not folder.is_dir():
        return []
    return sorted(one for one in folder.iterdir() if name.fullmatch(one.name))


def back_up(project: Path, opened: sqlite3.Connection) -> Path | None:
    """Copy a project as it was at the end of an earlier day; None when there is nothing to do.

    A copy that cannot be made is told to the log and does not keep anybody from working.
    """
    head = record.head(opened)
    today = datetime.now(UTC).date().isoformat()
    if not head.made or head.made[:10] >= today:
        return None
    copy = folder_of(project) / f"{project.stem}-{head.made[:10]}{project.suffix}"
    size = project.stat().st_size
    if copy.exists() or size > LARGEST or shutil.disk_usage(project.parent).free < ROOM * size:
        return None
    try:
        with told(copy):
            copy.parent.mkdir(exist_ok=True)
        connection.save_copy(opened, copy)
        for old in backups(project)[:-KEPT]:
            old.unlink(missing_ok=True)
    except (StoreError, OutputError, OSError) as error:
        _LOG.warning("no copy of %s was made: %s", project.name, error)
        return None
    return copy
