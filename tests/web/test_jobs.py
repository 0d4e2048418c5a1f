"""Jobs are project files in one folder."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from moisturemap.store import open_project
from moisturemap.survey import Visit
from moisturemap.web import Settings, create_app

from .conftest import WHO, make_job


def test_a_repeated_request_makes_one_job(client: TestClient) -> None:
    """An answer lost on the way does not double the job."""
    key = {"Idempotency-Key": "k1"}
    first = client.post("/api/projects", json={"name": "Hall", "who": WHO}, headers=key).json()
    again = client.post("/api/projects", json={"name": "Hall", "who": WHO}, headers=key).json()
    assert first["id"] == again["id"]
    assert len(client.get("/api/projects").json()["projects"]) == 1


@pytest.mark.parametrize(
    ("zone", "kept"), [("Asia/Kolkata", "Asia/Kolkata"), ("Mars/Crater", None), ("", None)]
)
def test_a_new_job_is_in_the_zone_of_its_device(
    client: TestClient, tmp_path: Path, zone: str, kept: str | None
) -> None:
    """Times of its files are local; a zone nobody knows here keeps no job from being made."""
    made = client.post("/api/projects", json={"name": "Hall", "who": WHO, "timezone": zone})
    assert made.status_code == 201
    with open_project(tmp_path / made.json()["file"]) as project:
        assert project.settings().get("timezone") == kept


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/passwd",
        "CON",
        "a/b\\c",
        "<img src=x onerror=1>",
        "\u202egpj.exe",
        "...",
        "Häuserblock 7, 東",
    ],
)
def test_a_hostile_name_stays_a_name(client: TestClient, tmp_path: Path, name: str) -> None:
    """Whatever a job is called, its file lies in the folder and its name comes back as typed."""
    made = client.post("/api/projects", json={"name": name, "who": WHO})
    assert made.status_code == 201
    assert made.json()["name"] == name
    assert (tmp_path / made.json()["file"]).parent == tmp_path
    assert len(list(tmp_path.glob("*.gpkg"))) == 1


def test_a_job_is_found_only_by_its_listing(client: TestClient, tmp_path: Path) -> None:
    """An address never reaches a file outside the folder."""
    outside = tmp_path.parent / "other.gpkg"
    outside.write_bytes(b"x")
    for id in ("..%2Fother", "%2e%2e/other", "nothing"):
        assert client.get(f"/api/projects/{id}").status_code == 404


def test_a_damaged_file_is_listed_with_what_is_wrong(client: TestClient, tmp_path: Path) -> None:
    """One bad file does not hide the others."""
    make_job(client, with_readings=False)
    (tmp_path / "broken.gpkg").write_bytes(b"not a project")
    listed = {one["id"]: one["complaint"] for one in client.get("/api/projects").json()["projects"]}
    assert "not a project file" in listed["broken"]
    assert listed["Harbour shop"] == ""
    assert client.get("/api/projects/broken").status_code == 409


def _copies(client: TestClient) -> dict[str, list[str]]:
    return {one["id"]: one["copies"] for one in client.get("/api/projects").json()["projects"]}


def test_two_files_of_one_job_are_told_apart(client: TestClient, job: str, tmp_path: Path) -> None:
    """Which holds more, and from which entry on each holds what the other lacks."""
    (path,), copy = tmp_path.glob("*.gpkg"), tmp_path / "copy.gpkg"
    assert _copies(client) == {path.stem: []}
    with open_project(path) as opened:
        entries = opened.head().number
    with closing(sqlite3.connect(path)) as one, closing(sqlite3.connect(copy)) as other:
        one.backup(other)
    assert "with the same record" in _copies(client)["copy"][0]
    for place in (1.0, 2.0):
        body = {"visit": "v1", "instrument": "meter 1", "who": WHO}
        body["readings"] = [{"x": place, "y": 1.0, "raw": "40"}]
        assert client.post(f"{job}/readings", json=body).status_code == 201
    told = _copies(client)
    assert f"Also in {path.name}, which is further in the record by 2: this file" in told["copy"][0]
    assert "Also in copy.gpkg, an older copy: its record is shorter by 2." in told[path.stem][0]
    body = {**body, "readings": [{"x": 3.0, "y": 1.0, "raw": "90"}]}
    assert client.post("/api/projects/copy/readings", json=body).status_code == 201
    client.post("/api/projects", json={"name": "Another", "who": WHO})
    told = _copies(client)
    assert told.pop("Another") == []
    assert all(f"differs from entry {entries + 1} of" in one for (one,) in told.values())


def test_a_change_is_undone_and_made_again(client: TestClient, job: str) -> None:
    """Undo is a new entry of the record; nothing is lost from it."""
    body = {
        "visit": "v1",
        "instrument": "meter 1",
        "who": WHO,
        "readings": [{"x": 1, "y": 1, "raw": "40"}],
    }
    client.post(f"{job}/readings", json=body)
    step = client.get(f"{job}/undo").json()["undo"]
    assert (step["layers"], step["why"], step["who"]) == (["readings"], "reading typed", WHO)
    other = client.post(f"{job}/undo", json={"who": WHO, "change": step["change"] - 1})
    assert other.status_code == 409, "what was shown is not what would be undone"
    client.post(f"{job}/undo", json={"who": WHO, "change": step["change"]})
    assert client.get(job).json()["readings"] == 0
    steps = client.get(f"{job}/undo").json()
    assert steps["redo"]["change"] == step["change"]
    client.post(f"{job}/redo", json={"who": WHO})
    assert client.get(job).json()["readings"] == 1
    record = client.get(f"{job}/changes").json()
    assert record["count"] >= 6
    assert record["entries"][0]["who"] == WHO


@pytest.mark.thorough
def test_the_jobs_are_still_there_after_a_restart(tmp_path: Path) -> None:
    """The project files are the only state."""
    with TestClient(create_app(Settings(folder=tmp_path)), base_url="http://localhost") as client:
        job = make_job(client)
    with TestClient(create_app(Settings(folder=tmp_path)), base_url="http://localhost") as client:
        assert client.get(job).json()["readings"] == 35


def test_a_file_open_elsewhere_can_be_looked_at(tmp_path: Path) -> None:
    """One writer at a time; the second sees the job and is told."""
    with TestClient(create_app(Settings(folder=tmp_path)), base_url="http://localhost") as first:
        job = make_job(first)
        second = TestClient(create_app(Settings(folder=tmp_path)), base_url="http://localhost")
        with second:
            assert second.get(job).json()["read_only"] is True
            refused = second.post(f"{job}/undo", json={"who": WHO})
            assert refused.status_code == 409
            assert "can only be looked at" in refused.json()["message"]


def test_another_copy_in_place_of_the_file_is_told_and_nothing_is_written(
    client: TestClient, tmp_path: Path
) -> None:
    """An older copy lacks what was stored since: not read as the job, not written to."""
    base = make_job(client)
    path = next(tmp_path.glob("*.gpkg"))
    before = path.read_bytes()
    client.get(f"{base}/readings?visit=v1")
    mine = {"id": "v2", "started": "2026-03-04T08:00:00Z", "who": WHO}
    assert client.post(f"{base}/visits", json=mine).status_code == 201
    older = tmp_path / "older"
    older.write_bytes(before)
    older.replace(path)
    for answer in (
        client.post(f"{base}/visits", json={**mine, "id": "v3"}),
        client.get(f"{base}/readings?visit=v1"),
    ):
        assert answer.status_code >= 400
        assert "lacks what was stored here last" in answer.text
    assert path.read_bytes() == before


def test_a_copy_that_went_on_is_followed(client: TestClient, tmp_path: Path) -> None:
    """A folder kept in step brings a file in which somebody else stored more."""
    base = make_job(client)
    path = next(tmp_path.glob("*.gpkg"))
    other = tmp_path / "elsewhere"
    other.mkdir()
    (other / path.name).write_bytes(path.read_bytes())
    with open_project(other / path.name, writable=True) as further:
        further.add_visit(Visit("v9"), WHO)
    (other / path.name).replace(path)
    visits = client.get(base).json()["visits"]
    assert "v9" in {one["id"] for one in visits}
    mine = {"id": "v10", "started": "2026-03-04T08:00:00Z", "who": WHO}
    assert client.post(f"{base}/visits", json=mine).status_code == 201


def test_data_changed_by_another_program_are_told(client: TestClient, tmp_path: Path) -> None:
    """Also while the job is open, and after it was looked at; the record is as it was."""
    base = make_job(client)
    assert client.get(f"{base}/faults").json() == {"faults": []}
    with closing(sqlite3.connect(tmp_path / "Harbour shop.gpkg")) as other, other:
        other.execute("UPDATE readings SET value = 31 WHERE fid = 3")
    (told,) = client.get(f"{base}/faults").json()["faults"]
    assert told.startswith("readings 3: value is 31.0")
    assert told == client.get(f"{base}/faults").json()["faults"][0]


@pytest.mark.thorough
def test_a_map_shows_what_another_program_wrote_meanwhile(
    client: TestClient, tmp_path: Path
) -> None:
    """Nothing is answered from the readings as they were, though the record is unchanged."""
    base = make_job(client)

    def highest() -> float:
        shown = client.get(f"{base}/map").json()["layers"]["readings"]["features"]
        return float(max(one["properties"]["value"] for one in shown))

    before = highest()
    with closing(sqlite3.connect(tmp_path / "Harbour shop.gpkg")) as other, other:
        other.execute("UPDATE readings SET value = 31, raw = '31' WHERE value > 60")
    assert before > 60 >= highest()
