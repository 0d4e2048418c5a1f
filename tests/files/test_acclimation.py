"""The acclimation log: typed entries and logger files, and its way through the project file."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.errors import InputError
from moisturemap.workflow.read import read_survey

SETTINGS = """
[survey]
name = "Invented hall"
[plan]
file = "plan.wkt"
[[rooms]]
name = "room 1"
on = "below-ground"
service_temperature_c = 21
service_rh_pct = 45
[[visits]]
id = "v1"
started = 2026-03-09T10:00:00
service_temperature_c = 20
[[visits.acclimation]]
when = 2026-03-08T10:00:00
air_temperature_c = 20.5
air_rh_pct = 47
[[visits.acclimation]]
file = "logger.csv"
room = "room 1"
[limit]
method = "in-situ-rh"
value = 75
source = "invented sheet"
risk_pct = 2.5
"""
LOG = "time;temperature;rh\n2026-03-07 10:00;20,1;48\n2026-03-09 09:30;20,4;49\n"


def folder(path: Path, settings: str = SETTINGS, log: str = LOG) -> Path:
    """A survey folder with a log."""
    (path / "survey.toml").write_text(settings, encoding="utf-8")
    (path / "plan.wkt").write_text("POLYGON((0 0,8 0,8 6,0 6,0 0))\n", encoding="utf-8")
    (path / "logger.csv").write_text(log, encoding="utf-8")
    return path


def test_typed_and_logged_air_come_together_in_order_of_time(tmp_path: Path) -> None:
    """Both kinds of entries, with the room of the file."""
    survey = read_survey(folder(tmp_path))
    log = survey.visits[0].acclimation
    assert [one.when.day for one in log] == [7, 8, 9]
    assert [one.room for one in log] == ["room 1", "", "room 1"]
    assert log[0].air_temperature_c == 20.1
    assert log[1].when == datetime(2026, 3, 8, 10, tzinfo=UTC)
    slab = survey.plan.rooms[0].slab
    assert (slab.on, slab.service_temperature_c, slab.service_rh_pct) == ("below-ground", 21, 45)
    assert survey.limit is not None
    assert survey.limit.risk_pct == 2.5


def test_the_log_goes_through_the_project_file_and_back(tmp_path: Path) -> None:
    """Packed and unpacked, nothing of log, position and service is lost."""
    (tmp_path / "job").mkdir()
    survey = read_survey(folder(tmp_path / "job"))
    project = store.pack(survey, tmp_path / "job.gpkg", "A. Person")
    del project
    kept = read_survey(tmp_path / "job.gpkg")
    assert kept.visits == survey.visits
    assert kept.plan.rooms[0].slab == survey.plan.rooms[0].slab
    assert kept.limit == survey.limit
    with store.open_project(tmp_path / "job.gpkg") as opened:
        store.unpack(opened, tmp_path / "out")
    again = read_survey(tmp_path / "out")
    assert again.visits[0].acclimation == survey.visits[0].acclimation
    assert again.plan.rooms[0].slab == survey.plan.rooms[0].slab
    assert again.limit == survey.limit


@pytest.mark.parametrize(
    ("settings", "log", "words"),
    [
        (SETTINGS.replace("below-ground", "roof"), LOG, "suspended"),
        (SETTINGS.replace("value = 75", "value = 0"), LOG, "above 0"),
        (SETTINGS.replace("air_rh_pct = 47", "air_rh_pct = 147"), LOG, "0 to 100"),
        (SETTINGS, LOG.replace("20,1;48", "20,1;148"), "air_rh_pct cannot be this"),
        (SETTINGS, LOG.replace("2026-03-07 10:00", ""), "the time is missing"),
    ],
)
def test_wrong_entries_are_refused_by_place(tmp_path, settings, log, words) -> None:
    """Position, limit of nothing, humidity beyond all air, a log without a time."""
    with pytest.raises(InputError, match=words):
        read_survey(folder(tmp_path, settings, log))
