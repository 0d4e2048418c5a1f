"""Readings: typed, imported, corrected."""

from __future__ import annotations

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from .conftest import WHO


def send(client: TestClient, job: str, readings: list[Any], **more: Any) -> Any:
    """Store typed readings."""
    key = more.pop("key", "")
    body = {"visit": "v1", "instrument": "meter 1", "readings": readings, "who": WHO, **more}
    return client.post(f"{job}/readings", json=body, headers={"Idempotency-Key": key})


def listed(client: TestClient, job: str) -> list[Any]:
    """Return the readings of the visit."""
    return list(client.get(f"{job}/readings", params={"visit": "v1"}).json()["readings"])


def test_decimal_comma_and_full_scale_are_understood(client: TestClient, job: str) -> None:
    """Full scale is kept as at or above, never as a number of its own."""
    send(
        client,
        job,
        [
            {"x": 1, "y": 1, "raw": "41,5"},
            {"x": 2, "y": 1, "raw": "FS"},
            {"x": 3, "y": 1, "raw": ">100"},
        ],
    )
    rows = listed(client, job)
    assert [row["value"] for row in rows] == [41.5, None, 100.0]
    assert [row["censored"] for row in rows] == ["", "above", "above"]


@pytest.mark.parametrize("raw", ["wet", "1.2.3", "101", "-5"])
def test_what_is_no_reading_is_refused_with_what_is_allowed(
    client: TestClient, job: str, raw: str
) -> None:
    """The message says what the meter can show."""
    refused = send(client, job, [{"x": 1, "y": 1, "raw": raw, "label": "B4"}])
    assert refused.status_code == 422
    assert "FS" in refused.json()["message"]
    assert listed(client, job) == []


def test_a_reading_sent_twice_is_stored_once(client: TestClient, job: str) -> None:
    """A repeat after a lost answer has the same key."""
    for _ in range(3):
        assert send(client, job, [{"x": 1, "y": 1, "raw": "40"}], key="abc").status_code == 201
    assert len(listed(client, job)) == 1


def test_reading_a_place_again_takes_the_place_of_the_first(client: TestClient, job: str) -> None:
    """Going back while walking corrects; the record keeps both."""
    place = {"x": 1, "y": 1, "label": "A1", "room": "shop"}
    send(client, job, [{**place, "raw": "40"}])
    send(client, job, [{**place, "raw": "44"}], instead_of=True)
    assert [row["value"] for row in listed(client, job)] == [44.0]
    assert any(
        "40" in one["what"] or "removed" in one["what"]
        for one in client.get(f"{job}/changes").json()["entries"]
    )


def test_a_correction_needs_a_reason(client: TestClient, job: str) -> None:
    """Without one nothing changes."""
    send(client, job, [{"x": 1, "y": 1, "raw": "40"}])
    number = listed(client, job)[0]["reading"]
    refused = client.patch(f"{job}/readings/{number}", json={"raw": "44", "why": "", "who": WHO})
    assert refused.status_code == 422
    body = {"raw": "44", "why": "mistyped", "who": WHO}
    assert client.patch(f"{job}/readings/{number}", json=body).status_code == 200
    assert listed(client, job)[0]["value"] == 44.0
    client.request("DELETE", f"{job}/readings/{number}", json={"why": "double", "who": WHO})
    assert listed(client, job) == []


LIST = "Spot;Easting (mm);Northing (mm);Scan;Other\nA;500;500;31,5;9\nB;1500;500;FS;9\n"


def preview(client: TestClient, job: str, content: str, **form: str) -> Any:
    """Show how a file is understood."""
    files = {"file": ("scan.csv", content)}
    return client.post(f"{job}/readings/preview", data=form, files=files)


def test_a_list_is_shown_as_it_was_understood(client: TestClient, job: str) -> None:
    """Columns, units and full scale; nothing is stored."""
    shown = preview(client, job, LIST).json()
    assert shown["count"] == 2
    assert shown["headings"]["x"] == "Easting (mm)"
    assert shown["points"][0] == {"x": 0.5, "y": 0.5, "value": 31.5, "censored": "", "raw": "31,5"}
    assert shown["full_scale"] == 1
    assert listed(client, job) == []


def test_a_wrong_column_can_be_changed(client: TestClient, job: str) -> None:
    """The heading chosen counts, whatever it is called."""
    shown = preview(client, job, LIST, columns=json.dumps({"value": "Other"})).json()
    assert [point["value"] for point in shown["points"]] == [9.0, 9.0]
    refused = preview(client, job, LIST, columns=json.dumps({"value": "Absent"}))
    assert refused.status_code == 422
    assert "Absent" in refused.json()["message"]


def test_origin_turn_and_mirror_place_the_file_on_the_plan(client: TestClient, job: str) -> None:
    """(1, 0) mirrored is (-1, 0), turned by 90 degrees (0, -1), shifted (2, 2) it is (2, 1)."""
    content = "x,y,value\n1,0,30\n"
    form = {"origin_x": "2", "origin_y": "2", "rotate_deg": "90", "mirror": "true"}
    point = preview(client, job, content, **form).json()["points"][0]
    assert (point["x"], point["y"]) == (2.0, 1.0)


def test_readings_off_the_plan_are_told(client: TestClient, job: str) -> None:
    """A slip of the unit shows at once."""
    assert preview(client, job, LIST.replace("(mm)", "(m)")).json()["off_plan"] == 2


def test_a_file_is_stored_as_it_was_shown(client: TestClient, job: str) -> None:
    """The rows keep the file's name and their row number."""
    form = {"visit": "v1", "instrument": "meter 1", "who": WHO}
    files = {"file": ("scan.csv", LIST)}
    for _ in range(2):
        stored = client.post(
            f"{job}/readings/file", data=form, files=files, headers={"Idempotency-Key": "file-1"}
        )
        assert stored.json() == {"stored": 2}
    assert len(listed(client, job)) == 2


def test_the_walk_covers_the_room_and_says_what_it_misses(client: TestClient, job: str) -> None:
    """Places lie in the room, in walking order, with some read twice."""
    walk = client.get(f"{job}/walk", params={"spacing": 1}).json()
    assert all(0 < stop["x"] < 6 and 0 < stop["y"] < 4 for stop in walk["stops"])
    assert {stop["purpose"] for stop in walk["stops"]} == {"grid", "edge", "repeat"}
    assert walk["limits"]
    assert client.get(f"{job}/walk", params={"room": "cellar"}).status_code == 422
