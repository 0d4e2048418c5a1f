"""Photographs into a project file by the command, without what they tell of their place."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image
from shapely.geometry import box

from moisturemap import store
from moisturemap.cli import main
from moisturemap.floorplan import Room


def run(*arguments: object) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project with one room."""
    path = tmp_path / "job.gpkg"
    with store.create_project(path, "Invented hall", "A. Tester") as made:
        made.add_room(Room("Hall", box(0, 0, 6, 4)), "A. Tester")
    return path


@pytest.fixture
def photograph(tmp_path: Path) -> Path:
    """A picture that names its camera."""
    exif, content = Image.Exif(), io.BytesIO()
    exif[0x010F] = "Invented Camera Works"
    Image.new("RGB", (20, 10), "grey").save(content, "JPEG", exif=exif)
    path = tmp_path / "wall.jpg"
    path.write_bytes(content.getvalue())
    return path


@pytest.mark.parametrize("keep", [False, True])
def test_the_camera_is_kept_on_purpose_only(project: Path, photograph: Path, keep: bool) -> None:
    """By `--keep-origin`, and of the room that is named."""
    wish = ["--keep-origin"] if keep else []
    done = run("attach", project, photograph, "--who", "A. Tester", "--of", "rooms:1", *wish)
    assert done.exit_code == 0, done.output
    with store.open_project(project) as opened:
        (row,) = opened.rows("attachments")
        assert (row["of_layer"], row["of_row"]) == ("rooms", "1")
        assert (b"Invented Camera Works" in opened.content(row["sha256"])) is keep


def test_all_files_are_kept_or_none(project: Path, photograph: Path, tmp_path: Path) -> None:
    """One that is no picture leaves the other out too, and is named."""
    other = tmp_path / "list.txt"
    other.write_text("no picture")
    done = run("attach", project, photograph, other, "--who", "A. Tester", "--json")
    assert done.exit_code == 1
    assert "list.txt" in json.loads(done.stdout)["refused"]["sentence"]
    with store.open_project(project) as opened:
        assert opened.rows("attachments") == []


def test_what_it_is_of_is_a_row(project: Path, photograph: Path) -> None:
    """A word in place of layer and number is wrong usage."""
    done = run("attach", project, photograph, "--who", "A. Tester", "--of", "hall")
    assert done.exit_code == 2
    assert "names no row" in done.output


@pytest.mark.parametrize("row", ["rooms:99", "rooms:0", "tests:1"])
def test_a_row_that_is_not_there_is_refused(project: Path, photograph: Path, row: str) -> None:
    """It was kept of nothing: the picture was cut from its hole and nobody told."""
    done = run("attach", project, photograph, "--who", "A. Tester", "--of", row)
    assert done.exit_code == 1
    assert "there is no such row in" in done.output
    assert ("1 (Hall)" in done.output) == row.startswith("rooms")
    with store.open_project(project) as opened:
        assert opened.rows("attachments") == []
