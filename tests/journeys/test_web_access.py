"""Every screen for everybody: axe finds nothing, and the plan has tables to read."""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from .page import chromium, open_page, press, program

pytestmark = pytest.mark.browser

RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa",
                                               "wcag22aa", "best-practice"]}}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the invented flat as a project."""
    from moisturemap.store import pack
    from moisturemap.workflow import read_survey

    folder = tmp_path_factory.mktemp("jobs")
    demo = Path(__file__).resolve().parents[2] / "demo_plans" / "flat"
    pack(read_survey(demo), folder / "flat.gpkg", "Ada Marsh")
    return folder


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(folder: Path, scheme: str) -> None:
    """WCAG 2.2 A and AA on every task, by day and by night."""
    found = {}
    with program(folder) as running, chromium() as browser:
        page = open_page(browser, running.address, color_scheme=scheme, bypass_csp=True,
                         tablet=scheme == "dark")  # fmt: skip
        page.locator(".cards").wait_for()
        found["start"] = Axe().run(page, options=RULES).response["violations"]
        for task in ("plan", "readings", "map", "drill", "tests", "report"):
            page.goto(f"{running.address}#/flat/{task}")
            page.locator(".panel h1").wait_for()
            page.locator(".panel progress").wait_for(state="detached")
            found[task] = Axe().run(page, options=RULES).response["violations"]
        press(page, "As tables")
        found["tables"] = Axe().run(page, options=RULES).response["violations"]
    broken = {
        task: [(one["id"], one["nodes"][0]["html"][:160]) for one in violations]
        for task, violations in found.items() if violations
    }  # fmt: skip
    assert broken == {}


def test_what_the_map_shows_is_there_as_tables(folder: Path) -> None:
    """Zones, bands, disturbed readings and readings, for those who cannot see the plan."""
    with program(folder) as running, chromium() as browser:
        page = open_page(browser, f"{running.address}#/flat/map")
        page.get_by_role("heading", name="How far to trust this map").wait_for()
        press(page, "As tables")
        dialog = page.locator("dialog")
        for caption in ("Floor by mapped reading", "Disturbed readings", "Readings"):
            assert dialog.get_by_role("table", name=caption, exact=True).count() == 1
