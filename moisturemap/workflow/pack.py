"""A survey folder into one project file, and back."""

from __future__ import annotations

import getpass
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from moisturemap.errors import StoreError
from moisturemap.store import open_project, pack, unpack
from moisturemap.workflow.read import read_survey


@dataclass(frozen=True)
class Packed:
    """What was made of what."""

    source: str
    target: str
    sentence: str

    def as_dict(self) -> dict[str, Any]:
        """Return plain types for JSON."""
        return asdict(self)


def pack_survey(source: Path, target: Path | None = None, *, who: str = "") -> Packed:
    """Pack a folder into a project file, or unpack a project file into a folder.

    Parameters
    ----------
    source : Path
        Survey folder, its survey.toml, or a project file (.gpkg).
    target : Path, optional
        What to make; named after the source by default.
    who : str
        Who does it; the user of this computer by default.

    Raises
    ------
    StoreError
        When the target exists already.
    """
    if source.suffix.lower() == ".gpkg":
        folder = target or source.with_suffix("")
        if folder.exists():
            message = f"{folder} exists already and is left as it is; name another folder"
            raise StoreError(message)
        with open_project(source) as project:
            unpack(project, folder)
        return Packed(str(source), str(folder), f"Unpacked {source} into {folder}")
    survey = read_survey(source)
    folder = source if source.is_dir() else source.parent
    file = target or folder.resolve().with_suffix(".gpkg")
    head = pack(survey, file, who or getpass.getuser())
    return Packed(
        str(source),
        str(file),
        f"Packed {survey.name} into {file}, head of its record of changes {head.hash[:16]}",
    )
