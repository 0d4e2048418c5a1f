"""What a verdict rests on and was changed since."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from moisturemap import decide, read_survey, store
from moisturemap.errors import StoreError
from moisturemap.workflow.recorded import remarks_on_records


def test_a_limit_changed_once_tests_were_known_is_told(packed: Path) -> None:
    """Both values, who and why; nothing when it is as it was."""
    with store.open_project(packed, writable=True) as project:
        limit = project.survey().limit
        assert limit is not None
        assert not any("limit" in one for one in project.survey().changed_tests)
        higher = replace(limit, value=limit.value + 5.0)
        project.set_limit(higher, "B. Tester", "other adhesive")
        (said,) = (one for one in project.survey().changed_tests if "limit" in one)
        assert f"was {limit.value:g} {limit.unit} and changed to {higher.value:g}" in said
        assert said.endswith("by B. Tester: other adhesive.")
        project.set_limit(limit, "B. Tester", "was right")
        assert not any("limit" in one for one in project.survey().changed_tests)
        project.set_limit(None, "B. Tester", "none stated")
        assert any("was taken away on" in one for one in project.survey().changed_tests)


def test_the_name_of_a_test_set_aside_is_not_given_again(packed: Path) -> None:
    """Two places would bear one name between two issues of a report."""
    with store.open_project(packed, writable=True) as project:
        row = project.rows("tests")[0]
        project.remove("tests", [1], "B. Tester", "probe dropped")
        assert row["hole"] in project.survey().hole_names


def test_corrections_after_the_first_issue_are_told(packed: Path, tmp_path: Path) -> None:
    """A thicker slab, another check: the verdict may turn by it."""
    with store.open_project(packed, writable=True) as project:
        before = project.rows("rooms")[0]["thickness_mm"]
        project.correct("rooms", 1, {"thickness_mm": 140.0}, "B. Tester", "measured")
        assert not any("thickness" in one for one in project.survey().changed_tests)
        document = tmp_path / "v1-A.pdf"
        document.write_bytes(b"invented")
        made = store.Issue({}, {"report": "v1-A"})
        store.issue_together(project, {"v1-A.pdf": document}, made, "A. Tester", "issued")
        project.correct("rooms", 1, {"thickness_mm": before}, "B. Tester", "measured again")
        (said,) = (one for one in project.survey().changed_tests if "thickness" in one)
    assert "After the first issue room" in said
    assert "140" in said
    assert said.endswith("by B. Tester: measured again.")


def test_what_was_packed_was_keyed_in_before(packed: Path) -> None:
    """No quarter of an hour of grace begins with the packing."""
    with store.open_project(packed, writable=True) as project:
        value = project.rows("tests")[0]["value"]
        project.correct("tests", 1, {"value": value - 9.0}, "A. Tester", "client asked")
        assert list(project.survey().former_tests["altered_why"]) == ["client asked"]


def test_what_was_changed_goes_along_into_a_folder_and_back(packed: Path, tmp_path: Path) -> None:
    """A folder keeps no record; the exchange of two devices may go that way."""
    with store.open_project(packed, writable=True) as project:
        row, reading = project.rows("tests")[0], project.rows("readings")[0]
        project.remove("tests", [1], "B. Tester", "client asked")
        lower = {"value": reading["value"] - 5.0}
        project.correct("readings", reading["fid"], lower, "B. Tester", "client asked")
        there = project.survey()
        store.unpack(project, tmp_path / "folder")
    for _ in range(2):
        folder = read_survey(tmp_path / "folder")
        assert folder.changed_tests == there.changed_tests
        assert folder.lowered_readings == there.lowered_readings
        pd.testing.assert_frame_equal(
            folder.former_tests[["hole", "value", "told", "altered_why"]],
            there.former_tests[["hole", "value", "told", "altered_why"]],
        )
        assert list(folder.former_readings["value"]) == [reading["value"]]
        again = tmp_path / "again.gpkg"
        again.unlink(missing_ok=True)
        store.pack(folder, again, "C. Tester")
        with store.open_project(again) as project:
            kept = project.survey()
            assert kept.changed_tests == there.changed_tests
            assert list(kept.former_tests["altered_why"]) == ["client asked"]
            assert row["hole"] in kept.hole_names
            shutil.rmtree(tmp_path / "folder")
            store.unpack(project, tmp_path / "folder")


def test_a_spoilt_file_of_what_was_changed_is_refused_by_name(packed: Path, tmp_path: Path) -> None:
    """Read as none, it would take away what speaks against the floor."""
    with store.open_project(packed, writable=True) as project:
        project.remove("tests", [1], "B. Tester", "client asked")
        store.unpack(project, tmp_path / "folder")
    (tmp_path / "folder" / "changed-before.json").write_text('{"told": []}', encoding="utf-8")
    with pytest.raises(StoreError, match=r"changed-before\.json"):
        read_survey(tmp_path / "folder")


@pytest.mark.parametrize("how", ["taken away", "emptied", "laid out anew"])
def test_a_lost_file_of_what_was_changed_is_told(packed: Path, tmp_path: Path, how: str) -> None:
    """Without it nothing clears the floor, in the folder or where it is packed again."""
    with store.open_project(packed, writable=True) as project:
        project.remove("tests", [1], "B. Tester", "client asked")
        store.unpack(project, tmp_path / "folder")
    file = tmp_path / "folder" / "changed-before.json"
    told = json.loads(file.read_text(encoding="utf-8"))
    if how == "taken away":
        file.unlink()
    elif how == "emptied":
        file.write_text(json.dumps({**told, "told": [], "tests": []}), encoding="utf-8")
    else:
        file.write_bytes(json.dumps(told, indent=4, sort_keys=True).replace("\n", "\r\n").encode())
    survey = read_survey(tmp_path / "folder")
    lost = survey.lost_record
    assert bool(lost) is (how != "laid out anew")
    assert (lost in decide(survey).reasons) is bool(lost)
    assert [one.level for one in remarks_on_records(survey) if lost and lost in one.sentence] == [
        "problem"
    ] * bool(lost)
    store.pack(survey, tmp_path / "again.gpkg", "C. Tester")
    with store.open_project(tmp_path / "again.gpkg") as project:
        assert project.survey().lost_record == lost
        store.unpack(project, tmp_path / "once-more")
    assert read_survey(tmp_path / "once-more").lost_record == lost
