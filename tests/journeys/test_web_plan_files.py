"""A plan brought from a file: a layer or a storey is picked, a page traced, each shown first."""

from __future__ import annotations

import io
import itertools
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from .overlaps import faults_of
from .page import Program, begin_job, floor_at, open_page, press, push

pytestmark = pytest.mark.browser

_NUMBER = itertools.count(1)
SIZES = [(1366, 768), (1180, 820), (820, 1180), (390, 844)]
BOX = [(0, 0), (4, 0), (4, 3), (0, 3)]


def _job(browser: Browser, running: Program, size: tuple[int, int]) -> tuple[Page, str]:
    page = open_page(browser, running.address, size=size)
    job = f"Depot {next(_NUMBER)}"
    begin_job(page, job)
    return page, f"{running.address}api/projects/{job.replace(' ', '%20')}/"


def _rooms(page: Page, job: str) -> list[str]:
    plan = page.request.get(f"{job}plan").json()["plan"]
    return [one["name"] for one in plan["rooms"]]


def _use(page: Page) -> None:
    press(page, "Use this plan")
    page.get_by_text("Stored.", exact=True).wait_for()


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_a_layer_of_a_drawing_is_picked_and_shown(
    running: Program, browser: Browser, size: tuple[int, int], tmp_path: Path
) -> None:
    """Two layers enclose floor: each is shown when picked, and the one picked last is taken."""
    ezdxf = pytest.importorskip("ezdxf", reason="needs the extra dxf")
    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = 6
    space = drawing.modelspace()
    space.add_lwpolyline(BOX, close=True, dxfattribs={"layer": "old layout"})
    for east in (0, 4):
        ring = [(x + east, y) for x, y in BOX]
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "new layout"})
    space.add_line((1, 0), (1, 3), dxfattribs={"layer": "pipes"})
    drawing.saveas(tmp_path / "depot.dxf")
    page, job = _job(browser, running, size)
    page.get_by_label("Import a file").set_input_files(tmp_path / "depot.dxf")
    layers = page.get_by_label("Layer of the rooms")
    layers.wait_for()
    assert layers.locator("option").all_inner_texts() == [
        "found by itself",
        "new layout: 2 lines, 2 closed",
        "old layout: 1 line, 1 closed",
        "pipes: Known service, 1 line, 0 closed",
    ]
    layers.select_option("old layout")
    page.get_by_text("1 room; other lines: 2.").wait_for()
    layers.select_option("pipes")
    page.get_by_text("no closed outline of a room was found").wait_for()
    page.locator("dialog .main:disabled").wait_for()  # there is nothing to use
    layers.select_option("new layout")
    page.get_by_text("2 rooms; other lines: 1.").wait_for()
    page.get_by_text("The floor is 8.00 m × 3.00 m").wait_for()
    assert faults_of(page) == {}
    _use(page)
    assert len(_rooms(page, job)) == 2


def test_a_drawing_that_was_not_taken_yet_is_gone_on_with(
    running: Program, browser: Browser, tmp_path: Path
) -> None:
    """After a reload with the file and what was chosen for it; not once it was given up."""
    ezdxf = pytest.importorskip("ezdxf", reason="needs the extra dxf")
    drawing = ezdxf.new("R2010")
    for east, layer in ((0, "old"), (5, "old"), (0, "new")):
        ring = [(x + east, y) for x, y in BOX]
        drawing.modelspace().add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})
    drawing.saveas(tmp_path / "depot.dxf")
    page, job = _job(browser, running, (1180, 820))
    page.get_by_label("Import a file").set_input_files(tmp_path / "depot.dxf")
    page.get_by_label("Layer of the rooms").select_option("new")
    page.get_by_label("Units in the file").select_option("ft")
    push(page, page.get_by_label("Mirror"))
    page.get_by_text("1 room; other lines: 1.").wait_for()
    (tmp_path / "depot.dxf").unlink()  # what was chosen need not be there any more
    page.reload()
    press(page, "Go on with depot.dxf")
    page.get_by_text("1 room; other lines: 1. The floor is 1.22 m × 0.91 m").wait_for()
    assert page.get_by_label("Layer of the rooms").input_value() == "new"
    assert page.get_by_label("Units in the file").input_value() == "ft"
    assert page.get_by_label("Mirror").is_checked()
    page.keyboard.press("Escape")  # closed, not given up
    press(page, "Go on with depot.dxf")
    press(page, "Cancel")
    page.get_by_role("button", name="Go on with depot.dxf").wait_for(state="detached")
    page.reload()
    page.get_by_label("Import a file").wait_for(state="attached")
    assert page.get_by_role("button", name="Go on with").count() == 0
    assert _rooms(page, job) == []


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_a_storey_of_a_building_model_is_picked_and_shown(
    running: Program, browser: Browser, size: tuple[int, int], tmp_path: Path, building_model: Any
) -> None:
    """The lowest is shown first; another is picked from a list; its spaces become the rooms."""
    model = building_model()
    model.space(model.storey("Cellar", -3.0), "C.01", BOX, at=(0, 0, -3.0))
    upper = model.storey("Ground floor", 0.0)
    for number in (1, 2):
        model.space(upper, f"0.0{number}", BOX, at=(4.0 * number, 0, 0))
    page, job = _job(browser, running, size)
    page.get_by_label("Import a file").set_input_files(model.write(tmp_path / "depot.ifc"))
    storeys = page.get_by_label("Storey")
    storeys.wait_for()
    assert storeys.locator("option").all_inner_texts() == [
        "Cellar: 1 room",
        "Ground floor: 2 rooms",
    ]
    page.get_by_text("1 room; other lines: 0.").wait_for()
    storeys.select_option("Ground floor")
    page.get_by_text("2 rooms; other lines: 0.").wait_for()
    assert faults_of(page) == {}
    page.get_by_label("Turn").select_option("90")
    page.get_by_text("The floor is 3.00 m × 8.00 m").wait_for()
    _use(page)
    stored = page.request.get(f"{job}plan").json()
    page.reload()
    page.get_by_role("button", name="0.02", exact=True).wait_for()
    assert page.request.get(f"{job}plan").json() == stored
    assert _rooms(page, job) == ["0.01", "0.02"]


