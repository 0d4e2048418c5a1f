"""Paragraphs and items as a terminal shows them, in the units asked for."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill

from moisturemap.language import keep_as_they_are, spoken
from moisturemap.units import Units

WIDTH = 96


@dataclass(frozen=True, slots=True)
class Terminal:
    """Sets texts for a terminal.

    Attributes
    ----------
    units : Units
        What metric numbers of a text are restated in.
    """

    units: Units = Units()

    def paragraph(self, text: str) -> str:
        """Return a text in lines; "" for ""."""
        return _kept(fill(spoken(self.units.sentence(text)), WIDTH)) if text else ""

    def item(self, mark: object, text: object) -> str:
        """Return a text behind a mark, its further lines below its first word."""
        head = f"  {spoken(str(mark)):<4} "
        words = spoken(self.units.sentence(str(text)))
        return _kept(fill(words, WIDTH, initial_indent=head, subsequent_indent=" " * len(head)))


def _kept(text: str) -> str:
    """Return lines that are in the language spoken already."""
    keep_as_they_are(text.split("\n"))
    return text
