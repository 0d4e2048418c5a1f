"""A picture that is refused makes way for another."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser

from .page import Program, at_stored_visit, open_page, push, to_task

pytestmark = pytest.mark.browser


def test_another_picture_is_chosen_where_one_is_refused(
    running: Program, browser: Browser, tmp_path: Path
) -> None:
    """The button "Try again" sent the same file, which was refused again."""
    page = open_page(browser, running.address, size=(390, 844))
    job = at_stored_visit(page, running, "Pictures")
    to_task(page, "Report")
    chooser = page.get_by_label("Add a picture or PDF")
    chooser.wait_for(state="attached")
    (tmp_path / "hall.png").write_text("no picture")
    chooser.set_input_files(tmp_path / "hall.png")
    dialog = page.locator("dialog")
    dialog.get_by_role("heading", name="hall.png").wait_for()
    assert dialog.get_by_text("Not stored", exact=False).is_visible()
    assert dialog.get_by_role("button", name="Try again").count() == 0
    Image.new("RGB", (40, 30), "white").save(tmp_path / "wall.png")
    with page.expect_file_chooser() as asked:
        push(page, dialog.get_by_role("button", name="Choose another"))
    asked.value.set_files(tmp_path / "wall.png")
    page.get_by_text("The picture is kept.").wait_for()
    kept = page.request.get(f"{job.api}/photos").json()["photos"]
    assert [one["name"] for one in kept] == ["wall.png"]
