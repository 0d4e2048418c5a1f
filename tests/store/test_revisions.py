"""What was changed between the issues of a report."""

from pathlib import Path

from moisturemap import store


def _issue(project: store.Project, folder: Path, number: str, *suffixes: str) -> None:
    files = {}
    for suffix in suffixes:
        files[f"{number}{suffix}"] = folder / f"{number}{suffix}"
        files[f"{number}{suffix}"].write_bytes(b"invented")
    made = store.Issue({}, {"report": number})
    store.issue_together(project, files, made, "A. Tester", "report issued")


def test_a_project_without_issues_tells_none(packed: Path) -> None:
    """There is nothing before the first."""
    with store.open_project(packed) as project:
        assert store.revisions_of(project) == store.Revisions()


def test_issues_are_told_with_what_was_changed_since(packed: Path, tmp_path: Path) -> None:
    """Documents of one making are one issue; a corrected value is named, old and new."""
    with store.open_project(packed, writable=True) as project:
        _issue(project, tmp_path, "v1-A", ".pdf", ".html")
        reading = project.rows("readings")[0]
        project.correct("readings", 1, {"value": 5000.0}, "B. Tester", "x")
        _issue(project, tmp_path, "v1-B", ".pdf")
        found = store.revisions_of(project)
    assert [one.number for one in found.earlier] == ["v1-A", "v1-B"]
    assert {one.who for one in found.earlier} == {"A. Tester"}
    assert found.earlier[0].changed == "first issue"
    value = f"{reading['reading'] or 1}: {reading['value']:g} → 5000"
    assert found.earlier[1].changed == f"since v1-A: readings: 1 corrected ({value})"
    assert found.changed == "nothing in the data since v1-B"
