"""The drill plan is issued only when every caution is cleared for its holes."""

from __future__ import annotations

from typing import Any

from starlette.testclient import TestClient

from .conftest import WHO


def drill(client: TestClient, job: str) -> dict[str, Any]:
    """Return the drill plan."""
    answer = client.get(f"{job}/drill")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def clear_all(client: TestClient, job: str) -> None:
    """Clear every caution."""
    for one in drill(client, job)["cautions"]:
        body = {
            "caution": one["caution"],
            "by": "B. Stone",
            "on": "2026-03-03",
            "document": "=permit 12",
            "who": WHO,
        }
        assert client.post(f"{job}/cautions", json=body).status_code == 201


def test_an_open_caution_holds_the_plan_back(read_client: TestClient, read_job: str) -> None:
    """Sheet refused; report, figure and data come without holes."""
    plan = drill(read_client, read_job)
    assert plan["open"] == len(plan["cautions"]) > 3
    refused = read_client.get(f"{read_job}/drill/file")
    assert refused.status_code == 409
    assert "open" in refused.json()["message"]


def test_cleared_cautions_issue_the_plan_with_their_names(
    read_client: TestClient, read_job: str
) -> None:
    """Who cleared what and when stands on the sheet; no cell runs as a formula."""
    clear_all(read_client, read_job)
    assert drill(read_client, read_job)["open"] == 0
    sheet = read_client.get(f"{read_job}/drill/file", params={"format": "csv"})
    assert sheet.status_code == 200
    assert "B. Stone" in sheet.text
    assert '"\'=permit 12"' in sheet.text
    shapes = read_client.get(f"{read_job}/drill/file", params={"format": "geojson"})
    assert shapes.json()["features"]


def test_a_moved_hole_opens_the_cautions_again(read_client: TestClient, read_job: str) -> None:
    """A clearance holds for the places it was given for."""
    clear_all(read_client, read_job)
    hole = drill(read_client, read_job)["holes"][0]
    body = {"verdict": "moved", "x": hole["x"], "y": hole["y"], "to": [3.0, 2.0], "who": WHO}
    assert read_client.post(f"{read_job}/holes", json=body).status_code == 201
    moved = drill(read_client, read_job)
    assert moved["open"] == len(moved["cautions"])
    assert any((one["x"], one["y"]) == (3.0, 2.0) for one in moved["holes"])
    read_client.post(f"{read_job}/holes/withdraw", json={"index": 0, "who": WHO})
    assert drill(read_client, read_job)["open"] == 0


def test_a_wish_that_cannot_be_met_is_told(read_client: TestClient, read_job: str) -> None:
    """A hole off the plan is not planned; the wish is marked and the reason is given."""
    body = {"verdict": "pinned", "x": 40.0, "y": 2.0, "who": WHO}
    read_client.post(f"{read_job}/holes", json=body)
    plan = drill(read_client, read_job)
    assert plan["unmet"] == [0]
    assert any("x 40.00" in one for one in plan["statements"])
    read_client.post(f"{read_job}/holes/withdraw", json={"index": 0, "who": WHO})
    assert drill(read_client, read_job)["unmet"] == []


def test_rejecting_a_hole_needs_a_reason_and_moves_it(
    read_client: TestClient, read_job: str
) -> None:
    """No hole is planned where one was rejected."""
    hole = drill(read_client, read_job)["holes"][0]
    body = {"verdict": "rejected", "x": hole["x"], "y": hole["y"], "who": WHO}
    assert read_client.post(f"{read_job}/holes", json=body).status_code == 422
    read_client.post(f"{read_job}/holes", json={**body, "why": "oven stands here"})
    for one in drill(read_client, read_job)["holes"]:
        assert abs(one["x"] - hole["x"]) + abs(one["y"] - hole["y"]) > 0.3
    read_client.post(f"{read_job}/holes/withdraw", json={"index": 0, "who": WHO})
