"""Loggers and machine logs from files: shown first, asked for their place, kept with history."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from .conftest import WHO, make_job

if TYPE_CHECKING:
    from starlette.testclient import TestClient

HOLE = "\n".join(
    [
        "Serial;4711",
        "Date;Time;RH %;Temp °C",
        *(
            f"0{2 + k // 24}.03.2026;{k % 24:02d}:00;{80 - k // 10},{9 - k % 10};{19 + k % 5}"
            for k in range(0, 72, 2)
        ),
    ]
)
MACHINES = "date,machine,litres,hours,kWh\n2026-03-03,M1,12.5,24,9\n2026-03-04,M1,10.5,24,8.5\n"


def _file(text: str, name: str = "holes.csv") -> dict[str, Any]:
    return {"file": (name, text.encode(), "text/csv")}


def test_a_logger_is_shown_then_kept_at_its_place_and_can_be_undone(client: TestClient) -> None:
    """Columns, channel and sample first; a hole needs its place and depth; history stays."""
    job = make_job(client)
    shown = client.post(
        f"{job}/logs/logger/preview", files=_file(HOLE), data={"zone": "Europe/Paris"}
    )
    assert shown.status_code == 200, shown.text
    found = shown.json()
    assert found["columns"] == {
        "time": ["Date", "Time"],
        "rh_pct": ["RH %"],
        "temperature_c": ["Temp °C"],
    }
    assert found["sample"][0] == ["Date", "Time", "RH %", "Temp °C"]
    assert found["series"]["recorded"] == 36
    assert found["series"]["began"].startswith("2026-03-01T23:00"), "midnight in Paris is 23:00 UTC"

    place = {"id": "H1", "place": "hole", "zone": "Europe/Paris", "who": WHO}
    refused = client.post(f"{job}/logs/logger", files=_file(HOLE), data=place)
    assert refused.status_code == 422
    assert "depth of its sensor" in refused.text
    place |= {"x": "12", "y": "2.0", "depth_mm": "32", "room": "shop"}
    refused = client.post(f"{job}/logs/logger", files=_file(HOLE), data=place)
    assert refused.status_code == 422
    assert "off the plan" in refused.text
    assert "x from 0 to 6 m" in refused.text
    place["x"] = "3.0"
    kept = client.post(f"{job}/logs/logger", files=_file(HOLE), data=place)
    assert kept.status_code == 201, kept.text
    (logger,) = kept.json()["loggers"]
    assert (logger["id"], logger["depth_mm"], logger["rh_pct"][0]) == ("H1", 32, 80.9)

    again = client.post(f"{job}/logs/logger", files=_file(HOLE), data=place)
    assert again.status_code == 422
    assert "kept already" in again.text
    replaced = client.post(
        f"{job}/logs/logger", files=_file(HOLE), data={**place, "instead": "true"}
    )
    assert len(replaced.json()["loggers"]) == 1

    dried = client.get(f"{job}/drying").json()
    assert "H1" in str(dried["statements"])
    client.post(
        f"{job}/logs/remove", json={"kind": "logger", "id": "H1", "why": "wrong", "who": WHO}
    )
    assert client.get(f"{job}/logs").json()["loggers"] == []
    client.post(f"{job}/undo", json={"who": WHO})
    assert [one["id"] for one in client.get(f"{job}/logs").json()["loggers"]] == ["H1"]


def test_the_log_of_a_machine_is_summed_and_kept(client: TestClient) -> None:
    """12.5 + 10.5 l are 23 l in 48 h."""
    job = make_job(client, with_readings=False)
    files = _file(MACHINES, "machines.csv")
    shown = client.post(f"{job}/logs/machines/preview", files=files).json()
    (log,) = shown["machines"]
    assert (log["machine"], log["litres"], log["run_hours"], log["energy_kwh"]) == (
        "M1",
        pytest.approx(23.0),
        pytest.approx(48.0),
        pytest.approx(17.5),
    )
    kept = client.post(f"{job}/logs/machines", files=files, data={"who": WHO})
    assert kept.status_code == 201, kept.text
    assert kept.json()["machine_logs"] == [log]
    assert client.post(f"{job}/logs/machines", files=files, data={"who": WHO}).status_code == 422
    bad = client.post(f"{job}/logs/machines/preview", files=files, data={"room": "cellar"})
    assert bad.status_code == 422
    assert "shop" in bad.text


@pytest.mark.parametrize(
    ("text", "data", "words"),
    [
        ("a,b\n1,2\n", {}, "holes.csv"),
        (HOLE, {"zone": "Mars/Crater"}, "time zone"),
    ],
)
def test_a_file_that_is_none_is_refused_in_words(
    client: TestClient, job: str, text: str, data: dict[str, str], words: str
) -> None:
    """File and value are named."""
    refused = client.post(f"{job}/logs/logger/preview", files=_file(text), data=data)
    assert refused.status_code == 422
    assert words in refused.text
