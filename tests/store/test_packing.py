"""A survey into a project file and back."""

import dataclasses
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pandas as pd
import pytest

from moisturemap import store
from moisturemap.errors import StoreError
from moisturemap.survey import LoggerSeries, MachineEntry, MachineLog, Survey
from moisturemap.workflow.read import read_survey

from .job import assert_same_survey, make_readings


def test_a_packed_survey_comes_back_as_it_was(survey: Survey, packed: Path) -> None:
    """Rooms, lines, instruments, visits, tables with their types, settings."""
    assert_same_survey(store.read_project(packed), survey)


def test_the_survey_carries_the_head_of_the_record(packed: Path) -> None:
    """So that documents can print it."""
    with store.open_project(packed) as project:
        head, survey = project.head(), project.survey()
    assert survey.provenance.options["record_number"] == head.number
    assert survey.provenance.options["record_hash"] == head.hash


def test_the_history_of_a_room_comes_back(survey: Survey, tmp_path: Path) -> None:
    """Days of the covering, what is known below, and the surface by place."""
    first, *others = survey.plan.rooms
    slab = dataclasses.replace(
        first.slab, covered=date(2025, 2, 1), membrane="drawing-only", build_up="floating"
    )
    plan = dataclasses.replace(survey.plan, rooms=(dataclasses.replace(first, slab=slab), *others))
    visit = dataclasses.replace(survey.visits[-1], surface_temperatures=((0.5, 1.0, 12.5),))
    known = dataclasses.replace(survey, plan=plan, visits=(*survey.visits[:-1], visit))
    path = tmp_path / "job.gpkg"
    store.pack(known, path, "A. Tester")
    again = store.read_project(path)
    assert again.plan.rooms[0].slab == slab
    assert again.visits[-1] == visit


def test_packing_never_overwrites(survey: Survey, packed: Path) -> None:
    """A second pack to the same path is refused and leaves the first alone."""
    before = packed.read_bytes()
    with pytest.raises(StoreError, match="already exists"):
        store.pack(survey, packed, "B. Tester")
    assert packed.read_bytes() == before


def test_a_pack_that_fails_leaves_no_file(survey: Survey, tmp_path: Path) -> None:
    """A value that cannot be kept stops it before anything stands."""
    odd = survey.readings.astype({"note": object})
    odd.loc[0, "note"] = object()
    with pytest.raises(StoreError, match="cannot be kept"):
        store.pack(dataclasses.replace(survey, readings=odd), tmp_path / "job.gpkg", "A. Tester")
    assert list(tmp_path.iterdir()) == []


def test_tables_with_mixed_columns_come_back(survey: Survey, tmp_path: Path) -> None:
    """Columns of objects, of missing values and of several types."""
    readings = make_readings(4).assign(
        row=[2, "C7", 4, None],
        time=pd.to_datetime(["2026-03-01T09:00:00+02:00"] * 4),
        ok=[True, False, None, True],
        depth=pd.array([1, None, 3, 4], dtype="Int64"),
    )
    path = tmp_path / "job.gpkg"
    store.pack(dataclasses.replace(survey, readings=readings), path, "A. Tester")
    pd.testing.assert_frame_equal(store.read_project(path).readings, readings)


def test_unpacking_writes_a_folder_that_reads_as_the_same_survey(
    packed: Path, survey: Survey, tmp_path: Path
) -> None:
    """All but the names of the files and rows the values stand in."""
    from moisturemap.workflow.read import read_survey

    with store.open_project(packed) as project:
        toml = store.unpack(project, tmp_path / "folder")
    back = read_survey(toml)
    for table in ("readings", "tests"):
        given, found = getattr(survey, table), getattr(back, table)
        same = [name for name in given.columns if name not in ("source", "row")]
        pd.testing.assert_frame_equal(found[same], given[same], check_dtype=False)
    for name in (
        "name",
        "instruments",
        "visits",
        "scan",
        "limit",
        "room_limits",
        "details",
        "units",
    ):
        assert getattr(back, name) == getattr(survey, name), name
    assert back.plan.rooms == survey.plan.rooms
    assert set(back.plan.lines) == set(survey.plan.lines)


