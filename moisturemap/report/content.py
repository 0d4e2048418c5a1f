"""What a report says, whatever document it becomes: sections of plain blocks.

Every text is data; the writers of documents escape it and never read it as markup.
"""

from __future__ import annotations

from dataclasses import dataclass, field

FOOTER = "Relative readings are not a moisture content. The map guides where to test."
"""At the foot of every sheet."""

NARROW_MM = 86.0
"""Pictures less wide than this stand two by two [mm]: half the text of an upright page."""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; ``kind`` is ``body``, ``lead``, ``note`` (smaller) or ``warning`` (framed).

    One that ``leads`` stands on the page of what follows it, where that has not been moved.
    """

    text: str
    kind: str = "body"
    leads: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer in one line, framed, and what stands behind it."""

    headline: str
    text: str


@dataclass(frozen=True, slots=True)
class Bullets:
    """Short statements that stand side by side."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Terms:
    """Names with what they stand for."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: its heading, relative width and side (``left`` or ``right``)."""

    title: str
    width: float = 1.0
    side: str = "left"


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a heading row that is repeated on every page.

    ``dense`` tables are set smaller; ``note`` stands below. ``key`` names it for references;
    ``number`` is given when the report is put together. Rows of ``verbatim`` tables are names the
    program or a file has, the same in every language.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    dense: bool = False
    note: str = ""
    key: str = ""
    number: str = ""
    verbatim: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing or photograph.

    Attributes
    ----------
    png : bytes
        PNG or JPEG content.
    svg : bytes
        The same as vectors, or empty.
    caption, alt : str
    size : (int, int)
        Width and height of ``png`` [pixels].
    width_mm : float
        Width it is drawn for, 0 for whatever fits.
    key, number : str
        Name for references; number given when the report is put together.
    floats : bool
        Whether the page may set it at its foot, or at that of the next, and go on with the text.
    relative : bool
        Whether it shows relative readings, of which a small screen says below it what they are not.
    """

    png: bytes
    svg: bytes
    caption: str
    alt: str
    size: tuple[int, int]
    width_mm: float = 0.0
    key: str = ""
    number: str = ""
    floats: bool = False
    relative: bool = False

    @property
    def narrow(self) -> bool:
        """Whether two of them stand beside each other on a page."""
        return bool(0.0 < self.width_mm < NARROW_MM)


@dataclass(frozen=True, slots=True)
class Signatures:
    """Lines to sign, each for a role."""

    roles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Contents:
    """The place of the table of contents."""


Block = Contents | Paragraph | Verdict | Bullets | Terms | Table | Picture | Signatures


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the report; ``number`` is given when the report is put together."""

    title: str
    blocks: tuple[Block, ...]
    number: str = ""
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Content:
    """A whole report.

    Attributes
    ----------
    title, subtitle : str
    number : str
        Number of the report, printed on every sheet.
    about : tuple of (str, str)
        Title block.
    sections : tuple of Section
    made : str
        Day the report was made, as printed.
    foot : str
        At the foot of every sheet.
    language : str
        Code of the language it is written in (ISO 639-1).
    logo : Picture or None
    """

    title: str
    subtitle: str
    number: str
    about: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    made: str
    foot: str = FOOTER
    logo: Picture | None = None
    paper: str = "a4"
    language: str = "en"
    notes: tuple[str, ...] = field(default=())
