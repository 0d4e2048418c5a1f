"""Tests, verdict, report, figure, data and photographs."""

from __future__ import annotations

import contextlib
import gzip
import io
import json
import re
import sqlite3
import zipfile
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest
from PIL import Image
from starlette.testclient import TestClient

from moisturemap.web import Settings, create_app
from moisturemap.web.work.paper_work import verdict

from .conftest import PLAN, WHO, make_job, readings

PROBE = {"id": "probe 1", "kind": "rh-probe", "serial": "S1", "uncertainty": 2.0, "who": WHO}
FIELDS = {
    "method": "in-situ-rh",
    "hole": "H1",
    "x": 5.0,
    "y": 2.0,
    "value": "81,5",
    "depth_mm": 32,
    "temperature_c": 19.5,
    "instrument": "probe 1",
    "drilled": "2026-03-03T08:00:00Z",
    "read": "2026-03-06T09:00:00Z",
}


def picture() -> bytes:
    """A small photograph."""
    buffer = io.BytesIO()
    Image.new("RGB", (32, 24), "grey").save(buffer, "JPEG")
    return buffer.getvalue()


@pytest.fixture
def tested(client: TestClient, job: str) -> str:
    """A job with a probe, a limit and one test above it."""
    assert client.post(f"{job}/instruments", json=PROBE).status_code == 201
    limit = {
        "method": "in-situ-rh",
        "value": 75,
        "unit": "%RH",
        "source": "data sheet rev 3",
        "who": WHO,
    }
    assert client.put(f"{job}/limit", json=limit).status_code == 200
    body = {"visit": "v1", "fields": FIELDS, "who": WHO}
    assert client.post(f"{job}/tests", json=body).status_code == 201
    return job


def test_every_method_says_what_its_record_must_hold(client: TestClient) -> None:
    """The forms of the page follow from it."""
    methods = client.get("/api/test-methods").json()["methods"]
    assert {"in-situ-rh", "hood-rh", "carbide", "mver"} <= {one["key"] for one in methods}
    assert all(one["required"] and one["fields"] for one in methods)


def test_a_correction_made_from_an_older_state_is_told(client: TestClient, tested: str) -> None:
    """Two pages hold the form of one test; the second must not bring back the value of before."""
    test = client.get(f"{tested}/tests").json()["tests"][0]
    path, why = f"{tested}/tests/{test['id']}", {"why": "checked", "seen": test["seen"]}
    first = {"visit": "v1", "fields": {**FIELDS, "value": "93,5"}, "who": WHO}
    assert client.put(path, params=why, json=first).status_code == 200
    late = {"visit": "v1", "fields": {**FIELDS, "depth_mm": 33}, "who": WHO}
    refused = client.put(path, params=why, json=late)
    assert refused.status_code == 409
    assert "93.5 %RH" in refused.json()["message"]
    now = client.get(f"{tested}/tests").json()["tests"][0]
    assert (now["value"], now["depth_mm"]) == (93.5, 32)
    late["fields"]["value"] = "93,5"
    again = client.put(path, params={**why, "seen": now["seen"]}, json=late)
    assert again.status_code == 200


def test_a_test_that_was_changed_meanwhile_is_not_taken_out(
    client: TestClient, tested: str
) -> None:
    """Who takes it out has seen another value: the one raised above the limit stays."""
    test = client.get(f"{tested}/tests").json()["tests"][0]
    path, gone = f"{tested}/tests/{test['id']}", {"why": "double", "seen": test["seen"], "who": WHO}
    raised = {"visit": "v1", "fields": {**FIELDS, "value": "93,5"}, "who": WHO}
    why = {"why": "misread", "seen": test["seen"]}
    assert client.put(path, params=why, json=raised).status_code == 200
    refused = client.request("DELETE", path, json=gone)
    assert refused.status_code == 409
    assert "93.5 %RH" in refused.json()["message"]
    (now,) = client.get(f"{tested}/tests").json()["tests"]
    assert client.request("DELETE", path, json={**gone, "seen": now["seen"]}).status_code == 200


