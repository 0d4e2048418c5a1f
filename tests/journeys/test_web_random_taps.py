"""Whatever is tapped in whatever order: no error, nothing lost, nothing over anything else."""

from __future__ import annotations

import os
import random
import time
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from .page import open_page, program
from .plan_finger import PlanFinger, leave_tools, press_all
from .random_taps import Finger

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SECONDS = float(os.environ.get("MOISTUREMAP_TAP_SECONDS", "90"))
FIRST_SEED = int(os.environ.get("MOISTUREMAP_TAP_SEED", "1"))
SIZES = [(820, 1180), (390, 844), (1180, 820), (1366, 768), None]
"""By touch, and last by mouse on a laptop."""
IDS = ["tablet-upright", "phone", "tablet", "laptop", "mouse"]
TASKS = ("plan", "readings", "map", "drill", "tests", "drying", "source", "report")


@pytest.mark.parametrize("nth", range(len(SIZES)), ids=IDS)
def test_random_taps_break_nothing_and_lose_nothing(
    tmp_path: Path, browser: Browser, nth: int
) -> None:
    """No page error, no answer of 500, no overlap, never stuck, and every stored change kept."""
    from moisturemap.store import open_project, pack
    from moisturemap.workflow.read import read_survey

    demo = Path(__file__).resolve().parents[2] / "demo_plans" / "flat"
    pack(read_survey(demo), tmp_path / "flat.gpkg", "Ada Marsh")
    seed = FIRST_SEED + nth
    dice = random.Random(seed)
    with program(tmp_path) as running:
        page = open_page(browser, running.address, size=SIZES[nth])
        page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
        # what computes is loaded by then, which takes a minute where ten programs share the machine
        page.request.get(f"{running.address}api/projects/flat/map", timeout=300_000)
        finger = Finger(page, dice)
        end = time.monotonic() + SECONDS
        while time.monotonic() < end and len(finger.wrong) < 5:
            if finger.taps % 40 == 0:
                page.goto(f"{running.address}#/flat/{dice.choice(TASKS)}")
            finger.act()
            if finger.taps % 4 == 0:
                finger.settle()
        page.wait_for_timeout(1500)
        plan = page.request.get(f"{running.address}api/projects/flat/plan").json()["plan"]
        running.kill()
        with open_project(tmp_path / "flat.gpkg") as project:
            assert project.verify().intact
            unknown = [key for key in finger.stored if project.rows_of_request(key) is None]
        running.start()
        # a correction to what stood there already leaves no entry, and must find it there again
        lost = [
            finger.stored[key]
            for key in unknown
            if not finger.overwritten(key) and finger.changes_anything(finger.stored[key])
        ]
    done = f"seed {seed}, {finger.taps} actions, {len(finger.stored)} changes"
    said = (tmp_path / "said.txt").read_text()[-3000:]
    assert finger.wrong == [], f"{done}, {said}:\n" + "\n".join(finger.wrong)
    if finger.plan is not None:
        assert [one["name"] for one in plan["rooms"]] == [
            one["name"] for one in finger.plan["rooms"]
        ]
    assert lost == [], done


@pytest.mark.parametrize("nth", range(len(SIZES)), ids=IDS)
def test_random_taps_on_the_plan_move_only_what_they_touch(
    tmp_path: Path, browser: Browser, nth: int
) -> None:
    """No corner or name moves untouched; undo of all is the plan of before, redo that of after."""
    from moisturemap.store import pack
    from moisturemap.workflow.read import read_survey

    demo = Path(__file__).resolve().parents[2] / "demo_plans" / "flat"
    pack(read_survey(demo), tmp_path / "flat.gpkg", "Ada Marsh")
    seed = FIRST_SEED + nth
    with program(tmp_path) as running:
        page = open_page(browser, running.address, size=SIZES[nth])
        page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
        page.goto(f"{running.address}#/flat/plan")
        page.locator(".tools").get_by_role("button", name="Redo", exact=True).wait_for()
        address = f"{running.address}api/projects/flat/"
        finger = PlanFinger(page, random.Random(seed), address=address)
        first = finger.plan_here()
        end = time.monotonic() + SECONDS
        while time.monotonic() < end and len(finger.wrong) < 5:
            finger.act()
            if finger.taps % 4 == 0:
                finger.settle()
        leave_tools(page)
        last = finger.plan_here()
        pressed = press_all(page, "Undo")
        back = finger.plan_here()
        press_all(page, "Redo", pressed)
        forth = finger.plan_here()
        press_all(page, "Undo")
        page.get_by_text("Stored.", exact=True).wait_for()
        stored = page.request.get(f"{address}plan").json()["plan"]
        said = (tmp_path / "said.txt").read_text()[-3000:]
    done = f"seed {seed}, {finger.taps} actions, {pressed} changes, {said}"
    assert finger.wrong == [], f"{done}:\n" + "\n".join(finger.wrong)
    assert pressed > 0, done
    assert (back, forth, stored) == (first, last, first), done
