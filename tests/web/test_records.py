"""Instruments, visits and tests are whole records: what is typed comes back and counts."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from httpx import Response
from starlette.testclient import TestClient

from moisturemap.store import Issue, issue

from .conftest import WHO, make_job

PROBE = {
    "id": "probe 4",
    "kind": "rh-probe",
    "model": "P 20",
    "serial": "0417",
    "certificate": "C-2291",
    "calibrated": "2026-01-20",
    "uncertainty": 1.2,
    "who": WHO,
}
TEST: dict[str, Any] = {
    "method": "in-situ-rh",
    "hole": "T1",
    "x": 5.0,
    "y": 2.0,
    "depth_mm": 32,
    "value": 81.4,
    "temperature_c": 20.1,
    "drilled": "2026-03-01T08:00:00+00:00",
    "lined": "2026-03-01T08:20:00+00:00",
    "placed": "2026-03-04T08:00:00+00:00",
    "read": "2026-03-04T10:00:00+00:00",
    "instrument": "probe 4",
}


def _check(when: str, salt: str, read: float) -> dict[str, Any]:
    return {"when": when, "reference": salt, "read": read, "temperature_c": 20.0, "who": WHO}


def test_a_probe_comes_back_with_certificate_and_checks(client: TestClient, job: str) -> None:
    """Added, checked, corrected; a check entered by mistake is taken out again."""
    assert client.post(f"{job}/instruments", json=PROBE).status_code == 201
    for day, salt, read in (("03-01", "NaCl", 75.9), ("03-01", "KCl", 85.6), ("03-05", "NaCl", 1)):
        body = _check(f"2026-{day}T07:00:00Z", salt, read)
        assert client.post(f"{job}/instruments/probe 4/checks", json=body).status_code == 201
    probe = client.get(job).json()["instruments"][-1]
    assert {name: probe[name] for name in PROBE if name != "who"} == {
        name: value for name, value in PROBE.items() if name != "who"
    }
    wrong = probe["checks"][-1]
    assert wrong["read"] == 1
    gone = {"why": "slip of the pen", "who": WHO}
    address = f"{job}/instruments/probe 4/checks/{wrong['id']}"
    assert client.request("DELETE", address, json=gone).status_code == 200
    answer = client.put(f"{job}/instruments/probe 4", json={**PROBE, "certificate": "C-2292"})
    probe = answer.json()["instruments"][-1]
    assert probe["certificate"] == "C-2292"
    assert [one["reference"] for one in probe["checks"]] == ["NaCl", "KCl"]
    assert client.put(f"{job}/instruments/probe 9", json=PROBE).status_code == 404


def test_a_visit_comes_back_with_its_air_and_its_log(client: TestClient, job: str) -> None:
    """The acclimation log is kept in order of time and survives a correction."""
    log = [
        {"when": "2026-03-04T08:00:00Z", "air_temperature_c": 20.5, "air_rh_pct": 48},
        {"when": "2026-03-02T08:00:00Z", "air_temperature_c": 20.0, "slab_temperature_c": 18.5},
    ]
    body = {"id": "v1", "service_temperature_c": 21, "service_rh_pct": 50, "who": WHO}
    answer = client.put(f"{job}/visits/v1", json={**body, "acclimation": log})
    assert answer.status_code == 200, answer.text
    visit = client.get(job).json()["visits"][0]
    assert visit["service_rh_pct"] == 50
    assert [one["when"][:10] for one in visit["acclimation"]] == ["2026-03-02", "2026-03-04"]


@pytest.mark.thorough
def test_a_lined_hole_is_judged_and_a_cleared_time_is_gone(client: TestClient) -> None:
    """All times of a test reach the verdict as times; what the form holds no more is not kept."""
    job = make_job(client)
    client.post(f"{job}/instruments", json=PROBE)
    body = {"visit": "v1", "fields": TEST, "who": WHO}
    made = client.post(f"{job}/tests", json=body)
    assert made.status_code == 201, made.text
    stored = client.get(f"{job}/tests").json()["tests"][0]
    assert stored["lined"] == TEST["lined"]
    assert client.get(f"{job}/verdict").status_code == 200
    fields = {name: value for name, value in TEST.items() if name not in ("lined", "placed")}
    address = f"{job}/tests/{made.json()['id']}"
    answer = client.put(address, params={"why": "not lined"}, json={**body, "fields": fields})
    assert answer.status_code == 200, answer.text
    stored = client.get(f"{job}/tests").json()["tests"][0]
    assert stored.get("lined") is None
    assert stored["placed"] is None
    assert client.get(f"{job}/verdict").status_code == 200


def test_of_many_who_start_a_visit_of_one_name_at_once_one_does(
    client: TestClient, job: str
) -> None:
    """What was looked up still holds when it is written."""
    for number in range(5):
        body = {"id": f"twin {number}", "started": "2026-03-03T08:00:00Z", "who": WHO}
        answers = at_once(8, partial(client.post, f"{job}/visits", json=body))
        assert sorted(one.status_code for one in answers) == [201] + [409] * 7
    names = [one["id"] for one in client.get(job).json()["visits"]]
    assert len(names) == len(set(names))


def test_a_correction_repeated_at_once_is_made_once(client: TestClient, job: str) -> None:
    """A page that asks again before the first answer came hears of no error."""
    row = {"x": 1, "y": 1, "raw": "30", "label": "P1"}
    body = {"visit": "v1", "instrument": "meter 1", "readings": [row], "who": WHO}
    reading = client.post(f"{job}/readings", json=body).json()["readings"][0]
    before = client.get(f"{job}/changes").json()["record"]
    for number in range(5):
        body = {"raw": f"{40 + number}", "who": WHO, "why": "again"}
        sent = {"json": body, "headers": {"Idempotency-Key": f"again {number}"}}
        answers = at_once(8, partial(client.patch, f"{job}/readings/{reading}", **sent))
        assert {one.status_code for one in answers} == {200}
    assert client.get(f"{job}/changes").json()["record"] == before + 5


def test_an_issued_document_says_that_the_data_changed_since(
    client: TestClient, job: str, tmp_path: Path
) -> None:
    """Counted from the entry it was made from; issuing itself changes no data."""
    paper = tmp_path / "report.pdf"
    paper.write_bytes(b"%PDF-1.4")
    project = client.app.state.shelf.job("Harbour shop").project  # type: ignore[attr-defined]
    issue(project, paper, Issue({}), WHO)
    (document,) = client.get(f"{job}/documents").json()["documents"]
    assert document["changes_since"] == 0
    row = {"x": 1, "y": 1, "raw": "30", "label": "P1"}
    body = {"visit": "v1", "instrument": "meter 1", "readings": [row], "who": WHO}
    client.post(f"{job}/readings", json=body)
    (document,) = client.get(f"{job}/documents").json()["documents"]
    assert document["changes_since"] == 1


def at_once(times: int, ask: Callable[[], Response]) -> list[Response]:
    """Return the answers to a request sent by several threads together."""
    begin = threading.Barrier(times)

    def one(_: int) -> Response:
        begin.wait(10)
        return ask()

    with ThreadPoolExecutor(times) as threads:
        return list(threads.map(one, range(times)))
