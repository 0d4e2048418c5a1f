"""Photographs without what they tell of the camera and the place it stood.

The picture itself is not touched: segments of the file are left out and the rest is copied byte for
byte. The way up and the time of the exposure stay, since the report needs them. Structure of the
files: JPEG by ITU-T T.81, annex B (markers); Exif by CIPA DC-008; PNG by ISO/IEC 15948.
"""

from __future__ import annotations

import contextlib
import io
import struct
import warnings
import zlib
from collections.abc import Iterator

_PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"

_SOI, _EOI, _SOS = 0xD8, 0xD9, 0xDA
_KEPT_APPLICATION = {0xE0: b"JFIF\x00", 0xE2: b"ICC_PROFILE\x00", 0xEE: b"Adobe"}
"""Application segments the colours depend on; APP1 (Exif, XMP), APP13 (IPTC) and the others go."""
_COMMENT = 0xFE
_STANDALONE = {0x01, *range(0xD0, 0xD8)}

_KEPT_CHUNKS = frozenset(
    b"IHDR PLTE IDAT IEND tRNS cHRM gAMA iCCP sBIT sRGB cICP bKGD hIST pHYs sPLT".split()
)
"""Chunks the pixels depend on; texts, times, Exif and unknown ones go."""

_ORIENTATION, _SUBFILE = 0x0112, 0x8769
DAMAGED_EXIF = (
    OSError,
    SyntaxError,
    ValueError,
    LookupError,
    TypeError,
    ArithmeticError,
    struct.error,
)
"""What reading a damaged Exif raises; it is left out then."""

_TIME_TAGS = (0x9003, 0x9011)
"""DateTimeOriginal and OffsetTimeOriginal (CIPA DC-008, table 8)."""


def without_origin(content: bytes) -> bytes:
    """Return a JPEG or PNG without place, maker, names and comments; other files as they are.

    Parameters
    ----------
    content : bytes
        A picture that opens.

    Returns
    -------
    bytes
        The same picture; what stood after its end (such as a film of the moment) is left out too.
    """
    if content.startswith(b"\xff\xd8"):
        return _jpeg(content)
    if content.startswith(_PNG_SIGNATURE):
        return _png(content)
    return content


def _exif(content: bytes) -> bytes:
    """Return the little of its Exif that a picture keeps, as TIFF; nothing when it is damaged."""
    with warnings.catch_warnings(), contextlib.suppress(*DAMAGED_EXIF):
        warnings.simplefilter("ignore")
        return _kept_exif(content)
    return b""


def _kept_exif(content: bytes) -> bytes:
    from PIL import Image

    with Image.open(io.BytesIO(content)) as picture:
        given = picture.getexif()
        kept = Image.Exif()
        if given.get(_ORIENTATION, 1) in range(2, 9):
            kept[_ORIENTATION] = given[_ORIENTATION]
        taken = given.get_ifd(_SUBFILE)
        for tag in _TIME_TAGS:
            # only what can be a time is copied: a text field holds any text
            text = str(taken.get(tag, "")).strip("\x00 ")
            if text and set(text) <= set("0123456789:+- Z") and len(text) < 20:
                kept.get_ifd(_SUBFILE)[tag] = text
    return kept.tobytes() if len(kept) or kept.get_ifd(_SUBFILE) else b""


def _jpeg(content: bytes) -> bytes:
    exif = _exif(content)
    parts = [b"\xff\xd8"]
    # Exif stands first, after JFIF where there is one (CIPA DC-008, 4.5.4)
    begun = False
    for marker, segment in _segments(content):
        keep = _KEPT_APPLICATION.get(marker)
        is_application = 0xE0 <= marker <= 0xEF
        if marker == _COMMENT or (is_application and (keep is None or keep not in segment[4:18])):
            continue
        if not begun and marker != 0xE0:
            parts += [_app1(exif)] if exif else []
            begun = True
        parts.append(segment)
    return b"".join(parts)


def _app1(exif: bytes) -> bytes:
    payload = exif if exif.startswith(b"Exif\x00\x00") else b"Exif\x00\x00" + exif
    return b"\xff\xe1" + struct.pack(">H", len(payload) + 2) + payload


def _segments(content: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield marker and bytes of each segment after the first marker, up to the end of the picture.

    Compressed data stands after a start of scan without a length of its own, up to a marker that
    is neither stuffing nor a restart.
    """
    at = 2
    while at + 2 <= len(content):
        if content[at] != 0xFF:
            at += 1
            continue
        marker = content[at + 1]
        if marker == 0xFF:  # fill byte
            at += 1
            continue
        if marker == _EOI:
            yield marker, content[at : at + 2]
            return
        if marker in _STANDALONE or marker in (0x00, _SOI):
            at += 2
            continue
        end = at + 2 + int.from_bytes(content[at + 2 : at + 4], "big")
        if marker == _SOS:
            end = _end_of_scan(content, end)
        yield marker, content[at:end]
        at = end


def _end_of_scan(content: bytes, at: int) -> int:
    while True:
        at = content.find(b"\xff", at)
        if at < 0 or at + 1 >= len(content):
            return len(content)
        if content[at + 1] not in (0x00, *range(0xD0, 0xD8)):
            return at
        at += 2


def _png(content: bytes) -> bytes:
    exif = _exif(content)
    parts = [_PNG_SIGNATURE]
    at = len(_PNG_SIGNATURE)
    while at + 12 <= len(content):
        (size,) = struct.unpack(">I", content[at : at + 4])
        kind = content[at + 4 : at + 8]
        if kind == b"IDAT" and exif:
            parts.append(_chunk(b"eXIf", exif.removeprefix(b"Exif\x00\x00")))
            exif = b""
        if kind in _KEPT_CHUNKS:
            parts.append(content[at : at + 12 + size])
        if kind == b"IEND":
            break
        at += 12 + size
    return b"".join(parts)


def _chunk(kind: bytes, content: bytes) -> bytes:
    check = zlib.crc32(kind + content)
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", check)
