"""The documentation site, built and opened as files without a network."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]
METHODS = sorted((ROOT / "docs" / "method").glob("*.md"))


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the site."""
    folder = tmp_path_factory.mktemp("site")
    command = [sys.executable, "-m", "mkdocs", "build", "--strict", "--quiet", "-d", str(folder)]
    quiet = {**os.environ, "NO_MKDOCS_2_WARNING": "1"}
    subprocess.run(command, cwd=ROOT, check=True, env=quiet)
    return folder


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A tablet that is offline; whatever it asks of a network is a fault."""
    context = browser.new_context(offline=True, viewport={"width": 1024, "height": 768})
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    yield page
    context.close()
    assert not [url for url in asked if not url.startswith(("file:", "blob:", "data:"))]


def test_the_search_finds_a_word(site: Path, page: Page) -> None:
    """And leads to the page that explains it."""
    page.goto((site / "index.html").as_uri())
    page.get_by_role("textbox", name="Search").click()
    page.keyboard.type("footprint")
    first = page.locator(".md-search-result__link").first
    first.wait_for()
    first.click()
    page.wait_for_url(re.compile("survey-folder"))


def test_equations_are_set_without_help(site: Path, page: Page) -> None:
    """As MathML in a font of the site; each fence of the source, none cut at the side."""
    count = 0
    for source in METHODS:
        page.goto((site / "method" / f"{source.stem}.html").as_uri())
        shown = page.locator(".equation math")
        assert shown.count() == source.read_text(encoding="utf-8").count("```math"), source.name
        count += shown.count()
        if shown.count():
            page.evaluate("document.fonts.ready")
            assert page.evaluate("document.fonts.check('12px Equations')"), source.name
        for one in page.locator(".equation").all():
            assert one.evaluate("e => e.scrollWidth <= e.clientWidth + 1"), one.inner_text()
    assert count >= 20


def test_every_page_is_in_the_index_and_opens(site: Path, page: Page) -> None:
    """From the first page, with a heading of its own."""
    page.goto((site / "index.html").as_uri())
    led_to = set(
        page.eval_on_selector_all("article a", "all => all.map(a => a.href.split('#')[0])")
    )
    for source in sorted((ROOT / "docs").glob("*.md")):
        target = (site / f"{source.stem}.html").as_uri()
        if source.name not in ("index.md", "README.md"):
            assert target in led_to, source.name
        page.goto(target)
        assert page.locator("article h1").count() == 1
