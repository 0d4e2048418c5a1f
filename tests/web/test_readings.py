"""Readings: typed, imported, corrected."""

from __future__ import annotations

import json
from io import BytesIO
from pathlib import Path
from shutil import copy
from typing import Any

import pytest
from openpyxl import Workbook
from starlette.testclient import TestClient

from moisturemap.store import open_project

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


@pytest.mark.parametrize("raw", ["1.234", "1,234", "12.500"])
def test_what_may_be_a_thousand_is_refused(client: TestClient, job: str, raw: str) -> None:
    """The message names both ways to write it; a correction is refused alike."""
    refused = send(client, job, [{"x": 1, "y": 1, "raw": raw}])
    assert refused.status_code == 422
    assert f"{raw}0" in refused.json()["message"]
    send(client, job, [{"x": 1, "y": 1, "raw": "1.2340"}])
    row = listed(client, job)[0]
    assert row["value"] == pytest.approx(1.234)
    body = {"raw": raw, "seen": "1.2340", "why": "misread", "who": WHO}
    answer = client.patch(f"{job}/readings/{row['reading']}", json=body)
    assert f"{raw}0" in answer.json()["message"]


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


def test_a_correction_is_of_the_value_that_was_seen(client: TestClient, job: str) -> None:
    """Two pages that opened one reading do not correct it one over the other."""
    send(client, job, [{"x": 1, "y": 1, "raw": "31"}])
    path = f"{job}/readings/{listed(client, job)[0]['reading']}"
    first = {"raw": "40", "seen": "31", "why": "mistyped", "who": WHO}
    assert client.patch(path, json=first).status_code == 200
    late = client.patch(path, json={**first, "raw": "45"})
    assert late.status_code == 409
    assert "it is now 40" in late.json()["message"]
    gone = {"seen": "31", "why": "double", "who": WHO}
    assert client.request("DELETE", path, json=gone).status_code == 409
    assert listed(client, job)[0]["value"] == 40.0
    assert client.patch(path, json={**first, "raw": "45", "seen": "40"}).status_code == 200


@pytest.fixture
def abroad(client: TestClient, tmp_path: Path, stored_job: Path) -> str:
    """Address of a job in a time zone of its own."""
    path = Path(copy(stored_job, tmp_path))
    with open_project(path, writable=True) as project:
        project.set("timezone", "Asia/Kolkata", WHO)
    (known,) = client.get("/api/projects").json()["projects"]
    return f"/api/projects/{known['id']}"


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("2026-04-14 09:00", "2026-04-14T03:30:00+00:00"),
        ("14/04/2026 09:00", "2026-04-14T03:30:00+00:00"),
        ("09:30", "2026-03-02T04:00:00+00:00"),
        ("2026-04-14T09:00+02:00", "2026-04-14T07:00:00+00:00"),
    ],
)
def test_times_of_a_file_are_those_of_the_job(
    client: TestClient, abroad: str, written: str, read: str
) -> None:
    """As in a survey folder: in its zone, and a bare time of day on the day of the visit."""
    content = f"x,y,value,time\n1,1,30,{written}\n"
    shown = preview(client, abroad, content, visit="v1").json()
    assert (shown["refusal"], shown["notes"]) == ("", [])
    files = {"file": ("scan.csv", content, "text/csv")}
    form = {"visit": "v1", "instrument": "meter 1", "who": WHO}
    assert client.post(f"{abroad}/readings/file", data=form, files=files).status_code == 201
    assert [row["time"] for row in listed(client, abroad)] == [read]


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
    refused = preview(client, job, LIST, columns=json.dumps({"value": "Absent"})).json()
    assert "Absent" in refused["refusal"]
    assert "Easting (mm)" in refused["choices"]


def test_columns_of_unknown_headings_can_be_picked(client: TestClient, job: str) -> None:
    """What cannot be read as it is offers its headings, and is read with those chosen."""
    content = "Reading,A,B\n31,0.5,1.5\n44,1.5,1.5\n"
    refused = preview(client, job, content).json()
    assert refused["refusal"]
    assert refused["choices"] == ["Reading", "A", "B"]
    assert "survey.toml" not in refused["refusal"]
    chosen = json.dumps({"x": "A", "y": "B", "value": "Reading"})
    shown = preview(client, job, content, columns=chosen).json()
    assert [(one["x"], one["y"], one["value"]) for one in shown["points"]] == [
        (0.5, 1.5, 31.0),
        (1.5, 1.5, 44.0),
    ]


