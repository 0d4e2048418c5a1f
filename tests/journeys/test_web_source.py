"""Where the water comes from: questions answered, causes weighed, the next measurement named."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from .overlaps import faults_of
from .page import Program, open_page, press, program, push, to_task

pytestmark = pytest.mark.browser

SIZES = [(1366, 768), (1180, 820), (820, 1180), (390, 844)]


@pytest.fixture(scope="module")
def wet_flat(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """The app over a folder with the invented flat as a project."""
    from moisturemap.store import pack
    from moisturemap.workflow.read import read_survey

    folder = tmp_path_factory.mktemp("jobs")
    demo = Path(__file__).resolve().parents[2] / "demo_plans" / "flat"
    pack(read_survey(demo), folder / "flat.gpkg", "Ada Marsh")
    with program(folder) as running:
        yield running


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_answers_are_kept_and_causes_weighed(
    wet_flat: Program, browser: Browser, size: tuple[int, int]
) -> None:
    """An answer outlives leaving the page; weighed answers are of the job; causes are listed."""
    page = open_page(browser, f"{wet_flat.address}#/flat/source", size=size)
    page.get_by_role("heading", name="Questions").wait_for()
    asked = page.locator(".panel select").first
    words = asked.locator("option").nth(1).inner_text()
    asked.select_option(index=1)
    to_task(page, "Tests")
    page.get_by_role("heading", name="Tests", exact=True).wait_for()
    to_task(page, "Source")
    kept = page.locator(".panel select").first
    kept.wait_for()
    assert kept.locator("option:checked").inner_text() == words
    press(page, "Weigh the causes")
    name = page.locator("dialog").get_by_label("Your name")
    name.fill("Ada Marsh")
    push(page, page.locator("dialog .actions button").first)
    causes = page.get_by_role("table", name="Causes and what speaks for and against them")
    causes.wait_for()
    assert causes.locator("tbody tr").count() > 2
    assert page.get_by_role("table", name="What to measure next").locator("tbody tr").count() > 0
    assert faults_of(page) == {}
    stored = page.request.get(f"{wet_flat.address}api/projects/flat/questions").json()["answers"]
    assert len(stored) == 1
    page.reload()
    again = page.locator(".panel select").first
    again.wait_for()
    assert again.locator("option:checked").inner_text() == words
