"""Stop ends what is waited for, whatever else is asked or was left, and offers it again."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from .page import open_page, program, push

pytestmark = pytest.mark.browser


def test_stop_ends_what_is_waited_for_and_offers_it_again(tmp_path: Path, browser: Browser) -> None:
    """Tasks left while they compute are dropped; Stop says so at once and asks again on demand."""
    from moisturemap.store import pack
    from moisturemap.workflow.read import read_survey

    demo = Path(__file__).resolve().parents[2] / "demo_plans" / "bakery"
    pack(read_survey(demo), tmp_path / "bakery.gpkg", "Ada Marsh")
    with program(tmp_path) as running:
        page = open_page(browser, running.address, size=(820, 1180))
        progress = f"{running.address}api/projects/bakery/progress"
        for task in ("drying", "map", "drill"):
            page.goto(f"{running.address}#/bakery/{task}")
            page.get_by_role("button", name="Stop").wait_for()
        push(page, page.get_by_role("button", name="Stop"))
        page.get_by_text("Stopped, as you wished.").wait_for(timeout=2000)
        expect(page.locator("progress")).to_have_count(0)
        for _ in range(50):
            if page.request.get(progress).json()["phrase"] == "":
                break
            page.wait_for_timeout(200)
        assert page.request.get(progress).json()["phrase"] == "", "nobody waits for it"
        push(page, page.get_by_role("button", name="Try again"))
        page.get_by_role("heading", name="Holes").or_(
            page.get_by_text("Want a hole")
        ).first.wait_for()
        expect(page.locator("progress")).to_have_count(0)