def test_a_file_changed_past_its_record_is_told_in_verdict_and_report(
    client: TestClient, tested: str, tmp_path: Path
) -> None:
    """By a program that knows nothing of the record; whatever is issued must say so."""
    assert "record of changes led to" not in str(client.get(f"{tested}/verdict").json())
    (file,) = tmp_path.rglob("*.gpkg")
    with contextlib.closing(sqlite3.connect(file)) as opened, opened:
        triggers = opened.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in triggers.fetchall():
            if "tests" in name:
                opened.execute(f'DROP TRIGGER "{name}"')
        opened.execute("UPDATE tests SET value = 60 WHERE fid = 1")
    who_typed = {"visit": "v1", "fields": {**FIELDS, "hole": "H2", "x": 1.0}, "who": WHO}
    client.post(f"{tested}/tests", json=who_typed)
    verdict = client.get(f"{tested}/verdict").json()
    assert verdict["verdict"] != "meets"
    assert "not what its record of changes led to" in " ".join(verdict["reasons"])


@pytest.mark.thorough
def test_a_changed_result_stands_in_the_verdict(client: TestClient, tested: str) -> None:
    """What it was, what it is, who changed it and why; gone again when it is as first stored."""
    test = client.get(f"{tested}/tests").json()["tests"][0]["id"]
    told = []
    for value, why in (("70,5", "misread display"), ("81,5", "it was right")):
        body = {"visit": "v1", "fields": {**FIELDS, "value": value}, "who": WHO}
        path = f"{tested}/tests/{test}"
        assert client.put(path, params={"why": why}, json=body).status_code == 200
        told.append(" ".join(client.get(f"{tested}/verdict").json()["reasons"]))
    assert "Test H1 was stored as 81.5 %RH and changed to 70.5 %RH on" in told[0]
    assert f"by {WHO}: misread display." in told[0]
    assert "was stored as" not in told[1]
    body = {"visit": "v1", "fields": {**FIELDS, "hole": "H2", "x": 1.0}, "who": WHO}
    client.post(f"{tested}/tests", json=body)
    why_not = {"why": "probe dropped", "who": WHO}
    gone = client.request("DELETE", f"{tested}/tests/{test}", json=why_not)
    assert gone.status_code == 200
    reasons = client.get(f"{tested}/verdict").json()["reasons"]
    assert any("Test H1, 81.5 %RH, was set aside on" in one for one in reasons)


def test_a_test_is_stored_with_its_room(client: TestClient, tested: str) -> None:
    """A decimal comma is understood and the room follows from the place."""
    row = client.get(f"{tested}/tests").json()["tests"][0]
    assert (row["value"], row["hole"], row["room"]) == (81.5, "H1", "shop")


@pytest.mark.thorough
@pytest.mark.parametrize(
    "slip",
    [
        {"value": "wet"},
        {"depth_mm": -4},
        {"read": "yesterday"},
        {"colour": "blue"},
        {"method": "guess"},
        {"instrument": "nobody"},
    ],
)
def test_a_slip_in_a_test_is_refused(
    client: TestClient, tested: str, slip: dict[str, object]
) -> None:
    """By field, value and what is allowed."""
    body = {"visit": "v1", "fields": {**FIELDS, **slip}, "who": WHO}
    refused = client.post(f"{tested}/tests", json=body)
    assert refused.status_code == 422
    assert refused.json()["allowed"]


def test_rules_speak_while_a_test_is_typed(client: TestClient, tested: str) -> None:
    """A probe read two hours after drilling is found too early; nothing is stored."""
    early = {**FIELDS, "read": "2026-03-03T10:00:00Z"}
    body = {"visit": "v1", "fields": early, "who": WHO}
    told = client.post(f"{tested}/tests/examine", json=body).json()
    assert any(one["effect"] == "invalid" for one in told["findings"])
    assert len(client.get(f"{tested}/tests").json()["tests"]) == 1


