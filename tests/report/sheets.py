"""What makes the sheets of a tagged PDF hard to read: parted tables, orphaned headings, gaps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pypdfium2

MOST_EMPTY = 0.35
"""Share of a sheet that may be empty in one piece, but for the last one: a third, and the seam
between the type and the lines at head and foot (our choice)."""

HEADINGS = ("/H1", "/H2", "/H3")
BLOCKS = (*HEADINGS, "/P", "/Table", "/Figure", "/L", "/Div")


def children(node: Any) -> list[Any]:
    inside = node.get("/K", [])
    inside = inside.get_object() if hasattr(inside, "get_object") else inside
    many = inside if isinstance(inside, list) else [inside]
    return [one.get_object() if hasattr(one, "get_object") else one for one in many]


def elements_of(node: Any) -> Iterator[Any]:
    """Yield every structure element below a node, in reading order."""
    for one in children(node):
        if isinstance(one, dict) and "/S" in one:
            yield one
            yield from elements_of(one)


def _sheets(node: Any, number: dict[int, int], above: int = 0) -> list[int]:
    """Return the sheets on which a structure element has content."""
    here = number.get(node.raw_get("/Pg").idnum, above) if "/Pg" in node else above
    found: list[int] = []
    for one in children(node):
        if isinstance(one, int):
            found.append(here)
        elif isinstance(one, dict) and one.get("/Type") == "/MCR":
            found.append(number.get(one.raw_get("/Pg").idnum, here) if "/Pg" in one else here)
        elif isinstance(one, dict) and "/S" in one:
            found += _sheets(one, number, here)
    return [sheet for sheet in found if sheet]


def _parted(table: Any, number: dict[int, int]) -> Iterator[str]:
    rows = [one for one in elements_of(table) if one["/S"] == "/TR"]
    body = [row for row in rows if not any(c["/S"] == "/TH" for c in elements_of(row))]
    first = [min(_sheets(row, number), default=0) for row in body]
    by_sheet = Counter(sheet for sheet in first if sheet)
    if len(by_sheet) < 2 or len(body) == 3:  # three high rows cannot be parted otherwise
        return
    start, end = min(by_sheet), max(by_sheet)
    if by_sheet[start] < 2:
        yield f"sheet {start}: a table begins with one of {len(body)} rows"
    if by_sheet[end] < 2:
        yield f"sheet {end}: one of {len(body)} rows is carried over"


def _orphaned(elements: list[Any], number: dict[int, int]) -> Iterator[str]:
    blocks = [one for one in elements if one["/S"] in BLOCKS]
    for one, after in pairwise(blocks):
        if one["/S"] in HEADINGS:
            here, there = _sheets(one, number), _sheets(after, number)
            if here and there and min(there) > max(here):
                yield f"sheet {max(here)}: a heading without what it heads"


def gaps(path: Path) -> list[float]:
    """Return the highest empty band of each sheet, between header and footer, as a share of it."""
    document = pypdfium2.PdfDocument(path)
    shares = []
    for page in document:
        grey = np.asarray(page.render(scale=0.4).to_pil().convert("L"))
        body = grey[int(0.06 * len(grey)) : int(0.94 * len(grey))]
        printed = np.flatnonzero((body < 215).any(axis=1))
        edges = np.concatenate([[0], printed + 1, [len(body)]])
        shares.append(float(np.diff(edges).max() / len(body)))
    document.close()
    return shares


def sheet_faults(path: Path) -> list[str]:
    """Return everything about the sheets of a PDF that would make a reader turn back."""
    reader = pypdf.PdfReader(path)
    number = {page.indirect_reference.idnum: k + 1 for k, page in enumerate(reader.pages)}  # type: ignore[union-attr]
    elements = list(elements_of(reader.trailer["/Root"]["/StructTreeRoot"]))
    found = [fault for e in elements if e["/S"] == "/Table" for fault in _parted(e, number)]
    found += _orphaned(elements, number)
    found += [
        f"sheet {k + 1}: {share:.0%} empty in one piece"
        for k, share in enumerate(gaps(path)[:-1])
        if share > MOST_EMPTY
    ]
    return found
