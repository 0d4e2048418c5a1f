"""What axe finds on a page, by day and by night."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

_SCRIPT = Axe().axe_script
_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_LOOKS = ["color-contrast", "link-in-text-block", "target-size", "scrollable-region-focusable"]
"""Rules whose answer may change with the colours or the size of the screen alone."""
_RUN = """([kind, values]) => axe.run(
  { include: [[...document.querySelectorAll("dialog[open]")].at(-1) ?? document],
    exclude: ["tbody tr:nth-child(n + 20)"] },
  { runOnly: { type: kind, values }, resultTypes: ["violations"] },
).then(({ violations }) =>
  violations.map((one) => [one.id, one.nodes.map((node) => node.html.slice(0, 160))]))"""


def axe_finds(page: Page, *, looks_only: bool = False) -> list[Any]:
    """Return rules of WCAG 2.2 A and AA and good practice that are broken, and by what.

    Of the uppermost form, where one is open: the page under it cannot be reached meanwhile. Of long
    tables the first rows stand for the others, which are built alike.
    ``looks_only`` asks only what colours and sizes change, of a page looked at before by day.
    """
    if not page.evaluate("'axe' in window"):  # a whole library: sent once for each page
        page.evaluate(_SCRIPT)
    rules = ["rule", _LOOKS] if looks_only else ["tag", _TAGS]
    found: list[Any] = page.evaluate(_RUN, rules)
    return found