def test_a_bottle_at_the_end_of_its_gauge_is_stored_as_a_bound(
    client: TestClient, job: str
) -> None:
    """Above 2: over a limit of 2 it exceeds, under one of 3 it never meets; it can be corrected."""
    limit = {"method": "carbide", "value": 2.0, "unit": "CM-%", "source": "invented", "who": WHO}
    client.put(f"{job}/limit", json=limit)
    fields = {
        "method": "carbide",
        "hole": "C1",
        "x": 2.0,
        "y": 2.0,
        "value": ">2",
        "sample_mass_g": "50",
        "depth_mm": "60",
        "instrument": "bottle 1",
        "read": "2026-03-02T10:00:00+00:00",
    }
    bottle = {"id": "bottle 1", "kind": "carbide", "serial": "S2", "uncertainty": 0.1, "who": WHO}
    client.post(f"{job}/instruments", json=bottle)
    body = {"visit": "v1", "fields": fields, "who": WHO}
    examined = client.post(f"{job}/tests/examine", json=body)
    assert examined.status_code == 200, examined.text
    made = client.post(f"{job}/tests", json=body)
    assert made.status_code == 201, made.text
    stored = client.get(f"{job}/tests").json()["tests"][0]
    assert (stored["value"], stored["censored"]) == (2.0, "above")
    told = client.get(f"{job}/verdict").json()
    assert told["verdict"] == "exceeds"
    assert told["tests"][0]["counts_against"] == "exceeds"
    assert "at or above 2.00 CM-%" in told["reasons"][0]
    assert not any("no valid test was held" in one for one in told["reasons"])
    client.put(f"{job}/limit", json={**limit, "value": 3.0})
    told = client.get(f"{job}/verdict").json()
    assert told["verdict"] != "meets"
    assert told["tests"][0]["counts_against"] == "not proven"
    body["fields"] = {**fields, "value": "1,4"}
    address = f"{job}/tests/{made.json()['id']}"
    assert client.put(address, params={"why": "read again"}, json=body).status_code == 200
    stored = client.get(f"{job}/tests").json()["tests"][0]
    assert (stored["value"], stored["censored"]) == (1.4, "")
    body["fields"] = {**fields, "value": "1.4", "sample_mass_g": ">50"}
    assert client.post(f"{job}/tests", json=body).status_code == 422


def test_what_a_later_reading_replaced_is_told_apart(client: TestClient, tested: str) -> None:
    """The reasons of a floor read three times were a screen of results that count no more."""
    told = client.get(f"{tested}/verdict").json()
    assert told["replaced"] == []
    tables = dict.fromkeys(
        ("tests", "findings", "coverage", "checks", "profile_table", "rules", "unjudged"),
        pd.DataFrame(),
    )
    gone = "earlier, H1 at 40 mm: 90 %RH is above the limit 75"
    found = SimpleNamespace(
        **tables,
        **dict.fromkeys(("verdict", "sentence", "proof"), "meets"),
        reasons=("H1 at 40 mm: 70 %RH is within the limit 75", gone),
        brief={gone: ""},
        next_steps=(),
        statements=(),
        chance=None,
        holds_until=None,
        as_of=date(2026, 3, 10),
    )
    desk = SimpleNamespace(decision=lambda visit: (found, ""), keys=SimpleNamespace(number=0))
    packed = verdict(desk, "v1")  # type: ignore[arg-type]
    told = json.loads(gzip.decompress(packed.content))
    assert told["reasons"] == [found.reasons[0]]
    assert told["replaced"] == [gone]


def test_the_highest_result_governs_the_verdict(client: TestClient, tested: str) -> None:
    """81.5 %RH against 75 %RH does not meet it, scan or no scan."""
    told = client.get(f"{tested}/verdict").json()
    assert told["verdict"] in ("exceeds", "not proven")
    assert told["verdict"] != "meets"
    assert told["reasons"]
    assert told["scan"]


@pytest.mark.thorough
@pytest.mark.parametrize("format", ["pdf", "docx", "html"])
def test_the_report_is_written(read_client: TestClient, read_job: str, format: str) -> None:
    """As a download that never opens in the page's own origin."""
    body = {"format": format, "who": WHO, "title_block": {"Client": "<b>Quay & Co</b>"}}
    answer = read_client.post(f"{read_job}/report", json=body)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-disposition"].startswith("attachment")
    assert len(answer.content) > 10_000
    if format == "html":
        assert "<b>Quay" not in answer.text


@pytest.mark.thorough
def test_an_issued_report_is_kept_unchanged(read_client: TestClient, read_job: str) -> None:
    """The bytes that were downloaded come back."""
    body = {"format": "pdf", "issue": True, "who": WHO}
    sent = read_client.post(f"{read_job}/report", json=body).content
    document = read_client.get(f"{read_job}/documents").json()["documents"][0]
    assert read_client.get(f"{read_job}/documents/{document['fid']}").content == sent


