"""Visits compared and machines placed."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

import pytest

from moisturemap.web import Settings, create_app

from .conftest import WHO, TestClient, make_job, readings


@pytest.fixture(scope="module")
def twice(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, str]]:
    """A job read twice, a week apart, drier the second time but for the south-east corner."""
    app = create_app(Settings(folder=tmp_path_factory.mktemp("jobs")))
    with TestClient(app, base_url="http://127.0.0.1:8650") as client:
        job = make_job(client)
        body = {
            "id": "v2",
            "started": "2026-03-09T08:00:00Z",
            "dry_reference": [20, 21, 22],
            "air_temperature_c": 20,
            "air_rh_pct": 45,
            "who": WHO,
        }
        client.post(f"{job}/visits", json=body)
        noise = random.Random(3)
        again = []
        for one in readings():
            dried = 2.5 * one["x"] if one["y"] > 1.5 else 0.0
            again.append({**one, "raw": f"{float(one['raw']) - dried + noise.gauss(0, 0.7):.1f}"})
        body = {"visit": "v2", "instrument": "meter 1", "readings": again, "who": WHO}
        assert client.post(f"{job}/readings", json=body).status_code == 201
        yield client, job


@pytest.mark.thorough
def test_the_visits_stand_on_one_scale(twice: tuple[TestClient, str]) -> None:
    """The bands of both visits have the same limits, so that the slider shows drying."""
    client, job = twice
    answer = client.get(f"{job}/drying")
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert told["visits"] == ["v1", "v2"]
    assert [one["visit"] for one in told["maps"]] == ["v1", "v2"]
    limits = set(told["levels"])
    for one in told["maps"]:
        assert {f["properties"]["low"] for f in one["bands"]["features"]} <= limits
    assert told["statements"]


@pytest.mark.thorough
def test_no_change_shown_is_never_called_dry(twice: tuple[TestClient, str]) -> None:
    """The sentence about the change says what could not have been seen."""
    client, job = twice
    assert "does not mean dry" in client.get(f"{job}/drying").json()["change"]


def test_one_visit_says_that_change_needs_two(twice: tuple[TestClient, str]) -> None:
    """An earlier visit is compared with those before it only."""
    client, job = twice
    told = client.get(f"{job}/drying", params={"visit": "v1"}).json()
    assert told["visits"] == ["v1"]
    assert any("one visit" in sentence for sentence in told["statements"])


def test_a_machine_is_placed_moved_and_taken_away(twice: tuple[TestClient, str]) -> None:
    """A move changes the score of today; the cautions come with every proposal."""
    client, job = twice
    machine: dict[str, Any] = {
        "machine": "D1",
        "kind": "dehumidifier",
        "visit": "v2",
        "x": 0.5,
        "y": 3.5,
        "who": WHO,
    }
    made = client.post(f"{job}/machines", json=machine).json()["id"]
    before = client.get(f"{job}/placement")
    assert before.status_code == 200, before.text
    told = before.json()
    assert any("Electricity" in one for one in told["cautions"])
    assert "no simulation of airflow" in " ".join(told["statements"])
    client.put(f"{job}/machines/{made}", json={**machine, "x": 5.4, "y": 0.8})
    after = client.get(f"{job}/placement").json()
    assert after["scores"][0]["today"] < told["scores"][0]["today"]
    client.request("DELETE", f"{job}/machines/{made}", json={"why": "sent back", "who": WHO})
    assert client.get(f"{job}/machines").json()["machines"] == []


def test_a_machine_of_an_unknown_visit_is_refused(twice: tuple[TestClient, str]) -> None:
    """The message names the visits there are."""
    client, job = twice
    body = {"machine": "D1", "kind": "dehumidifier", "visit": "v9", "x": 1, "y": 1, "who": WHO}
    assert client.post(f"{job}/machines", json=body).json()["allowed"] == "v1, v2"


def test_a_machine_in_a_wall_or_off_the_plan_is_refused(client: TestClient) -> None:
    """Nothing would be reckoned within its reach; the words name the rooms."""
    job = make_job(client, with_readings=False)
    machine = {"machine": "D1", "kind": "dehumidifier", "visit": "v1", "who": WHO}
    refused = client.post(f"{job}/machines", json={**machine, "x": 6.1, "y": 2.0})
    assert refused.status_code == 422
    assert "this place is in no room" in refused.text
    assert "shop" in refused.text
    placed = client.post(f"{job}/machines", json={**machine, "x": 5.9, "y": 2.0})
    assert placed.status_code == 201
    at = f"{job}/machines/{placed.json()['id']}"
    assert client.put(at, json={**machine, "x": 9.0, "y": 2.0}).status_code == 422
    assert client.get(f"{job}/machines").json()["machines"][0]["x"] == 5.9
