"""The plan is stored as drawn, or refused in words."""

from __future__ import annotations

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from .conftest import PLAN, SHOP, WHO


def put(client: TestClient, job: str, rooms: list[Any], lines: list[Any] | None = None) -> Any:
    """Store a plan over the one there is."""
    revision = client.get(f"{job}/plan").json()["revision"]
    body = {"plan": {"rooms": rooms, "lines": lines or []}, "revision": revision, "who": WHO}
    return client.put(f"{job}/plan", json=body)


def test_a_plan_comes_back_as_it_was_drawn(client: TestClient, job: str) -> None:
    """Rooms with holes and build-up, lines, areas and points."""
    room = {
        "name": "store",
        "rings": [[[6.2, 0], [9, 0], [9, 4], [6.2, 4]], [[7, 1], [8, 1], [8, 2], [7, 2]]],
        "slab": {
            "base": "cement screed",
            "thickness_mm": 65.0,
            "drying_faces": 1,
            "heated": True,
            "placed": "2026-01-15",
            "covered": "2026-03-01",
            "membrane": "drawing-only",
            "pour": "north",
        },
    }
    lines = [
        {"kind": "known-service", "name": "loop 2", "shape": "line", "places": [[1, 1], [5, 1]]},
        {"kind": "keep-clear", "name": "", "shape": "area", "places": [[0, 0], [1, 0], [1, 1]]},
        {"kind": "power-point", "name": "", "shape": "point", "places": [[0.1, 2.0]]},
    ]
    assert put(client, job, [SHOP, room], lines).status_code == 200
    stored = client.get(f"{job}/plan").json()["plan"]
    assert stored["rooms"][1]["slab"].items() >= room["slab"].items()
    assert len(stored["rooms"][1]["rings"]) == 2
    assert stored["lines"] == lines


def test_walls_that_cross_are_refused_in_words(client: TestClient, job: str) -> None:
    """The message names the room and the place."""
    refused = put(client, job, [{"name": "bow", "rings": [[[0, 0], [4, 4], [4, 0], [0, 4]]]}])
    assert refused.status_code == 422
    assert "crosses itself" in refused.json()["message"]
    assert "bow" in refused.json()["message"]
    assert client.get(f"{job}/plan").json()["plan"]["rooms"][0]["name"] == "shop"


def test_rooms_that_overlap_are_refused_by_name(client: TestClient, job: str) -> None:
    """Both rooms are named."""
    other = {"name": "annex", "rings": [[[5, 0], [9, 0], [9, 4], [5, 4]]]}
    message = put(client, job, [SHOP, other]).json()["message"]
    assert "shop" in message
    assert "annex" in message


def test_a_plan_changed_elsewhere_is_not_overwritten(client: TestClient, job: str) -> None:
    """The second tab is told, and both plans are in the record."""
    revision = client.get(f"{job}/plan").json()["revision"]
    body = {"plan": PLAN, "revision": revision, "who": WHO}
    changed = {**body, "plan": {"rooms": [{**SHOP, "name": "hall"}], "lines": []}}
    assert client.put(f"{job}/plan", json=changed).status_code == 200
    assert client.put(f"{job}/plan", json=body).status_code == 409


def test_a_plan_sent_again_is_not_taken_for_one_that_came_after_it(
    client: TestClient, job: str
) -> None:
    """A repeat whose answer was lost is stored once; if others drew since, it is told."""
    revision = client.get(f"{job}/plan").json()["revision"]
    mine = {"plan": {"rooms": [{**SHOP, "name": "hall"}], "lines": []}, "revision": revision}
    body, key = {**mine, "who": WHO}, {"Idempotency-Key": "the-same-request"}
    first = client.put(f"{job}/plan", json=body, headers=key)
    count = client.get(f"{job}/changes").json()["count"]
    again = client.put(f"{job}/plan", json=body, headers=key)
    assert (again.status_code, again.json()) == (200, first.json())
    assert client.get(f"{job}/changes").json()["count"] == count
    assert put(client, job, [{**SHOP, "name": "kiln"}]).status_code == 200
    assert client.put(f"{job}/plan", json=body, headers=key).status_code == 409
    assert client.get(f"{job}/plan").json()["plan"]["rooms"][0]["name"] == "kiln"


def test_a_file_is_shown_before_it_is_stored(client: TestClient, job: str) -> None:
    """Units, turn and mirror apply to the preview; the job keeps its plan."""
    shape = {
        "type": "Polygon",
        "coordinates": [[[0, 0], [6000, 0], [6000, 3000], [0, 3000], [0, 0]]],
    }
    feature = {"type": "Feature", "properties": {"name": "hall"}, "geometry": shape}
    content = json.dumps({"type": "FeatureCollection", "features": [feature]})
    form = {"coordinates": "mm", "rotate_deg": "90", "mirror": "true"}
    files = {"file": ("../../hall.geojson", content)}
    shown = client.post("/api/preview/plan", data=form, files=files)
    assert shown.status_code == 200, shown.text
    assert (shown.json()["width_m"], shown.json()["height_m"]) == (3.0, 6.0)
    assert client.get(f"{job}/plan").json()["plan"]["rooms"][0]["name"] == "shop"


def test_a_file_that_states_no_unit_is_read_in_that_of_the_job(client: TestClient) -> None:
    """Feet for a job in feet; what somebody chose, or the file states, goes before."""
    files = {"file": ("hall.wkt", "POLYGON ((0 0, 20 0, 20 10, 0 10, 0 0))")}
    wide = [
        client.post("/api/preview/plan", data=form, files=files).json()["width_m"]
        for form in ({}, {"otherwise": "ft"}, {"otherwise": "ft", "coordinates": "m"})
    ]
    assert wide == [20, pytest.approx(6.096), 20]


def test_a_file_of_another_kind_is_refused(client: TestClient) -> None:
    """An SVG is no plan here; nothing of it is ever shown."""
    content = "<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>"
    refused = client.post("/api/preview/plan", files={"file": ("plan.svg", content)})
    assert refused.status_code == 422
    assert ".dxf" in refused.json()["message"]


def test_a_plan_from_a_file_tells_what_it_would_replace_and_leave_out(
    client: TestClient, job: str
) -> None:
    """Counted before anything is stored."""
    typed = [{"x": 1, "y": 1, "raw": "40"}, {"x": 5.5, "y": 1, "raw": "41"}]
    body = {"visit": "v1", "instrument": "meter 1", "readings": typed, "who": WHO}
    client.post(f"{job}/readings", json=body)
    half = {"name": "half", "rings": [[[0, 0], [3, 0], [3, 4], [0, 4]]]}
    body = {"plan": {"rooms": [half], "lines": []}, "revision": "preview", "who": WHO}
    told = client.post(f"{job}/plan/effect", json=body).json()
    placed = {"rooms": 1, "readings": 2, "tests": 0, "readings_out": 1, "tests_out": 0}
    assert told == {**placed, "set_out": []}
    assert client.get(f"{job}/plan").json()["plan"]["rooms"][0]["name"] == SHOP["name"]


def test_a_refusal_calls_a_file_by_its_own_name(client: TestClient) -> None:
    """Whatever the name holds, it cannot leave its folder."""
    names = {"ground floor.dxf": "ground floor.dxf", "../../a b;$c.dxf": "a b__c.dxf"}
    for name, told in names.items():
        refused = client.post("/api/preview/plan", files={"file": (name, b"no drawing")})
        assert refused.status_code == 422
        assert refused.json()["message"].startswith(told)
