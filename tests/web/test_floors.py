"""All floors of the folder at a glance, studied in a round that may be stopped."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from moisturemap.web import Settings, create_app

from .conftest import make_job


def _wait(client: TestClient) -> dict[str, Any]:
    end = time.monotonic() + 60
    while (answer := client.get("/api/floors").json())["round"]["running"]:
        assert time.monotonic() < end
        time.sleep(0.2)
    found: dict[str, Any] = answer
    return found


@pytest.mark.thorough
def test_a_floor_is_told_before_and_after_its_study_and_when_it_changed(client: TestClient) -> None:
    """Nothing is studied unasked; a change makes the row one of an earlier state."""
    base = make_job(client)
    before = client.get("/api/floors").json()["floors"]
    assert [(one["state"], one["project"]) for one in before] == [("waiting", "Harbour shop")]
    assert before[0]["wet_m2"] is None
    assert client.post("/api/floors/study").json() == {"begun": True}
    after = _wait(client)
    assert after["round"]["error"] == ""
    assert after["floors"][0]["state"] == "done"
    assert after["floors"][0]["wet_m2"] is None, "without a wet level nothing is told of wet floor"
    assert "map" not in after["floors"][0]
    first = client.get(f"{base}/readings?visit=v1").json()["readings"][0]["reading"]
    change = {"raw": "55", "why": "mistyped", "who": "Ada Marsh"}
    assert client.patch(f"{base}/readings/{first}", json=change).status_code == 200
    assert client.get("/api/floors").json()["floors"][0]["state"] == "changed"


def test_one_served_file_shows_no_other_floor(tmp_path: Path) -> None:
    """Whoever serves one file shows that file alone."""
    from moisturemap.store import create_project

    create_project(tmp_path / "one.gpkg", "One").close()
    app = create_app(Settings(folder=tmp_path, only=tmp_path / "one.gpkg", own_process=False))
    with TestClient(app, base_url="http://127.0.0.1:8650") as client:
        assert client.get("/api/floors").status_code == 404
        assert client.post("/api/floors/study").status_code == 404


@pytest.mark.parametrize("what", ["study", "stop"])
def test_an_empty_folder_has_no_floor(client: TestClient, what: str) -> None:
    """No job is no fault."""
    assert client.get("/api/floors").json()["floors"] == []
    assert client.post(f"/api/floors/{what}").status_code == 200
