"""Delimited text: decoded, the delimiter found, split into cells."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from pathlib import Path
from typing import Any

from moisturemap.errors import FormatError
from moisturemap.files.sheet_size import MOST_CELLS

DELIMITERS = (";", "\t", ",")
"""In order of preference: a semicolon or tab in every line is never a decimal mark."""

SIGNATURES = {
    b"PK\x03\x04": "a workbook or zip archive",
    b"\xd0\xcf\x11\xe0": "an old spreadsheet (.xls) or an encrypted workbook",
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"SQLite format 3": "a database",
}
"""First bytes of files that are not text, and what they are."""

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_QUOTED = re.compile(r'"[^"]*"')


def read_delimited(path: Path, source: str) -> tuple[list[list[Any]], tuple[str, ...]]:
    """Split a text file into rows of equal length.

    Returns
    -------
    rows : list of list of str
        Blank lines kept, so that row numbers stay those a spreadsheet shows.
    notes : tuple of str
    """
    text, notes = decode(path.read_bytes(), source)
    stated = re.match(r'\s*"?sep=(.)"?\r?\n', text, re.IGNORECASE)
    delimiter = stated[1] if stated else find_delimiter(text)
    _refuse_too_many(text.count(delimiter) + text.count("\n"), source)
    rows = _split(text, delimiter, source)
    if stated and rows:
        rows[0] = [""]
    width = max((len(row) for row in rows), default=0)
    _refuse_too_many(len(rows) * width, source)
    for row in rows:
        row.extend([""] * (width - len(row)))
    return rows, notes


def _split(text: str, delimiter: str, source: str) -> list[list[Any]]:
    """Split into cells; a quotation mark that is never closed must not swallow the rows below."""
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error:
        pass  # a mark inside a quoted cell, or one left open: read again, and look for the latter
    rows: list[list[Any]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=False)
    try:
        for row in reader:
            if any("\n" in cell.rstrip("\r\n") for cell in row):
                raise FormatError(
                    "a quotation mark is opened and not closed before the end of the row",
                    source=source,
                    place=f"row {len(rows) + 1}",
                    value=next(cell for cell in row if "\n" in cell)[:40],
                    allowed="quotation marks in pairs, or none",
                )
            rows.append(row)
    except csv.Error as error:
        message = f"the text cannot be split into cells: {error}"
        raise FormatError(message, source=source) from error
    return rows


def _refuse_too_many(cells: int, source: str) -> None:
    """Refuse a table whose rows, made equally long, would not fit into memory."""
    if cells > MOST_CELLS:
        raise FormatError(
            "the table is too large",
            source=source,
            value=f"{cells:,} cells, every row as long as the longest",
            allowed=f"{MOST_CELLS:,}",
        )


def decode(content: bytes, source: str) -> tuple[str, tuple[str, ...]]:
    """Decode UTF-8 or UTF-16, with or without byte order mark, else Windows-1252.

    Raises
    ------
    FormatError
        If the content is not text.
    """
    for signature, what in SIGNATURES.items():
        if content.startswith(signature):
            message = f"this is {what}, not a text file, whatever its name says"
            raise FormatError(message, source=source, allowed="CSV text, or .xlsx named so")
    encoding = next((name for mark, name in _MARKS if content.startswith(mark)), None)
    encoding = encoding or _unmarked_encoding(content)
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        message = "the text is damaged: it is neither UTF-8, UTF-16 nor Windows-1252"
        raise FormatError(message, source=source, place=f"byte {error.start}") from error
    if "\x00" in text:
        raise FormatError("this is not a text file: it holds zero bytes", source=source)
    if re.match(r"\s*<(?:!doctype|html|\?xml)", text, re.IGNORECASE):
        message = "this is a web page or XML, not a table of text"
        raise FormatError(message, source=source, allowed="CSV text, or .xlsx")
    if encoding == "cp1252":
        return text, (f"{source} is not UTF-8; it was read as Windows-1252.",)
    return text, ()


def _unmarked_encoding(content: bytes) -> str:
    head = content[:400]
    if head.count(0) > len(head) // 4:
        return "utf-16-le" if head[1:2] == b"\x00" else "utf-16-be"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def find_delimiter(text: str) -> str:
    """Return the delimiter that splits most of the first lines alike; a comma when none does."""
    lines = [_QUOTED.sub("", line) for line in text[:40_000].splitlines()[:100] if line.strip()]
    best, best_score = ",", 0
    for delimiter in DELIMITERS:
        counts = Counter(line.count(delimiter) for line in lines)
        score = max((n for count, n in counts.items() if count), default=0)
        if score > best_score:
            best, best_score = delimiter, score
    return best
