"""What a verdict rests on and was changed since."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from moisturemap import store


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
