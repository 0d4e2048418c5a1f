"""Fields of the word-processor document: numbers, references and contents that stay right.

A field carries the text it shows until the program that opens the document works it out again
(ISO/IEC 29500-1, 17.16).
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import Any, NamedTuple

from docx.enum.text import WD_TAB_ALIGNMENT, WD_TAB_LEADER
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.shared import Mm


def field(paragraph: Any, instruction: str, shown: str) -> list[Any]:
    """Add a field that shows a text; return its runs."""
    runs = []
    for kind in ("begin", "instruction", "separate", "text", "end"):
        run = paragraph.add_run()
        if kind == "instruction":
            element = OxmlElement("w:instrText")
            element.set(qn("xml:space"), "preserve")
            element.text = f" {instruction} "
        elif kind == "text":
            element = OxmlElement("w:t")
            element.text = shown
        else:
            element = OxmlElement("w:fldChar")
            element.set(qn("w:fldCharType"), kind)
        run._r.append(element)
        runs.append(run)
    return runs


def bookmark_name(key: str) -> str:
    """Return the name of a bookmark for a key: letters, digits and underscores."""
    return "ref_" + key.replace("-", "_")[:35]


def bookmark(paragraph: Any, key: str, *, first: Any = None, last: Any = None) -> None:
    """Put a bookmark round a paragraph's runs, or those from `first` to `last`."""
    number = str(zlib.crc32(key.encode()) & 0x7FFFFFF)
    start, end = OxmlElement("w:bookmarkStart"), OxmlElement("w:bookmarkEnd")
    for one in (start, end):
        one.set(qn("w:id"), number)
    start.set(qn("w:name"), bookmark_name(key))
    runs = paragraph.runs
    (first or runs[0])._r.addprevious(start)
    (last or runs[-1])._r.addnext(end)


def numbered_caption(paragraph: Any, number: str, key: str) -> None:
    """Write ``Figure 3`` with a sequence field, and the bookmark that references lead to."""
    kind, _, count = number.partition(" ")
    first = paragraph.add_run(f"{kind} ")
    first.bold = True
    runs = field(paragraph, f"SEQ {kind} \\* ARABIC", count)
    for run in runs:
        run.bold = True
    bookmark(paragraph, key, first=first, last=runs[-1])


def reference(paragraph: Any, key: str, shown: str) -> None:
    """Write a reference to a numbered caption."""
    field(paragraph, f"REF {bookmark_name(key)} \\h", shown)


class Entry(NamedTuple):
    """A line of the contents: its words, the key they lead to, and the page as it is known now."""

    text: str
    key: str
    sheet: int


def contents(document: Any, entries: Sequence[Entry], width_mm: float) -> None:
    """Write the table of contents, first as it is known now."""
    paragraph = document.add_paragraph(style="Contents Entry")
    begin, separate = paragraph.add_run(), paragraph.add_run()
    start = OxmlElement("w:fldChar")
    start.set(qn("w:fldCharType"), "begin")
    start.set(qn("w:dirty"), "true")
    begin._r.append(start)
    told = OxmlElement("w:instrText")
    told.set(qn("xml:space"), "preserve")
    told.text = ' TOC \\o "1-1" \\t "Appendix Heading,1" \\h \\z \\u '
    begin._r.addnext(_run(told))
    middle = OxmlElement("w:fldChar")
    middle.set(qn("w:fldCharType"), "separate")
    separate._r.append(middle)
    for at, entry in enumerate(entries):
        if at:
            paragraph = document.add_paragraph(style="Contents Entry")
        layout = paragraph.paragraph_format
        layout.keep_with_next = at + 1 < len(entries)
        layout.tab_stops.add_tab_stop(Mm(width_mm), WD_TAB_ALIGNMENT.RIGHT, WD_TAB_LEADER.DOTS)
        _link(paragraph, entry)
    end = OxmlElement("w:fldChar")
    end.set(qn("w:fldCharType"), "end")
    paragraph.add_run()._r.append(end)


def _run(child: Any) -> Any:
    run = OxmlElement("w:r")
    run.append(child)
    return run


def _link(paragraph: Any, entry: Entry) -> None:
    """Write words that lead to a bookmark, and the number of its page at the end of the line."""
    words = OxmlElement("w:t")
    words.text = entry.text
    said = len(paragraph.runs)
    link = OxmlElement("w:hyperlink")
    link.set(qn("w:anchor"), bookmark_name(entry.key))
    link.append(_run(words))
    link.append(_run(OxmlElement("w:tab")))
    field(paragraph, f"PAGEREF {bookmark_name(entry.key)} \\h", str(entry.sheet))
    for run in paragraph.runs[said:]:
        link.append(run._r)
    paragraph._p.append(link)