def test_times_come_out_in_the_zone_of_their_visit(survey: Survey, tmp_path: Path) -> None:
    """As they were written on site; they came out in UTC."""
    zone = timezone(timedelta(hours=-3))
    visits = [dataclasses.replace(v, started=v.started.astimezone(zone)) for v in survey.visits]
    at = datetime(2026, 3, 4, 9, 10, tzinfo=zone)
    readings = survey.readings.assign(time=pd.Timestamp(at).tz_convert("UTC"))
    job = dataclasses.replace(survey, visits=tuple(visits), readings=readings)
    store.pack(job, tmp_path / "job.gpkg", "A. Tester")
    with store.open_project(tmp_path / "job.gpkg") as project:
        toml = store.unpack(project, tmp_path / "out")
    written = (toml.parent / "readings-1-1.csv").read_text(encoding="utf-8")
    assert "2026-03-04T09:10:00-03:00" in written
    assert (read_survey(toml).readings["time"] == pd.Timestamp(at)).all()


def test_the_zone_of_the_job_comes_out_again(survey: Survey, tmp_path: Path) -> None:
    """Files that come later are read in it; it became UTC."""
    job = dataclasses.replace(survey, timezone="Europe/Lisbon")
    store.pack(job, tmp_path / "job.gpkg", "A. Tester")
    with store.open_project(tmp_path / "job.gpkg") as project:
        assert project.survey().timezone == "Europe/Lisbon"
        toml = store.unpack(project, tmp_path / "out")
    back = read_survey(toml)
    assert back.timezone == "Europe/Lisbon"
    assert back.visits[0].started == job.visits[0].started
    pd.testing.assert_series_equal(back.readings["time"], job.readings["time"])


def test_unpacking_needs_an_empty_folder(packed: Path, tmp_path: Path) -> None:
    """Nothing of the user's is overwritten."""
    with store.open_project(packed) as project, pytest.raises(StoreError, match="not empty"):
        store.unpack(project, tmp_path)


def test_files_of_the_folder_are_kept_as_received(survey: Survey, tmp_path: Path) -> None:
    """Byte for byte, and given back."""
    from moisturemap.provenance import Provenance, fingerprint

    (tmp_path / "in").mkdir()
    source = tmp_path / "in" / "readings.csv"
    source.write_bytes(b"x;y;value\r\n1,5;2;30\r\n")
    provenance = Provenance(inputs=(fingerprint(source),))
    received = dataclasses.replace(survey, folder=source.parent, provenance=provenance)
    store.pack(received, tmp_path / "job.gpkg", "A. Tester")
    with store.open_project(tmp_path / "job.gpkg") as project:
        store.unpack(project, tmp_path / "out")
    kept = tmp_path / "out" / "as-received" / "readings.csv"
    assert kept.read_bytes() == source.read_bytes()


def test_loggers_and_machine_logs_come_back_and_out_again(survey: Survey, tmp_path: Path) -> None:
    """Through the project file, and as files of an unpacked folder that read the same."""
    began = datetime(2026, 3, 1, 12, tzinfo=UTC)
    logger = LoggerSeries(
        id="H1",
        place="hole",
        began=began,
        hours=(0.0, 1.5, 30.0),
        rh_pct=(92.0, float("nan"), 91.0),
        temperature_c=(18.0, 18.25, 18.0),
        x=1.0,
        y=0.5,
        depth_mm=40.0,
        gaps=((1.5, 30.0),),
        recorded=3,
    )
    entry = MachineEntry(when=began, litres=7.5, energy_kwh=12.0)
    log = MachineLog(machine="D1", entries=(entry,))
    known = dataclasses.replace(survey, loggers=(logger,), machine_logs=(log,))
    store.pack(known, tmp_path / "job.gpkg", "A. Tester")
    back = store.read_project(tmp_path / "job.gpkg")
    assert repr(back.loggers) == repr((logger,))  # NaN is not equal to itself
    assert back.machine_logs == (log,)
    with store.open_project(tmp_path / "job.gpkg") as project:
        unpacked = read_survey(store.unpack(project, tmp_path / "out"))
    (again,) = unpacked.loggers
    assert again.hours == (0.0, 1.5, 30.0)
    assert again.temperature_c == logger.temperature_c
    assert (again.x, again.y, again.depth_mm) == (1.0, 0.5, 40.0)
    assert unpacked.machine_logs[0].entries == (entry,)
