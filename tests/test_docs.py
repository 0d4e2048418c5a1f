"""The documentation keeps up with the code."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

import moisturemap
from moisturemap.cli import COMMANDS

ROOT = Path(__file__).resolve().parent.parent
PAGES = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    ROOT / "CHANGELOG.md",
    *sorted((ROOT / "docs").rglob("*.md")),
]
LINK = re.compile(r"\]\(([^)#:\s]+)(?:#[^)]*)?\)")


def test_command_reference_is_that_of_the_commands() -> None:
    """docs/command-line.md is what the help texts give."""
    sys.path.insert(0, str(ROOT / "scripts"))
    try:
        from make_cli_reference import PAGE, reference
    finally:
        sys.path.pop(0)
    assert PAGE.read_text(encoding="utf-8") == reference(), "run scripts/make_cli_reference.py"


@pytest.mark.parametrize("command", COMMANDS, ids=lambda c: str(c.name))
def test_every_option_says_what_it_does(command: object) -> None:
    """Each command has a first sentence that fits a list."""
    first = str(command.help).split("\n")[0]  # type: ignore[attr-defined]
    assert first.endswith(".")
    assert len(first) < 90


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    """Every relative link of a page leads to a file."""
    for target in LINK.findall(page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), target


def test_every_public_name_is_documented() -> None:
    """Each public name has a docstring and stands on the page of the Python interface."""
    page = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
    for name in moisturemap.__all__:
        if name != "__version__":
            assert getattr(moisturemap, name).__doc__
            assert f"`{name}" in page, name