def test_a_sheet_of_a_workbook_can_be_picked(client: TestClient, job: str) -> None:
    """Two sheets that hold something: they are listed, and the one chosen is read and stored."""
    book = Workbook()
    for name, value in (("Monday", 31), ("Friday", 27)):
        sheet = book.create_sheet(name)
        for row in (("x", "y", "value"), (0.5, 0.5, value)):
            sheet.append(row)
    content = BytesIO()
    book.save(content)
    files = {"file": ("scans.xlsx", content.getvalue())}
    refused = client.post(f"{job}/readings/preview", files=files).json()
    assert refused["sheets"] == ["Monday", "Friday"]
    assert "survey.toml" not in refused["refusal"]
    form = {"sheet": "Friday", "visit": "v1", "instrument": "meter 1", "who": WHO}
    shown = client.post(f"{job}/readings/preview", data=form, files=files).json()
    assert [one["value"] for one in shown["points"]] == [27.0]
    client.post(f"{job}/readings/file", data=form, files=files)
    assert [one["value"] for one in listed(client, job)] == [27.0]


def test_a_decimal_that_is_not_settled_is_told_without_a_setting_file(
    client: TestClient, job: str
) -> None:
    """On a tablet the choice stands in the form."""
    content = "x;y;value\n1;1;1,250\n"
    refused = preview(client, job, content).json()
    assert "may be a thousand" in refused.get("refusal", refused.get("message", ""))
    assert "survey.toml" not in str(refused)
    assert preview(client, job, content, decimal=",").json()["points"][0]["value"] == 1.25


def test_origin_turn_and_mirror_place_the_file_on_the_plan(client: TestClient, job: str) -> None:
    """(1, 0) mirrored is (-1, 0), turned by 90 degrees (0, -1), shifted (2, 2) it is (2, 1)."""
    content = "x,y,value\n1,0,30\n"
    form = {"origin_x": "2", "origin_y": "2", "rotate_deg": "90", "mirror": "true"}
    point = preview(client, job, content, **form).json()["points"][0]
    assert (point["x"], point["y"]) == (2.0, 1.0)


def test_readings_off_the_plan_are_told(client: TestClient, job: str) -> None:
    """A slip of the unit shows at once."""
    assert preview(client, job, LIST.replace("(mm)", "(m)")).json()["off_plan"] == 2


def test_a_key_sent_again_with_another_value_loses_neither(client: TestClient, job: str) -> None:
    """A form whose first answer was lost and whose number was mended before it was sent again."""
    for raw, size in (("41.5", 1), ("41.5", 1), ("48.5", 2), ("48.5", 2)):
        answer = send(client, job, [{"x": 1, "y": 1, "raw": raw, "label": "P1"}], key="form-1")
        assert answer.status_code == 201
        assert len(listed(client, job)) == size
    assert {one["raw"] for one in listed(client, job)} == {"41.5", "48.5"}


def test_a_key_sent_again_with_another_file_stores_both(client: TestClient, job: str) -> None:
    """Two files of one name are two requests; the same file again is a repeat."""
    form = {"visit": "v1", "instrument": "meter 1", "who": WHO}
    for content, stored in ((LIST, 2), (LIST, 2), ("x,y,value\n1,2,51\n", 3)):
        files, key = {"file": ("scan.csv", content)}, {"Idempotency-Key": "file-1"}
        client.post(f"{job}/readings/file", data=form, files=files, headers=key)
        assert len(listed(client, job)) == stored


def test_a_file_is_stored_as_it_was_shown(client: TestClient, job: str) -> None:
    """The rows keep the file's name and their row number."""
    form = {"visit": "v1", "instrument": "meter 1", "who": WHO}
    files = {"file": ("scan.csv", LIST)}
    for _ in range(2):
        stored = client.post(
            f"{job}/readings/file", data=form, files=files, headers={"Idempotency-Key": "file-1"}
        )
        assert stored.json() == {"stored": 2, "left_out": 0}
    assert len(listed(client, job)) == 2


