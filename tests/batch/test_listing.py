"""Which floors a run goes over."""

from __future__ import annotations

from pathlib import Path

import pytest

from moisturemap.batch import find_surveys
from moisturemap.errors import NotEnoughData, SurveyError
from moisturemap.store.backup import folder_of


def survey_at(folder: Path) -> None:
    """Leave a folder that looks like a survey."""
    folder.mkdir(parents=True)
    (folder / "survey.toml").write_text("", encoding="utf-8")


def test_folders_and_project_files_are_found_at_any_depth_in_order(tmp_path: Path) -> None:
    """Hidden folders, what lies inside a survey, and the results are not floors."""
    survey_at(tmp_path / "b" / "two")
    survey_at(tmp_path / "a")
    survey_at(tmp_path / "a" / "inner")
    survey_at(tmp_path / ".hidden")
    survey_at(tmp_path / "out" / "x")
    (tmp_path / "c.gpkg").write_bytes(b"")
    found = find_surveys(tmp_path, without=tmp_path / "out")
    assert [one.floor for one in found] == ["a", "b/two", "c.gpkg"]


def test_copies_the_program_made_itself_are_no_floors(tmp_path: Path) -> None:
    """They are earlier states of a floor that is listed already."""
    project = tmp_path / "Mill lane.gpkg"
    project.write_bytes(b"")
    copies = folder_of(project)
    copies.mkdir()
    (copies / "Mill lane-2026-11-28.gpkg").write_bytes(b"")
    assert [one.floor for one in find_surveys(tmp_path)] == ["Mill lane.gpkg"]


def test_a_survey_folder_itself_is_one_floor(tmp_path: Path) -> None:
    """Its name is that of the folder."""
    survey_at(tmp_path / "shop")
    assert [one.floor for one in find_surveys(tmp_path / "shop")] == ["shop"]


def test_a_list_names_surveys_floors_and_visits(tmp_path: Path) -> None:
    """Paths are relative to the list; semicolons and a BOM are read."""
    path = tmp_path / "jobs.csv"
    path.write_text("\ufeffsurvey;floor;visit\nx/one;Ward 1;v2\ny.gpkg;;\n", encoding="utf-8")
    found = find_surveys(path)
    assert [(one.floor, one.visit) for one in found] == [("Ward 1", "v2"), ("y.gpkg", None)]
    assert found[0].path == tmp_path / "x" / "one"


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16"])
def test_a_list_in_the_encoding_of_a_spreadsheet_is_read(tmp_path: Path, encoding: str) -> None:
    """As other tables are."""
    path = tmp_path / "jobs.csv"
    path.write_text("survey;floor\nküche;Küche süd\n", encoding=encoding)
    (found,) = find_surveys(path)
    assert (found.floor, found.path) == ("Küche süd", tmp_path / "küche")


def test_a_list_of_a_heading_alone_says_so(tmp_path: Path) -> None:
    """Nothing was looked for in a folder."""
    path = tmp_path / "jobs.csv"
    path.write_text("survey,floor\n", encoding="utf-8")
    with pytest.raises(NotEnoughData, match="names no floor"):
        find_surveys(path)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("path\nx\n", "column survey"),
        ("survey,floor\n,A\n", "row 2"),
        ("survey,floor\nx,A\ny,A\n", "row 3"),
    ],
)
def test_a_list_that_cannot_be_understood_names_its_row(
    tmp_path: Path, text: str, said: str
) -> None:
    """File, row and what is allowed."""
    path = tmp_path / "jobs.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SurveyError, match=said):
        find_surveys(path)


def test_nothing_to_do_is_said(tmp_path: Path) -> None:
    """An empty folder is no run."""
    with pytest.raises(NotEnoughData, match=r"survey\.toml"):
        find_surveys(tmp_path)
    with pytest.raises(SurveyError, match="no such folder"):
        find_surveys(tmp_path / "missing")