@pytest.mark.parametrize("size", [(820, 1180), (390, 844)], ids=str)
def test_a_page_of_a_document_is_chosen_and_traced_over(
    running: Program, browser: Browser, size: tuple[int, int]
) -> None:
    """The second page is shown small, chosen, kept, and set to scale by what is written on it."""
    pdfium = pytest.importorskip("pypdfium2", reason="needs the extra pdf")
    document = pdfium.PdfDocument.new()
    for sheet in ((200, 200), (841.89, 595.276)):
        document.new_page(*sheet)
    buffer = io.BytesIO()
    document.save(buffer)
    page, job = _job(browser, running, size)
    page.get_by_label("Trace a photo or PDF").set_input_files(
        {"name": "sheet.pdf", "mimeType": "application/pdf", "buffer": buffer.getvalue()}
    )
    page.get_by_role("img", name="Page 1 of 2").wait_for()
    press(page, "Next ›")
    page.get_by_role("img", name="Page 2 of 2").wait_for()
    assert faults_of(page) == {}
    page.reload()
    press(page, "Go on with sheet.pdf")
    page.get_by_role("img", name="Page 2 of 2").wait_for()
    press(page, "Use this page")
    page.get_by_role("heading", name="Picture to trace over").wait_for()
    page.get_by_text("Stored.", exact=True).wait_for()
    assert page.get_by_role("button", name="Go on with").count() == 0
    kept = page.request.get(f"{job}backdrop").json()["backdrop"]
    assert kept["width"] / kept["height"] == pytest.approx(297 / 210, abs=0.01)  # ISO 216 A4
    page.get_by_label("Scale of the sheet 1 :").fill("50")
    press(page, "Use it")
    page.get_by_text("Scale set: the picture is 14.8").wait_for()
    assert faults_of(page) == {}


def test_the_program_dies_while_a_plan_is_traced(tmp_path: Path, browser: Browser) -> None:
    """Corners drawn before, while and after it is away are all there when it is back."""
    from .page import program

    corners = [(1.0, 1.0), (6.0, 1.0), (6.0, 5.0), (1.0, 5.0)]
    with program(tmp_path, eager=False) as running:
        page, job = _job(browser, running, (820, 1180))
        press(page, "Draw a room")
        for number, corner in enumerate(corners):
            if number == 2:
                running.kill()
            page.touchscreen.tap(*floor_at(page, *corner))
            page.wait_for_timeout(350)  # two taps closer than this are a double tap
        press(page, "Close the outline")
        page.get_by_label("Name of the room").fill("store")
        page.get_by_label("Name of the room").press("Tab")
        press(page, "Done")
        page.wait_for_timeout(1200)
        running.start()
        page.get_by_text("Stored.", exact=True).wait_for()
        assert _rooms(page, job) == ["store"]
        ring = page.request.get(f"{job}plan").json()["plan"]["rooms"][0]["rings"][0]
        assert ring == [pytest.approx(one, abs=0.05) for one in corners]
