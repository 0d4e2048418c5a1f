"""Names and signs on the plan never stand over each other, near and far, at every size."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from moisturemap.store import pack
from moisturemap.workflow.read import read_survey

from .drawn import RECORD, marks_of, overprinted
from .page import Program, open_page, program, push

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SIZES = [(390, 844), (820, 1180), (1180, 820), (1366, 768), (1920, 1080)]
PLANS = Path(__file__).resolve().parents[2] / "demo_plans"
TASKS = ("map", "drill", "tests", "drying")
STEPS = ("Zoom in", "Zoom in", "Show the whole floor", "Zoom out", "Zoom out")


@pytest.fixture(scope="module")
def floors(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """The app over a floor with contested places, sweeps and tests, and one of many rooms."""
    folder = tmp_path_factory.mktemp("floors")
    for name in ("bakery", "flat"):
        pack(read_survey(PLANS / name), folder / f"{name}.gpkg", "Ada Marsh")
    with program(folder) as running:
        yield running


QUIET_FRAMES = 20
"""A plan that moves is drawn in each frame; on a busy machine few come in a second."""


def _settled(page: Page) -> None:
    """Wait until the plan moves no more: while it does, its names stand where they stood before."""
    page.evaluate("window.since_ = window.drawn_.frame")
    page.wait_for_function(
        """(quiet) => {
          const { frame, marks } = window.drawn_;
          return frame - Math.max(window.since_, marks.at(-1)?.frame ?? 0) >= quiet;
        }""",
        arg=QUIET_FRAMES,
    )


@pytest.mark.parametrize("letters", [16, 32], ids=["letters as they come", "letters at 200%"])
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("floor", ["bakery", "flat"])
def test_no_word_stands_over_another_or_over_a_sign(
    floors: Program, browser: Browser, floor: str, size: tuple[int, int], letters: int
) -> None:
    """As the plan is opened, closer, whole again and further away."""
    page = open_page(browser, floors.address, tablet=size[0] < 1300, size=size)
    page.add_init_script(f"({RECORD})()")
    fonts = page.context.new_cdp_session(page)
    fonts.send("Page.setFontSizes", {"fontSizes": {"standard": letters, "fixed": 13}})
    found, seen = {}, 0
    for task in TASKS:
        page.goto(f"{floors.address}#/{floor}/{task}")
        page.reload()
        page.locator(".panel h1").first.wait_for()
        page.locator(".panel progress").wait_for(state="detached")
        for step in ("", *STEPS):
            control = page.get_by_title(step, exact=True)
            if step and control.is_visible():  # where letters are large, some give way
                push(page, control)
            _settled(page)
            marks = marks_of(page)
            seen += len(marks)
            if faults := overprinted(marks):
                found[f"{task}, {step or 'as opened'}"] = faults
    assert seen > 50
    assert found == {}
