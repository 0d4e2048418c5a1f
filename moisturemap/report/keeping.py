"""Which words of a report stay on the page of what they lead to."""

from __future__ import annotations

from dataclasses import replace

from moisturemap.report.content import Block, Paragraph, Picture, Table
from moisturemap.report.options import UPRIGHT
from moisturemap.report.picture_size import room_for

MOST_BESIDE_WORDS = 0.6
"""Share of a page's height up to which a picture pulls the words before it to its own page; a
higher one would leave the page they came from empty (our choice)."""

SHORT = 220
"""Words of fewer letters stay on the page of the table they lead to: two lines (our choice)."""


def stays(words: Block, block: Block | None, paper: str) -> bool:
    """Return whether a block stands on the page of the words before it."""
    if not isinstance(words, Paragraph):
        return False
    if isinstance(block, Table) and (words.kind == "warning" or len(words.text) < SHORT):
        return True
    if not isinstance(block, Picture):
        return False
    return bool(room_for(block, paper)[1] < MOST_BESIDE_WORDS * UPRIGHT[paper][1])


def leading(blocks: tuple[Block, ...], paper: str) -> tuple[Block, ...]:
    """Return blocks of which those words that stay with what follows them know it."""
    return tuple(
        replace(one, leads=True) if isinstance(one, Paragraph) and stays(one, after, paper) else one
        for one, after in zip(blocks, (*blocks[1:], None), strict=False)
    )