def test_a_file_chosen_again_doubles_nothing_unless_it_is_wanted(
    client: TestClient, job: str
) -> None:
    """What the visit holds already is left out; a place read again with another value is not."""
    form = {"visit": "v1", "instrument": "meter 1", "who": WHO}

    def store(content: str, **more: str) -> Any:
        files = {"file": ("scan.csv", content)}
        return client.post(f"{job}/readings/file", data={**form, **more}, files=files).json()

    assert store(LIST) == {"stored": 2, "left_out": 0}
    assert store(LIST) == {"stored": 0, "left_out": 2}
    assert store(LIST.replace("31,5", "33,5")) == {"stored": 1, "left_out": 1}
    assert store(LIST, twice="true") == {"stored": 2, "left_out": 0}
    assert len(listed(client, job)) == 5


def test_the_walk_covers_the_room_and_says_what_it_misses(client: TestClient, job: str) -> None:
    """Places lie in the room, in walking order, with some read twice."""
    walk = client.get(f"{job}/walk", params={"spacing": 1}).json()
    assert all(0 < stop["x"] < 6 and 0 < stop["y"] < 4 for stop in walk["stops"])
    assert {stop["purpose"] for stop in walk["stops"]} == {"grid", "edge", "repeat"}
    assert walk["limits"]
    assert client.get(f"{job}/walk", params={"room": "cellar"}).status_code == 422


def test_one_name_at_two_places_is_two_readings(client: TestClient, job: str) -> None:
    """Two devices with grids of their own: neither is told to set a good reading aside."""
    send(client, job, [{"x": 1, "y": 1, "label": "A1", "room": "shop", "raw": "40"}])
    other = {"x": 1.4, "y": 1, "label": "A1", "room": "shop", "raw": "31"}
    assert "also" not in send(client, job, [other]).json()
    send(client, job, [{**other, "raw": "33"}], instead_of=True)
    assert sorted(row["value"] for row in listed(client, job)) == [33.0, 40.0]


@pytest.mark.thorough
def test_a_walk_begun_elsewhere_can_be_joined(client: TestClient, job: str) -> None:
    """The second device is told how the first laid out its walk, and gets the rest of it."""
    begun = f"{job}/walk/begun?visit=v1"
    assert client.get(begun).json() == {"walk": None}
    laid = {"spacing": 1.5, "room": "", "start": "top-left", "rows": "short"}
    stop = client.get(f"{job}/walk", params={**laid, "visit": "v1"}).json()["stops"][0]
    place = {name: stop[name] for name in ("x", "y", "label", "room")}
    send(client, job, [{**place, "raw": "40"}], walk=laid)
    assert client.get(begun).json() == {"walk": laid}
    rest = client.get(f"{job}/walk", params={**laid, "visit": "v1"}).json()["stops"]
    assert stop["label"] not in {one["label"] for one in rest if one["purpose"] == "grid"}
    other = client.get(f"{job}/walk", params={"spacing": 0.9, "visit": "v1"}).json()["stops"]
    assert stop["label"] not in {one["label"] for one in other}


def test_what_may_be_picked_are_the_headings_not_the_title(client: TestClient, job: str) -> None:
    """A title row of many words stands above; a wrong cell below is refused."""
    content = (
        "Operator: J. Perch,Date,04.03.2026,sheet one\n\n"
        "Easting,Northing,Meter reading,Remark\nnone,1,40,\n1,1,40,\n"
    )
    shown = preview(client, job, content).json()
    assert "Easting" in shown["refusal"]
    assert shown["choices"] == ["Easting", "Northing", "Meter reading", "Remark"]
    assert shown["headings"]["value"] == "Meter reading"


def test_readings_in_another_unit_are_doubted_before_they_are_stored(
    client: TestClient, job: str
) -> None:
    """Metres read as feet all lie in a corner of the room: the preview says so, and in feet too."""
    metres = "x,y,value\n" + "\n".join(
        f"{0.5 + i},{0.5 + j},{30 + i}" for i in range(6) for j in range(4)
    )
    wrong = preview(client, job, metres, coordinates="ft").json()
    assert wrong["off_plan"] == 0
    assert "as metres instead of feet" in wrong["doubt"]
    assert preview(client, job, metres, coordinates="m").json()["doubt"] == ""
    stated = metres.replace("x,y", "x (m),y (m)")
    assert preview(client, job, stated, coordinates="ft").json()["doubt"] == ""
