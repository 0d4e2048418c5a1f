"""A running app over a folder of its own, and a small invented floor in it."""

from __future__ import annotations

import random
import warnings
from collections.abc import Iterator
from pathlib import Path
from shutil import copy
from typing import Any

import pytest

with warnings.catch_warnings():
    # starlette announces a successor of its http library; the old one does all we need.
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient

from moisturemap.web import Settings, create_app

WHO = "Ada Marsh"
HERE = "http://127.0.0.1:8650"
SHOP = {"name": "shop", "rings": [[[0, 0], [6, 0], [6, 4], [0, 4]]], "slab": {"thickness_mm": 80}}
PLAN = {"rooms": [SHOP], "lines": []}


def readings(step: float = 0.8) -> list[dict[str, Any]]:
    """Return invented readings of a floor that is wetter to the east."""
    places = [(0.4 + step * i, 0.4 + step * j) for i in range(7) for j in range(5)]
    noise = random.Random(7)
    return [
        {
            "x": round(x, 2),
            "y": round(y, 2),
            "raw": f"{20 + 9 * x + noise.gauss(0, 1):.1f}",
            "label": f"P{i}",
            "room": "shop",
        }
        for i, (x, y) in enumerate(places)
    ]


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    """The app over an empty folder, as a browser on this computer sees it."""
    app = create_app(Settings(folder=tmp_path, own_process=False))
    with TestClient(app, base_url=HERE) as client:
        yield client


def make_job(client: TestClient, *, with_readings: bool = True) -> str:
    """Make a job with one room, a visit, a meter and, if wanted, readings; return its address."""
    job = client.post("/api/projects", json={"name": "Harbour shop", "who": WHO}).json()["id"]
    base = f"/api/projects/{job}"
    revision = client.get(f"{base}/plan").json()["revision"]
    stored = client.put(f"{base}/plan", json={"plan": PLAN, "revision": revision, "who": WHO})
    assert stored.status_code == 200, stored.text
    client.post(f"{base}/visits", json={"id": "v1", "started": "2026-03-02T08:00:00Z", "who": WHO})
    meter = {"id": "meter 1", "scale": [0, 100], "who": WHO}
    client.post(f"{base}/instruments", json=meter)
    if with_readings:
        body = {"visit": "v1", "instrument": "meter 1", "readings": readings(), "who": WHO}
        assert client.post(f"{base}/readings", json=body).status_code == 201
    return base


@pytest.fixture(scope="session")
def stored_job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a job with a plan, a visit and a meter, stored once for all."""
    folder = tmp_path_factory.mktemp("stored")
    with TestClient(create_app(Settings(folder=folder, own_process=False)), base_url=HERE) as app:
        make_job(app, with_readings=False)
    (path,) = folder.glob("*.gpkg")
    return path


@pytest.fixture
def job(client: TestClient, tmp_path: Path, stored_job: Path) -> str:
    """Address of a job of its own with a plan, a visit and a meter, not read yet."""
    copy(stored_job, tmp_path)
    (known,) = client.get("/api/projects").json()["projects"]
    return f"/api/projects/{known['id']}"


@pytest.fixture(scope="module")
def read_client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The app with one job that has been read; shared by tests that only look, or put back."""
    app = create_app(Settings(folder=tmp_path_factory.mktemp("jobs"), own_process=False))
    with TestClient(app, base_url=HERE) as client:
        make_job(client)
        yield client


@pytest.fixture(scope="module")
def read_job(read_client: TestClient) -> str:
    """Address of the job that has been read."""
    return "/api/projects/" + read_client.get("/api/projects").json()["projects"][0]["id"]
