"""The map, its reasons and the decisions about it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from moisturemap.store import open_project
from moisturemap.workflow.check import check_path

from .conftest import WHO


@pytest.fixture(scope="module")
def shown(read_client: TestClient, read_job: str) -> dict[str, Any]:
    """The map of the job that has been read."""
    answer = read_client.get(f"{read_job}/map")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def test_the_bands_cover_the_room_and_carry_the_ramp(shown: dict[str, Any]) -> None:
    """Their areas add up to the room's 24 m2."""
    bands = shown["layers"]["bands"]["features"]
    assert sum(one["properties"]["area_m2"] for one in bands) == pytest.approx(24, abs=0.05)
    assert {one["properties"]["colour"] for one in bands} <= set(shown["colours"])
    assert len(shown["colours"]) == len(shown["levels"]) - 1


def test_colours_span_the_scale_of_the_meter_unless_asked(
    read_client: TestClient, read_job: str, shown: dict[str, Any]
) -> None:
    """So that visits and jobs of one meter are compared; own colours span what was read here."""
    assert (shown["levels"][0], shown["levels"][-1]) == (0, 100)
    own = read_client.get(f"{read_job}/map", params={"own_colours": True}).json()["levels"]
    assert 0 < own[0] < own[-1] < 100


def test_the_map_says_that_its_readings_are_relative(shown: dict[str, Any]) -> None:
    """And nothing on it is called safe or passed."""
    assert "not a moisture content" in shown["disclaimer"]
    words = str({key: value for key, value in shown.items() if key != "layers"}).lower()
    assert "safe" not in words
    assert "passed" not in words


def test_a_place_is_explained(read_client: TestClient, read_job: str) -> None:
    """Value, interval and the readings it rests on."""
    told = read_client.get(f"{read_job}/place", params={"x": 3, "y": 2}).json()
    assert told["room"] == "shop"
    assert told["low"] < told["value"] < told["high"]
    assert len(told["readings"]) == 4
    assert any("nearest reading" in sentence for sentence in told["sentences"])


def test_a_place_off_the_plan_has_no_value(read_client: TestClient, read_job: str) -> None:
    """It is said in words."""
    told = read_client.get(f"{read_job}/place", params={"x": 50, "y": 2}).json()
    assert told["value"] is None
    assert "outside every room" in told["sentences"][0]


def test_a_marked_line_sets_its_readings_aside(read_client: TestClient, read_job: str) -> None:
    """The readings on it leave the map with the reason, and come back when it is taken back."""
    mark = {
        "verdict": "marked",
        "kind": "line",
        "places": [[0, 1.2], [6, 1.2]],
        "why": "pipe on the thermal image",
        "who": WHO,
    }
    assert read_client.post(f"{read_job}/anomalies", json=mark).status_code == 201
    features = read_client.get(f"{read_job}/map").json()["layers"]["readings"]["features"]
    flagged = [one["properties"] for one in features if one["properties"]["flag"] == "line"]
    assert len(flagged) == 7
    assert "thermal image" in flagged[0]["reason"]
    [thing] = read_client.get(f"{read_job}/drying").json()["layers"]["things"]["features"]
    assert thing["geometry"]["type"] == "LineString", "drawn among the visits, too"
    read_client.post(f"{read_job}/anomalies/withdraw", json={"index": 0, "who": WHO})
    features = read_client.get(f"{read_job}/map").json()["layers"]["readings"]["features"]
    assert not [one for one in features if one["properties"]["flag"] == "line"]


def test_dismissing_needs_a_reason(read_client: TestClient, read_job: str) -> None:
    """Without one it is refused."""
    body = {"verdict": "dismissed", "kind": "spot", "places": [[1, 1]], "who": WHO}
    assert read_client.post(f"{read_job}/anomalies", json=body).status_code == 422


