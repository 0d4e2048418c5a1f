"""Uploaded files: kept for the time of one request, under a name that cannot harm."""

from __future__ import annotations

import re
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


LONGEST_STEM = 150
"""Bytes of a file name kept; file systems take 255 with the ending."""


@contextmanager
def uploaded(file: UploadFile, endings: tuple[str, ...] = KNOWN_ENDINGS) -> Iterator[Path]:
    """Yield an upload as a file under its own name, of which only letters and marks are kept.

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
        path = Path(folder) / _harmless(name)
        with path.open("wb") as target:
            shutil.copyfileobj(file.file, target)
        yield path


def _harmless(name: str) -> str:
    """Return a name messages can call the file by, of letters, digits and ``.-_()`` only."""
    path = PurePath(re.sub(r"[^\w .()-]", "_", name))
    stem = path.stem.encode()[:LONGEST_STEM].decode(errors="ignore").strip(" .") or "upload"
    return stem + path.suffix


def shown_name(file: UploadFile) -> str:
    """Return the name of an upload for messages, without any folder and not overlong."""
    name = PurePath((file.filename or "upload").replace("\\", "/")).name
    printable = "".join(c for c in name if c.isprintable())
    return printable[-120:] or "upload"
