"""Photographs that the records of a survey folder name."""

from __future__ import annotations

from pathlib import Path

import pandas as pd


def missing_photographs(tests: pd.DataFrame, folder: Path) -> tuple[str, ...]:
    """Say of each photograph that tests name whether its file is missing.

    Parameters
    ----------
    tests : DataFrame
        With ``hole``, ``source``, ``row`` and, where one is named, ``photo``.
    folder : Path
        Folder of the survey, which names of photographs are relative to.

    Returns
    -------
    tuple of str
        One sentence for each that is not there.
    """
    if "photo" not in tests:
        return ()
    told = []
    for one in tests.fillna({"photo": ""}).itertuples():
        name, source, row = str(one.photo).strip(), str(one.source), one.row
        if name and "://" not in name and not _is_there(folder, name, source):
            told.append(
                f"The photograph '{name}' of hole {one.hole} ({source}, row {row}) is missing: "
                "there is no such file in the folder of the survey."
            )
    return tuple(told)


def _is_there(folder: Path, name: str, source: str) -> bool:
    beside = (folder / source).parent
    try:
        return any((place / name).is_file() for place in (folder, beside))
    except (OSError, ValueError):  # no system takes it for the name of a file
        return False
