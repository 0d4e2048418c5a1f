"""Photographs and files of the job: looked into before they are taken, kept as they came."""

from __future__ import annotations

import contextlib
import hashlib
import io
import mimetypes
import sqlite3
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import PurePath
from typing import Any

from moisturemap.errors import FormatError, StoreError
from moisturemap.store.photograph import DAMAGED_EXIF, without_origin

LARGEST_FILE = 25_000_000
"""Largest file taken [bytes]."""

LARGEST_PICTURE = 60_000_000
"""Largest picture taken [pixels]; guards against pictures that unpack to fill the memory."""

_PICTURES = {"JPEG": "image/jpeg", "PNG": "image/png"}
_EXIF_SUBFILE, _EXIF_TAKEN, _EXIF_ZONE = 0x8769, 0x9003, 0x9011
_TAKES = f"JPEG or PNG pictures and PDF documents up to {LARGEST_FILE // 1_000_000} MB"


@dataclass(frozen=True)
class Attachment:
    """A picture or document as it is kept, and what the attachments layer keeps about it."""

    content: bytes
    about: dict[str, Any]


def received(content: bytes, name: str, *, keep_origin: bool = False) -> Attachment:
    """Look into a file that came.

    Of a photograph the place it was taken at, the maker of the camera, names and comments are
    left out, unless ``keep_origin`` is set; the SHA-256 it came with is kept in any case.

    Raises
    ------
    FormatError
        As :func:`look_into`.
    """
    about = look_into(content, name)
    kept = content if keep_origin else without_origin(content)
    if kept != content:
        came = {"taken": about.get("taken"), "received_sha256": about["sha256"]}
        about = {**about, **look_into(kept, name), **came}
    return Attachment(kept, about)


def look_into(content: bytes, name: str) -> dict[str, Any]:
    """Return what the attachments layer keeps about a file, judged by its content.

    Raises
    ------
    FormatError
        If it is too large, damaged, or neither JPEG, PNG nor PDF whatever its name says.
    """
    name = PurePath(name.replace("\\", "/")).name
    if not content or len(content) > LARGEST_FILE:
        message = "the file is empty" if not content else "the file is too large"
        raise FormatError(message, source=name, value=f"{len(content):,} bytes", allowed=_TAKES)
    told = {"name": name, "size": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    if content.startswith(b"%PDF-"):
        return {**told, "media_type": "application/pdf"}
    return {**told, **_picture(content, name)}


def _picture(content: bytes, name: str) -> dict[str, Any]:
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of damaged Exif, which is passed over
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=list(_PICTURES)) as picture:
                kind, (width, height) = picture.format, picture.size
                taken = _taken(picture)
                if width * height > LARGEST_PICTURE:
                    raise Image.DecompressionBombError
                picture.load()
    except UnidentifiedImageError as error:
        message = "the content is not that of a picture or document we keep"
        raise FormatError(message, source=name, allowed=_TAKES) from error
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        message = "the picture has too many pixels"
        allowed = f"up to {LARGEST_PICTURE // 1_000_000} million pixels"
        raise FormatError(message, source=name, allowed=allowed) from error
    except (OSError, SyntaxError, ValueError) as error:
        message = f"the picture is damaged: {error}"
        raise FormatError(message, source=name, allowed="a picture that opens") from error
    return {"media_type": _PICTURES[str(kind)], "width": width, "height": height, "taken": taken}


def _taken(picture: Any) -> str | None:
    """Return the time the camera wrote, with its zone when the camera knew it."""
    exif: dict[int, Any] = {}
    with contextlib.suppress(*DAMAGED_EXIF):
        exif = picture.getexif().get_ifd(_EXIF_SUBFILE)
    text = str(exif.get(_EXIF_TAKEN, "")).strip("\x00 ")
    zone = str(exif.get(_EXIF_ZONE, "")).strip("\x00 ")
    try:
        taken = datetime.strptime(text, "%Y:%m:%d %H:%M:%S").isoformat()
        return datetime.fromisoformat(taken + zone).isoformat()
    except ValueError:
        return None


def source(file: tuple[str, bytes], keep: Callable[[bytes], str]) -> dict[str, Any]:
    """Keep a file the survey was read from, as received, and return its row."""
    name, content = file
    media_type = mimetypes.guess_type(name)[0] or "application/octet-stream"
    return {
        "name": name,
        "media_type": media_type,
        "size": len(content),
        "sha256": keep(content),
        "of_layer": "settings",
        "of_row": "sources",
        "note": "as received",
    }


def keep_content(connection: sqlite3.Connection, content: bytes) -> str:
    """Keep the bytes of a file once, whatever refers to them; return their SHA-256."""
    seal = hashlib.sha256(content).hexdigest()
    sql = "INSERT OR IGNORE INTO file_contents (sha256, content) VALUES (?, ?)"
    connection.execute(sql, (seal, content))
    return seal


def content_of(connection: sqlite3.Connection, sha256: str) -> bytes:
    """Return the bytes kept under a SHA-256.

    Raises
    ------
    StoreError
        If they are not there or not the same any more.
    """
    sql = "SELECT content FROM file_contents WHERE sha256 = ?"
    found = connection.execute(sql, (sha256,)).fetchone()
    if found is None or hashlib.sha256(found[0]).hexdigest() != sha256:
        message = f"the file kept under {sha256[:16]} is missing or was changed"
        raise StoreError(message)
    return bytes(found[0])


def changed_contents(connection: sqlite3.Connection) -> list[tuple[int, str]]:
    """Return number and SHA-256 of kept files whose bytes are no longer those."""
    found = connection.execute("SELECT fid, sha256, content FROM file_contents ORDER BY fid")
    return [
        (fid, seal) for fid, seal, content in found if hashlib.sha256(content).hexdigest() != seal
    ]


def now() -> str:
    """Return the present time as text with zone."""
    return datetime.now(UTC).isoformat(timespec="seconds")
