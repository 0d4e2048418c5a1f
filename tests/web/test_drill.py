"""The drill plan is issued only when every caution is cleared for its holes."""

from __future__ import annotations

from typing import Any

import pytest
from httpx import Response
from starlette.testclient import TestClient

from .conftest import WHO, make_job


def drill(client: TestClient, job: str) -> dict[str, Any]:
    """Return the drill plan."""
    answer = client.get(f"{job}/drill")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def clear_all(client: TestClient, job: str) -> None:
    """Clear every caution."""
    for one in drill(client, job)["cautions"]:
        body = {
            "caution": one["key"],
            "by": "B. Stone",
            "on": "2026-03-03",
            "document": "=permit 12",
            "who": WHO,
        }
        assert client.post(f"{job}/cautions", json=body).status_code == 201


@pytest.mark.thorough
def test_an_open_caution_holds_the_plan_back(read_client: TestClient, read_job: str) -> None:
    """Sheet refused; report, figure and data come without holes."""
    plan = drill(read_client, read_job)
    assert plan["open"] == len(plan["cautions"]) > 3
    refused = read_client.get(f"{read_job}/drill/file")
    assert refused.status_code == 409
    assert "issue" in refused.json()["message"]
    issued = read_client.post(f"{read_job}/drill/issue", json={"who": WHO})
    assert issued.status_code == 422
    assert "open" in issued.json()["message"]


@pytest.mark.thorough
def test_a_caution_read_in_german_is_cleared(client: TestClient) -> None:
    """It is named by its key: its words are not those of the plan."""
    job = make_job(client)
    german = {"accept-language": "de"}
    one = client.get(f"{job}/drill", headers=german).json()["cautions"][0]
    assert one["caution"] != drill(client, job)["cautions"][0]["caution"]
    body = {"caution": one["key"], "by": "B. Stone", "on": "2026-03-03", "who": WHO}
    told = client.post(f"{job}/cautions", json=body, headers=german)
    assert told.status_code == 201, told.text
    assert drill(client, job)["cautions"][0]["cleared"]["by"] == "B. Stone"


def _places(holes: list[dict[str, Any]]) -> dict[str, tuple[float, float]]:
    return {one["hole"]: (one["x"], one["y"]) for one in holes}


def _test(client: TestClient, job: str, hole: str, x: float, y: float) -> Response:
    fields = {"method": "in-situ-rh", "hole": hole, "x": x, "y": y, "value": 82, "depth_mm": 32}
    body = {"visit": "v1", "fields": fields, "who": WHO}
    return client.post(f"{job}/tests", json=body)


@pytest.mark.thorough
def test_an_issued_plan_is_frozen_and_its_names_are_never_given_again(client: TestClient) -> None:
    """Tests, readings and wishes move no issued hole; the sheet, the page and the tests agree."""
    job = make_job(client)
    clear_all(client, job)
    assert drill(client, job)["open"] == 0
    assert client.post(f"{job}/drill/issue", json={"who": WHO}).status_code == 201
    issued = _places(client.get(f"{job}/issued-holes").json()["holes"])
    assert len(issued) >= 3
    sheet = client.get(f"{job}/drill/file", params={"format": "csv"})
    assert "B. Stone" in sheet.text
    assert '"\'=permit 12"' in sheet.text
    shapes = client.get(f"{job}/drill/file", params={"format": "geojson"}).json()["features"]
    assert _places([one["properties"] for one in shapes]) == issued
    assert client.post(f"{job}/drill/issue", json={"who": WHO}).status_code == 422

    for name, (x, y) in list(issued.items())[:2]:
        assert _test(client, job, name, x + 0.1, y).status_code == 201
        assert _places(drill(client, job)["holes"]) == issued
    body = {"visit": "v1", "instrument": "meter 1", "who": WHO}
    wet = [{"x": 0.6, "y": 3.4, "raw": "99"}, {"x": 0.7, "y": 3.5, "raw": "99"}]
    client.post(f"{job}/readings", json={**body, "readings": wet})
    after = drill(client, job)["holes"]
    assert {name: place for name, place in _places(after).items() if name in issued} == issued
    statuses = {one["hole"]: one["status"] for one in after if one["hole"] in issued}
    assert sorted(statuses.values()) == sorted(["done", "done", *["issued"] * (len(issued) - 2)])


