"""A room that is pushed along takes with it what was placed in it, or is not stored."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from .conftest import SHOP, WHO, make_job
from .test_drill import clear_all

BY = 0.35


def _hall(width: float) -> dict[str, Any]:
    return {"name": "hall", "rings": [[[-3, 0], [width - 3, 0], [width - 3, 4], [-3, 4]]]}


def _shop(west: float) -> dict[str, Any]:
    ring = [[west, 0], [6 + west, 0], [6 + west, 4], [west, 4]]
    return {**SHOP, "rings": [ring]}


def _put(client: TestClient, job: str, push: float, carried: list[Any], key: str = "") -> Any:
    body = {
        "plan": {"rooms": [_hall(3 + push), _shop(push)], "lines": []},
        "revision": client.get(f"{job}/plan").json()["revision"],
        "who": WHO,
        "carried": carried,
    }
    return client.put(f"{job}/plan", json=body, headers={"Idempotency-Key": key})


@pytest.mark.thorough
def test_what_a_push_does_to_the_set_out_is_told_before(client: TestClient) -> None:
    """Holes that move with their room keep their distances; those left behind get others."""
    job = make_job(client)
    assert _put(client, job, 0.0, []).status_code == 200
    clear_all(client, job)
    assert client.post(f"{job}/drill/issue", json={"who": WHO}).status_code == 201
    issued = client.get(f"{job}/issued-holes").json()["holes"]
    holes = [one["hole"] for one in issued if one["room"] == "shop"]
    plan = {"rooms": [_hall(3 + BY), _shop(BY)], "lines": []}
    body = {"plan": plan, "revision": "preview", "who": "preview"}
    left = client.post(f"{job}/plan/effect", json=body).json()["set_out"]
    assert {one["hole"] for one in left} == set(holes)
    apart = [
        abs(b["distance_m"] - a["distance_m"])
        for one in left
        for b, a in zip(one["before"], one["after"], strict=False)
    ]
    assert max(apart) == pytest.approx(BY, abs=0.02)
    taken = {**body, "carried": [{"by": [BY, 0], "holes": holes}]}
    assert client.post(f"{job}/plan/effect", json=taken).json()["set_out"] == []


def _furnished(client: TestClient) -> str:
    """Return a job of two rooms with readings, a test, a mark, a machine and issued holes."""
    job = make_job(client)
    assert _put(client, job, 0.0, []).status_code == 200
    clear_all(client, job)
    assert client.post(f"{job}/drill/issue", json={"who": WHO}).status_code == 201
    hole = client.get(f"{job}/issued-holes").json()["holes"][0]
    fields = {key: hole[key] for key in ("hole", "x", "y")}
    fields |= {"method": "in-situ-rh", "value": 82, "depth_mm": 32}
    body = {"visit": "v1", "fields": fields, "who": WHO}
    assert client.post(f"{job}/tests", json=body).status_code == 201
    mark = {"verdict": "marked", "kind": "line", "why": "seen", "who": WHO}
    mark["places"] = [[-1.0, 1.0], [0.4, 3.9], [1.4, 3.9]]
    assert client.post(f"{job}/anomalies", json=mark).status_code == 201
    machine = {"machine": "D1", "kind": "dehumidifier", "visit": "v1", "x": 3.0, "y": 2.0}
    assert client.post(f"{job}/machines", json={**machine, "who": WHO}).status_code == 201
    return job


def _beyond(client: TestClient, job: str) -> dict[str, Any]:
    line = {"start": [-3, 0], "direction": [1, 0], "least": 2.98}
    found = client.post(f"{job}/plan/beyond", json=line).json()
    assert found.pop("marks") == 1
    standing = {one["hole"]: one["room"] for one in found.pop("standing")}
    assert found["holes"] == [hole for hole, room in standing.items() if room == "shop"]
    return dict(found)


def _placed(client: TestClient, job: str) -> dict[str, list[float]]:
    """Return the x of all that is placed, by kind."""
    found = client.get(f"{job}/readings", params={"visit": "v1"}).json()["readings"]
    tests = client.get(f"{job}/tests").json()["tests"]
    holes = client.get(f"{job}/issued-holes").json()["holes"]
    marks = client.get(f"{job}/map").json()["decisions"]["anomalies"]
    machines = client.get(f"{job}/machines").json()["machines"]
    return {
        "readings": [one["x"] for one in found],
        "tests": [one["x"] for one in tests],
        "holes": [one["x"] for one in holes],
        "marks": [x for one in marks for x, _ in one["places"]],
        "machines": [one["x"] for one in machines],
    }


def _set_out(client: TestClient, job: str) -> dict[str, str]:
    holes = client.get(f"{job}/drill").json()["holes"]
    settled = [one for one in holes if one["status"] in ("issued", "done")]
    return {one["hole"]: one["set_out"] for one in settled if one["room"] == "shop"}


@pytest.mark.thorough
def test_what_lies_beyond_moves_in_one_step_and_back(client: TestClient) -> None:
    """Every distance the tape gave is still true, and undo puts each thing where it was."""
    job = _furnished(client)
    before, distances = _placed(client, job), _set_out(client, job)
    found = _beyond(client, job)
    assert len(found["readings"]) == len(before["readings"])
    assert len(found["decisions"]) == 2
    carried = {**found, "by": [BY, 0]}
    for _ in range(2):  # the answer got lost: the same request once more moves nothing again
        assert _put(client, job, BY, [carried], key="push 1").status_code == 200
    after = _placed(client, job)
    for kind, places in before.items():
        moved = [round(x + BY, 6) if x > 0 else x for x in places]
        assert after[kind] == moved, kind
    assert _set_out(client, job) == distances
    step = client.get(f"{job}/undo").json()["undo"]
    assert {"rooms", "readings", "tests", "equipment", "settings"} <= set(step["layers"])
    assert _put(client, job, 0.0, [{**carried, "by": [-BY, 0]}]).status_code == 200
    assert _placed(client, job) == before


@pytest.mark.thorough
def test_nothing_placed_meanwhile_stays_behind(client: TestClient) -> None:
    """A reading stored after it was asked what lies beyond keeps the plan as it is."""
    job = _furnished(client)
    found = _beyond(client, job)
    late = {"visit": "v1", "instrument": "meter 1", "who": WHO}
    late["readings"] = [{"x": 3.3, "y": 3.3, "raw": "40"}]
    assert client.post(f"{job}/readings", json=late).status_code == 201
    refused = _put(client, job, BY, [{**found, "by": [BY, 0]}])
    assert refused.status_code == 422
    assert "shop moves" in refused.json()["message"]
    assert client.get(f"{job}/plan").json()["plan"]["rooms"][1]["rings"] == SHOP["rings"]


@pytest.mark.thorough
def test_cautions_open_again_after_a_push_and_after_a_wall_moved(client: TestClient) -> None:
    """Cleared for places and their distances from the walls: either of them changed asks anew."""
    job = _furnished(client)
    clear_all(client, job)
    assert client.get(f"{job}/drill").json()["open"] == 0
    found = _beyond(client, job)
    assert _put(client, job, BY, [{**found, "by": [BY, 0]}]).status_code == 200
    pushed = client.get(f"{job}/drill").json()
    assert pushed["open"] == len(pushed["cautions"])
    clear_all(client, job)
    assert client.get(f"{job}/drill").json()["open"] == 0
    drawn = client.get(f"{job}/plan").json()
    shop = drawn["plan"]["rooms"][1]["rings"][0]
    shop[:] = [[x, y - 0.4 if y < 1 else y + 0.4] for x, y in shop]
    body = {"plan": drawn["plan"], "revision": drawn["revision"], "who": WHO}
    told = client.post(f"{job}/plan/effect", json=body).json()["set_out"]
    holes = {one["hole"]: one for one in client.get(f"{job}/drill").json()["holes"]}
    assert told
    for one in told:
        hole = holes[one["hole"]]
        before = [(tape["from_a"], tape["distance_m"]) for tape in one["before"]]
        assert before == [
            (hole["from_a"], hole["distance_a_m"]),
            (hole["from_b"], hole["distance_b_m"]),
        ]
        moved = [
            b["distance_m"] - a["distance_m"]
            for a, b in zip(one["before"], one["after"], strict=True)
        ]
        assert sorted(round(by, 2) for by in moved) == [0, 0.4]
    assert client.put(f"{job}/plan", json=body).status_code == 200
    bent = client.get(f"{job}/drill").json()
    assert bent["open"] == len(bent["cautions"])