@pytest.mark.thorough
def test_an_issued_report_tells_clearances_and_the_issue_before(client: TestClient) -> None:
    """Who cleared a caution, when and by what; who issued what before, and what changed since."""
    job = make_job(client)
    caution = client.get(f"{job}/drill").json()["cautions"][0]["key"]
    given = {"by": "B. Stone", "on": "2026-03-03", "document": "permit 12", "who": WHO}
    assert client.post(f"{job}/cautions", json={"caution": caution, **given}).status_code == 201
    body = {"format": "html", "issue": True, "who": WHO}
    first = client.post(f"{job}/report", json=body)
    plain = re.sub(r"<[^>]+>", " ", first.text)
    assert re.search(r"☑ .{20,900}? B\. Stone\s+2026-03-03\s+permit 12", plain, re.DOTALL)
    told = client.get(f"{job}/readings", params={"visit": "v1"}).json()["readings"]
    where = f"{job}/readings/{told[0]['reading']}"
    change = {"raw": "44", "why": "misread", "who": WHO}
    assert client.patch(where, json=change).status_code == 200
    second = client.post(f"{job}/report", json={**body, "language": "de"})
    names = [one["name"] for one in client.get(f"{job}/documents").json()["documents"]]
    assert [name.rsplit("-", 1)[1] for name in names] == ["en.html", "de.html"]
    number = re.search(r"report-(v1-[0-9A-F]{8})-en", names[0])
    assert number is not None
    table = " ".join(re.sub(r"<[^>]+>", " ", second.text.rpartition("Ausgaben")[2]).split())
    assert f"{number[1]} " in table
    assert f"{WHO} erste Ausgabe" in table
    assert f"{WHO} dieser Bericht: seit {number[1]}: Messwerte: 1 berichtigt" in table


@pytest.mark.parametrize("format", ["png", "svg"])
def test_the_figure_is_drawn(read_client: TestClient, read_job: str, format: str) -> None:
    """For somebody else's report."""
    answer = read_client.get(f"{read_job}/figure", params={"format": format, "dpi": 60})
    assert answer.status_code == 200
    assert len(answer.content) > 5000


def test_the_data_come_in_open_formats(read_client: TestClient, read_job: str) -> None:
    """GeoPackage, GeoJSON, NetCDF and JSON in one ZIP."""
    content = read_client.get(f"{read_job}/data").content
    names = zipfile.ZipFile(io.BytesIO(content)).namelist()
    assert {"floor.gpkg", "bands.geojson", "surface.nc", "summary.json"} <= set(names)


def test_a_photograph_is_kept_and_shown_harmlessly(client: TestClient, job: str) -> None:
    """Its own answer runs nothing, whatever its name says."""
    files = {"file": ("../<script>.jpg", picture(), "text/html")}
    kept = client.post(f"{job}/photos", data={"who": WHO, "note": "hole 1"}, files=files)
    assert kept.status_code == 201, kept.text
    answer = client.get(f"{job}/photos/{kept.json()['photo']}")
    assert answer.headers["content-type"] == "image/jpeg"
    assert "sandbox" in answer.headers["content-security-policy"]


def test_a_photograph_sent_again_after_a_restart_is_kept_once(tmp_path: Path) -> None:
    """The answer got lost and the server died: the key of the request is in the record."""
    given: list[int] = []
    base = ""
    for _ in range(2):
        app = create_app(Settings(folder=tmp_path, own_process=False))
        with TestClient(app, base_url="http://127.0.0.1:8650") as client:
            base = base or make_job(client, with_readings=False)
            files = {"file": ("hole.jpg", picture())}
            send = {"data": {"who": WHO}, "files": files, "headers": {"Idempotency-Key": "one"}}
            given.append(client.post(f"{base}/photos", **send).json()["photo"])
            assert len(client.get(f"{base}/photos").json()["photos"]) == 1
    assert given[0] == given[1]


def test_what_is_no_picture_is_refused(client: TestClient, job: str) -> None:
    """An SVG called a JPEG is looked into, not believed."""
    files = {"file": ("photo.jpg", b"<svg xmlns='http://www.w3.org/2000/svg'/>")}
    assert client.post(f"{job}/photos", data={"who": WHO}, files=files).status_code == 422


