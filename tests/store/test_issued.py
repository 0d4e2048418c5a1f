"""Issued documents and whether their numbers still come out."""

import sqlite3
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from moisturemap import store
from moisturemap.errors import InputError, NotEnoughData, StoreError
from moisturemap.survey import Survey


def highest(survey: Survey, options: Mapping[str, Any]) -> dict[str, Any]:
    """Key numbers of an invented document."""
    values = survey.readings["value"] * options.get("factor", 1.0)
    return {"highest": float(values.max()), "count": len(values), "method": "x", "none": None}


@pytest.fixture
def issued(packed: Path, tmp_path: Path) -> Path:
    document = tmp_path / "report.pdf"
    document.write_bytes(b"%PDF-1.7 invented")
    with store.open_project(packed, writable=True) as project:
        made = store.Issue(highest(project.survey(), {"factor": 2.0}), {"factor": 2.0})
        store.issue(project, document, made, "A. Tester")
    return packed


def test_the_document_is_frozen_with_what_it_was_made_from(issued: Path, tmp_path: Path) -> None:
    """Bytes, head of the record, options, versions."""
    with store.open_project(issued) as project:
        (row,) = project.rows("issued_documents")
        assert project.content(row["sha256"]) == (tmp_path / "report.pdf").read_bytes()
        assert row["record_hash"] == project.record()[row["record_number"] - 1].hash
        assert '"factor":2.0' in row["options"]
        assert '"numpy"' in row["versions"]


def test_the_same_numbers_come_out_of_the_data_as_they_were(issued: Path) -> None:
    """Also after corrections, which are counted."""
    with store.open_project(issued, writable=True) as project:
        project.correct("readings", 1, {"value": 5000.0}, "B. Tester", "x")
        (found,) = store.recheck(project, highest)
    assert found.same
    assert found.changes_since == 1
    assert found.versions_then == {}


def test_other_numbers_are_told(issued: Path) -> None:
    """Each by name with both values."""
    with store.open_project(issued) as project:
        (found,) = store.recheck(project, lambda *given: {**highest(*given), "count": 29})
    assert found.differences == ("count: 29 comes out, the document says 30",)


def test_numbers_that_cannot_be_computed_are_told(issued: Path) -> None:
    """A refusal is a finding, not a crash."""

    def refuse(*_: Any) -> dict[str, Any]:
        message = "too few readings"
        raise NotEnoughData(message)

    with store.open_project(issued) as project:
        (found,) = store.recheck(project, refuse)
    assert "too few readings" in found.differences[0]


def test_a_rewritten_record_no_longer_matches_the_document(issued: Path) -> None:
    """The hash printed in the document is what brings it to light."""
    connection = sqlite3.connect(issued)
    connection.execute(
        "UPDATE record_of_changes SET hash = 'x' || substr(hash, 2)"  # no hash begins so
        " WHERE fid = (SELECT record_number FROM issued_documents)"
    )
    connection.commit()
    connection.close()
    with store.open_project(issued) as project:
        (found,) = store.recheck(project, highest)
    assert "rewritten" in found.differences[0]


def test_documents_made_together_name_the_same_entry(issued: Path, tmp_path: Path) -> None:
    """The one printed in them, not the one their issue added."""
    with store.open_project(issued, writable=True) as project:
        survey = project.survey()
        then = survey.provenance.options["record_number"]
        for name in ("a.pdf", "a.html"):
            (tmp_path / name).write_bytes(b"%PDF-1.7 invented")
            made = store.Issue(highest(survey, {}), {}, then)
            store.issue(project, tmp_path / name, made, "A. Tester")
        rows = project.rows("issued_documents")[1:]
        assert {row["record_number"] for row in rows} == {then}
        assert {row["record_hash"] for row in rows} == {survey.provenance.options["record_hash"]}
        assert all(found.same for found in store.recheck(project, highest))
        with pytest.raises(InputError, match="no such entry"):
            store.issue(project, tmp_path / "a.pdf", store.Issue({}, {}, 999), "A. Tester")


def test_only_documents_are_issued(packed: Path, tmp_path: Path) -> None:
    """The kinds are named."""
    (tmp_path / "a.exe").write_bytes(b"MZ")
    with (
        store.open_project(packed, writable=True) as project,
        pytest.raises(InputError, match=r"\.pdf"),
    ):
        store.issue(project, tmp_path / "a.exe", store.Issue({}), "A. Tester")


def test_an_issued_document_cannot_be_undone(issued: Path) -> None:
    """What was sent was sent."""
    with store.open_project(issued, writable=True) as project:
        for again in (project.undo, project.redo):
            with pytest.raises(StoreError, match="there is nothing to"):
                again("A. Tester")


def test_documents_of_one_making_are_issued_together(packed: Path, tmp_path: Path) -> None:
    """One change, so that a program that dies has issued both or none."""
    files = {}
    for name in ("report.pdf", "report.docx"):
        files[name] = tmp_path / f"unfinished-{name}"
        files[name].write_bytes(name.encode())
    with store.open_project(packed, writable=True) as project:
        made = store.Issue({"area_m2": 1.0})
        assert store.issue_together(project, files, made, "A. Tester", "report issued") == [1, 2]
        assert [row["name"] for row in project.rows("issued_documents")] == list(files)
        assert len({one.change for one in project.record() if "issued" in one.layer}) == 1
        files["report.exe"] = files["report.pdf"]
        before = project.head()
        with pytest.raises(InputError, match="not a document we issue"):
            store.issue_together(project, files, made, "A. Tester", "report issued")
        assert project.head() == before
