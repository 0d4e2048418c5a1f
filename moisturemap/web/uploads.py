"""Uploaded files: kept for the time of one request, under a name that cannot harm."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePath

from fastapi import UploadFile

from moisturemap.errors import FormatError

KNOWN_ENDINGS = (
    ".csv",
    ".txt",
    ".tsv",
    ".tab",
    ".xlsx",
    ".xlsm",
    ".xls",
    ".geojson",
    ".json",
    ".wkt",
    ".dxf",
    ".gpkg",
    ".ifc",
)


@contextmanager
def uploaded(file: UploadFile, endings: tuple[str, ...] = KNOWN_ENDINGS) -> Iterator[Path]:
    """Yield an upload as a file of its own kind, with nothing else of its name.

    Raises
    ------
    FormatError
        If the ending is none we read.
    """
    name = shown_name(file)
    ending = PurePath(name).suffix.lower()
    if ending not in endings:
        message = "files of this kind are not read here"
        raise FormatError(message, source=name, value=ending, allowed=", ".join(endings))
    with tempfile.TemporaryDirectory(prefix="moisturemap-") as folder:
        path = Path(folder) / f"upload{ending}"
        with path.open("wb") as target:
            shutil.copyfileobj(file.file, target)
        yield path


def shown_name(file: UploadFile) -> str:
    """Return the name of an upload for messages, without any folder and not overlong."""
    name = PurePath((file.filename or "upload").replace("\\", "/")).name
    printable = "".join(c for c in name if c.isprintable())
    return printable[-120:] or "upload"