@pytest.mark.thorough
def test_a_test_under_the_name_of_an_issued_hole_is_of_that_hole(client: TestClient) -> None:
    """A result typed for another place is refused; a withdrawn name is not given again."""
    job = make_job(client)
    clear_all(client, job)
    client.post(f"{job}/drill/issue", json={"who": WHO})
    holes = client.get(f"{job}/issued-holes").json()["holes"]
    first, last = holes[0], holes[-1]
    refused = _test(client, job, first["hole"], last["x"], last["y"])
    assert refused.status_code == 422
    assert f"{first['hole']} of the issued drill plan is at x {first['x']:.2f}" in refused.text
    gone = {"hole": last["hole"], "why": "a cupboard stands there", "who": WHO}
    assert client.post(f"{job}/issued-holes/withdraw", json=gone).status_code == 200
    assert client.post(f"{job}/issued-holes/withdraw", json=gone).status_code == 422
    plan = drill(client, job)
    assert last["hole"] not in _places(plan["holes"])
    assert len(plan["holes"]) == len(holes)
    clear_all(client, job)
    assert client.post(f"{job}/drill/issue", json={"who": WHO}).status_code == 201
    names = [one["hole"] for one in client.get(f"{job}/issued-holes").json()["holes"]]
    assert len(names) == len(set(names)) == len(holes) + 1


@pytest.mark.thorough
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


def test_a_wish_that_cannot_be_met_is_refused(read_client: TestClient, read_job: str) -> None:
    """A hole off the plan is not kept as a wish; the reason is given at once."""
    body = {"verdict": "pinned", "x": 40.0, "y": 2.0, "who": WHO}
    refused = read_client.post(f"{read_job}/holes", json=body)
    assert refused.status_code == 422
    assert "x 40.00 m, y 2.00 m: it is off the floor" in refused.json()["message"]
    assert drill(read_client, read_job)["decisions"] == []


@pytest.mark.thorough
def test_who_cleared_what_for_issued_holes_stays_to_be_seen(client: TestClient) -> None:
    """Also when a further hole opens the cautions again; a withdrawn hole is named with its why."""
    job = make_job(client)
    clear_all(client, job)
    assert client.post(f"{job}/drill/issue", json={"who": WHO}).status_code == 201
    assert drill(client, job)["issued_cautions"] == []
    wish = {"verdict": "pinned", "x": 5.5, "y": 0.5, "why": "client asks", "who": WHO}
    assert client.post(f"{job}/holes", json=wish).status_code == 201
    plan = drill(client, job)
    assert plan["open"] == len(plan["cautions"])
    assert {one["cleared"]["document"] for one in plan["issued_cautions"]} == {"=permit 12"}
    sheet = client.get(f"{job}/drill/file").text
    assert sheet.count("permit 12") == len(plan["issued_cautions"])
    gone = {"hole": plan["plans"][0]["holes"][0], "why": "a pipe", "who": WHO}
    assert client.post(f"{job}/issued-holes/withdraw", json=gone).status_code == 200
    told = drill(client, job)["plans"][0]["withdrawn"]
    assert told == [{"hole": gone["hole"], "reason_given": "a pipe"}]


@pytest.mark.thorough
def test_a_service_found_after_the_plan_was_issued_stops_its_holes(client: TestClient) -> None:
    """The hole is named on top, its sheet is withheld, and what was cleared is open again."""
    job = make_job(client)
    clear_all(client, job)
    assert client.post(f"{job}/drill/issue", json={"who": WHO}).status_code == 201
    assert client.get(f"{job}/drill/file").status_code == 200
    hole = drill(client, job)["holes"][0]
    places = [[hole["x"] - 0.3, hole["y"]], [hole["x"] + 0.3, hole["y"]]]
    mark = {"verdict": "marked", "kind": "line", "places": places, "why": "copper", "who": WHO}
    assert client.post(f"{job}/anomalies", json=mark).status_code == 201
    plan = drill(client, job)
    assert [one["status"] for one in plan["holes"] if one["hole"] == hole["hole"]] == ["blocked"]
    assert plan["blocked"][0].startswith(f"Do not drill {hole['hole']}: issued")
    assert plan["open"] == len(plan["cautions"])
    refused = client.get(f"{job}/drill/file")
    assert refused.status_code == 422
    assert hole["hole"] in refused.json()["message"]
    body = {"hole": hole["hole"], "why": "a pipe", "who": WHO}
    assert client.post(f"{job}/issued-holes/withdraw", json=body).status_code == 200
    assert drill(client, job)["blocked"] == []


@pytest.mark.thorough
def test_a_withdrawn_hole_leaves_the_others_cleared(client: TestClient) -> None:
    """What was cleared for more holes holds for those that are left."""
    job = make_job(client)
    clear_all(client, job)
    client.post(f"{job}/drill/issue", json={"who": WHO})
    name = drill(client, job)["holes"][-1]["hole"]
    body = {"hole": name, "why": "under a cupboard", "who": WHO}
    assert client.post(f"{job}/issued-holes/withdraw", json=body).status_code == 200
    sheet = client.get(f"{job}/drill/file")
    assert sheet.status_code == 200
    assert "B. Stone" in sheet.text


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


@pytest.mark.thorough
def test_warnings_of_a_plan_stand_above_its_holes(read_client: TestClient, read_job: str) -> None:
    """What else is told of a plan stays in a fold that is closed."""
    plan = drill(read_client, read_job)
    assert any("Floor heating is neither stated" in one for one in plan["warnings"])