@pytest.mark.thorough
def test_a_job_in_feet_and_inches_is_reported_in_them(client: TestClient) -> None:
    """The units are the job's: stored when it is made, told to the page, and in report and map."""
    made = client.post("/api/projects", json={"name": "Quay", "who": WHO, "units": "us"}).json()
    assert made["units"] == "us"
    base = f"/api/projects/{made['id']}"
    revision = client.get(f"{base}/plan").json()["revision"]
    client.put(f"{base}/plan", json={"plan": PLAN, "revision": revision, "who": WHO})
    client.post(f"{base}/visits", json={"id": "v1", "started": "2026-03-02T08:00:00Z", "who": WHO})
    client.post(f"{base}/instruments", json={"id": "meter 1", "scale": [0, 100], "who": WHO})
    body = {"visit": "v1", "instrument": "meter 1", "readings": readings(), "who": WHO}
    assert client.post(f"{base}/readings", json=body).status_code == 201
    wanted = {"format": "html", "who": WHO, "issue": True}
    told = client.post(f"{base}/report", json=wanted).text
    assert re.search(r"\d\sft\b", told)
    assert not re.search(r"x \d+\.\d+\sm\b", told)
    metric = client.post(f"{base}/report", json={**wanted, "units": "metric"}).text
    # the one length of a document that stands in brackets behind ours
    others = re.sub(r"0\.91\sm\s\(3\sft\)", "", re.sub("<[^>]+>", "", metric))
    assert not re.search(r"\d\sft\b", others)
    figure = client.get(f"{base}/figure", params={"format": "svg"}).text
    other = client.get(f"{base}/figure", params={"format": "svg", "units": "metric"}).text
    assert figure != other


@pytest.mark.thorough
def test_of_two_gains_of_a_dish_the_higher_counts_and_it_is_said(client: TestClient) -> None:
    """5.5 g typed beside masses that give 1 g: 8.3 lb by the formula of ASTM F1869, not 1.5."""
    job = make_job(client, with_readings=False)
    fields = {
        "method": "mver",
        "hole": "M1",
        "x": 3,
        "y": 2,
        "mass_start_g": 230,
        "mass_end_g": 231,
        "mass_gain_g": 5.5,
        "dome_area_cm2": 450,
        "placed": "2026-03-03T08:00:00Z",
        "read": "2026-03-06T08:00:00Z",
    }
    body = {"visit": "v1", "fields": fields, "who": WHO}
    told = client.post(f"{job}/tests/examine", json=body)
    assert told.status_code == 200, told.text
    assert "5.5 g in 72.0 h" in told.text
    assert "the masses give 1 g: the higher counts" in told.json()["how"]


def test_of_pressure_and_water_of_a_bottle_the_higher_counts(client: TestClient) -> None:
    """1.5 bar beside 0.3 g of water in 50 g: 3.0 CM-% by the gauge, not 0.6."""
    job = make_job(client, with_readings=False)
    fields = {
        "method": "carbide",
        "hole": "C1",
        "x": 3,
        "y": 2,
        "sample_mass_g": 50,
        "water_mass_g": 0.3,
        "pressure_bar": 1.5,
        "read": "2026-03-06T08:00:00Z",
    }
    body = {"visit": "v1", "fields": fields, "who": WHO}
    told = client.post(f"{job}/tests/examine", json=body).json()
    assert told["result"] == pytest.approx(3.0)
    assert "0.3 g of water is stated and 1.5 bar means some 1.5 g" in told["how"]


def test_photographs_of_a_renamed_test_are_called_by_its_name(
    client: TestClient, tested: str
) -> None:
    """The page gets the name of now beside the note of then."""
    test = client.get(f"{tested}/tests").json()["tests"][0]
    files = {"file": ("a.jpg", picture())}
    of = {"who": WHO, "note": "Test H1", "of_layer": "tests", "of_row": str(test["id"])}
    assert client.post(f"{tested}/photos", data=of, files=files).status_code == 201
    body = {"visit": "v1", "fields": {**FIELDS, "hole": "H9"}, "who": WHO}
    client.put(f"{tested}/tests/{test['id']}", params={"why": "misread"}, json=body)
    photo = client.get(f"{tested}/photos").json()["photos"][0]
    assert (photo["hole"], photo["note"]) == ("H9", "Test H1")


@pytest.mark.thorough
def test_a_floor_that_was_never_scanned_is_reported(client: TestClient, tested: str) -> None:
    """By its tests alone, which say that nothing is known between them."""
    survey = client.get(f"{tested}/verdict").json()
    assert survey["scan"]
    answer = client.post(f"{tested}/report", json={"format": "html", "who": WHO})
    assert answer.status_code == 200, answer.text
    assert "nothing is known between the tested places" in answer.text