def test_the_quick_map_follows_the_readings(client: TestClient, job: str) -> None:
    """It begins with three places and draws bands from then on."""
    url = f"{job}/live?visit=v1"
    assert client.get(url).json()["bands"] is None
    typed = [{"x": x, "y": 2, "raw": str(20 + 5 * x)} for x in range(1, 6)]
    body = {"visit": "v1", "instrument": "meter 1", "readings": typed, "who": WHO}
    client.post(f"{job}/readings", json=body)
    answer = client.get(url).json()
    assert answer["bands"]["features"]
    assert "5 places" in answer["sentence"]


def test_a_job_without_readings_says_what_is_missing(client: TestClient, job: str) -> None:
    """In words, not as an error of the program."""
    answer = client.get(f"{job}/map")
    assert answer.status_code == 422
    assert "no readings" in answer.json()["message"]


@pytest.mark.thorough
def test_after_a_correction_a_quick_map_comes_first(client: TestClient) -> None:
    """It holds the new value and says what it is; the whole map follows with the same record."""
    from .conftest import make_job

    base = make_job(client)
    before = client.get(f"{base}/map").json()
    assert not before["quick"]
    row = client.get(f"{base}/readings", params={"visit": "v1"}).json()["readings"][12]
    body = {"raw": "88", "why": "read again", "who": WHO}
    assert client.patch(f"{base}/readings/{row['reading']}", json=body).status_code == 200
    quick = client.get(f"{base}/map", params={"quick": True}).json()
    whole = client.get(f"{base}/map").json()
    assert (quick["quick"], whole["quick"]) == (True, False)
    assert quick["record"] == whole["record"] > before["record"]
    for answer in (quick, whole):
        values = {
            one["properties"]["reading"]: one["properties"]["value"]
            for one in answer["layers"]["readings"]["features"]
        }
        assert values[row["reading"]] == 88
    assert not client.get(f"{base}/map", params={"quick": True}).json()["quick"]


@pytest.mark.thorough
def test_a_quick_map_is_not_made_where_more_than_readings_changed(client: TestClient) -> None:
    """A changed plan, or a thing marked, is looked at as a whole."""
    from .conftest import make_job

    base = make_job(client)
    client.get(f"{base}/map")
    places = [[0, 1.2], [6, 1.2]]
    mark = {"verdict": "marked", "kind": "line", "places": places, "why": "pipe", "who": WHO}
    client.post(f"{base}/anomalies", json=mark)
    assert not client.get(f"{base}/map", params={"quick": True}).json()["quick"]


def test_proposed_holes_come_after_the_map(read_client: TestClient, read_job: str) -> None:
    """The map does not wait for them; they are those of the drill plan."""
    assert "holes" not in read_client.get(f"{read_job}/map").json()["layers"]
    holes = read_client.get(f"{read_job}/map/holes").json()["holes"]["features"]
    plan = read_client.get(f"{read_job}/drill").json()["holes"]
    assert [one["properties"]["hole"] for one in holes] == [one["hole"] for one in plan] != []


def test_what_check_warns_of_is_told_beside_the_map(
    read_client: TestClient, read_job: str, tmp_path: Path
) -> None:
    """The same sentences as of the command; what only informs is left to it."""
    told = read_client.get(f"{read_job}/remarks").json()["remarks"]
    copy = tmp_path / "copy.gpkg"
    with open_project(read_client.app.state.settings.folder / "Harbour shop.gpkg") as project:  # type: ignore[attr-defined]
        project.save_copy(copy)
    found = [one for one in check_path(copy).remarks if one.level != "info"]
    assert told == [one.sentence for one in found]
    assert told


def test_why_there_is_no_wet_level_is_said_once(client: TestClient, job: str) -> None:
    """Floor that reads alike all over has no zone, and the page gives the reason one time."""
    alike = [
        {"x": 0.5 + x, "y": 0.5 + y, "raw": f"{30 + (x * 7 + y * 3) % 4}"}
        for x in range(6)
        for y in range(4)
    ]
    body = {"visit": "v1", "instrument": "meter 1", "readings": alike, "who": WHO}
    assert client.post(f"{job}/readings", json=body).status_code == 201
    shown = client.get(f"{job}/map").json()
    assert shown["wet_level"] is None
    assert shown["statement"].startswith("No wet zone")
    assert shown["statement"] not in shown["wet_explanation"]
