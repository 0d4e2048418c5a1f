"""A block of a report as it stands on pages, by whatever sets them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from moisturemap.report.content import Block, Table

PAGE_MM = {"a4": 259.0, "us-letter": 241.4}
"""Height of the text of a page."""


@dataclass(frozen=True, slots=True)
class Laid:
    """A block as it is set: heights that no page parts, in order [mm].

    Attributes
    ----------
    parts : tuple of float
    again : float
        What each further page repeats at its head [mm].
    joins : bool
        Whether it stays on the page of what follows.
    before, after : float
        Of its parts the space above and below: of two that meet the larger one stands, and none
        stands above what begins a page [mm].
    """

    parts: tuple[float, ...]
    again: float = 0.0
    joins: bool = False
    before: float = 0.0
    after: float = 0.0


class Heights(Protocol):
    """How high everything stands; places are numbers of a section and of a block in it."""

    @property
    def scales(self) -> tuple[float, ...]:
        """Heights of texts that the figures must be well placed for, against those given."""

    @property
    def above(self) -> float:
        """Height of what stands above the first section [mm]."""

    @property
    def exact(self) -> bool:
        """Whether they are measured."""

    def heading(self, section: int, title: str) -> Laid:
        """Return the heading of a section."""

    def figures(self, section: int, at: int, group: tuple[Block, ...]) -> Laid:
        """Return a picture, or two that stand beside each other."""

    def item(self, section: int, at: int, number: int, alone: Block) -> Laid:
        """Return an item of a list, by its number in it, as a list of its own."""

    def pieces(self, section: int, at: int, table: Table) -> tuple[tuple[Table, Laid], ...]:
        """Return the rows of a table that a figure may part at the worst: all, where none may."""

    def block(self, section: int, at: int, block: Block) -> Laid:
        """Return any other block."""
