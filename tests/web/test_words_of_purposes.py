"""The page, the terminal and the report call a purpose of a hole the same."""

from __future__ import annotations

import re
from pathlib import Path

import moisturemap.web
from moisturemap.drilling import PURPOSE_WORDS, PURPOSES, purpose_words
from moisturemap.language import speaking, spoken

SOURCE = Path(moisturemap.web.__file__).parent / "frontend" / "src"


def _of_page(file: str) -> dict[str, str]:
    text = (SOURCE / file).read_text(encoding="utf-8")
    return dict(re.findall(r'"purpose-([\w-]+)": "(.+?)"', text))


def test_the_page_says_what_the_terminal_and_the_report_say() -> None:
    """English as it stands, German as the tables of the report turn it."""
    assert set(PURPOSES) <= set(PURPOSE_WORDS)
    assert _of_page("en_drill.ts") == PURPOSE_WORDS
    with speaking("de"):
        said = {purpose: spoken(words) for purpose, words in PURPOSE_WORDS.items()}
    assert _of_page("de_map.ts") == said


def test_no_purpose_calls_floor_wet_or_dry_of_which_relative_readings_alone_tell() -> None:
    """A hole at the highest reading is not yet one in the wettest floor."""
    assert not re.search(r"wettest|\bdry\b", " ".join(map(purpose_words, PURPOSES)))
