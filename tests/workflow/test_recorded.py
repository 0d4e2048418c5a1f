"""What `check` says of records while something can still be done about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from shapely.geometry import box

import moisturemap as mm
from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.workflow.judge import judge
from moisturemap.workflow.recorded import remarks_on_records

TESTS = """hole,x,y,room,method,depth_mm,value,drilled,read,instrument
A,1,1,{room},in-situ-rh,40,70,2026-03-04 09:00,{read},probe
"""
MORE = """
[[instruments]]
id = "probe"
kind = "rh-probe"
serial = "P1"
calibrated = 2026-01-10
"""


@pytest.fixture
def job(tmp_path: Path, store_room: Callable[..., Path]) -> Callable[..., mm.Survey]:
    """``job(room, read)``: a store room with one test."""

    def made(room: str = "store room", read: str = "2026-03-08 09:00") -> mm.Survey:
        folder = store_room(tmp_path, lambda i, j: 30 + i + (2 * i * j) % 5, MORE)
        (folder / "tests.csv").write_text(TESTS.format(room=room, read=read))
        toml = folder / "survey.toml"
        listed = 'tests = [{ file = "tests.csv" }]\nreadings = ['
        toml.write_text(toml.read_text().replace("readings = [", listed))
        return mm.read_survey(folder)

    return made


def said(survey: mm.Survey, now: datetime | None = None) -> str:
    """All remarks as one text."""
    return "\n".join(one.sentence for one in remarks_on_records(survey, now))


def test_a_test_read_too_early_is_named_with_the_reason(job: Callable[..., mm.Survey]) -> None:
    """72 h after drilling by ASTM F2170; told on site, not only in the verdict."""
    assert "time from drilling" not in said(job())
    assert "Test A will not count: time from drilling" in said(job(read="2026-03-04 15:00"))


def test_a_room_that_is_not_on_the_plan_is_named(job: Callable[..., mm.Survey]) -> None:
    """With the one that was meant."""
    assert "no such room" not in said(job())
    assert "did you mean 'store room'?" in said(job(room="storeroom"))


def test_a_visit_ahead_of_the_clock_is_named(job: Callable[..., mm.Survey]) -> None:
    """The clock is that of the computer."""
    assert "ahead of the clock" not in said(job(), datetime(2026, 3, 5, tzinfo=UTC))
    assert "dated 2026-03-04, ahead" in said(job(), datetime(2026, 2, 1, tzinfo=UTC))


@pytest.mark.thorough
def test_a_visit_without_a_scan_leaves_the_last_one_standing(
    job: Callable[..., mm.Survey], tmp_path: Path
) -> None:
    """Probes are read again after weeks, and the floor is not walked each time."""
    job()
    later = '[[visits]]\nid = "second"\nstarted = 2026-03-20T09:00:00Z\n'
    later += 'tests = [{ file = "again.csv" }]\n'
    (tmp_path / "again.csv").write_text(TESTS.format(room="store room", read="2026-03-20 09:00"))
    with (tmp_path / "survey.toml").open("a") as toml:
        toml.write(later)
    survey = mm.read_survey(tmp_path)
    assert [one.id for one in survey.visits] == ["first", "second"]
    assert survey.visit().id == "second"
    assert mm.study(survey).visit.id == "first"
    beside = judge(survey).study
    assert beside is not None
    assert beside.visit.id == "first"


def test_a_value_that_looks_like_another_unit_is_asked_about(
    tmp_path: Path, store_room: Callable[..., Path]
) -> None:
    """64 F written where degrees Celsius are meant: file, row, field and value are named."""
    folder = store_room(tmp_path, lambda i, j: 30 + i + (2 * i * j) % 5, MORE)
    table = TESTS.format(room="store room", read="2026-03-08 09:00").splitlines()
    table = [f"{table[0]},slab_temperature_c,air_rh_pct", f"{table[1]},64,0.45"]
    (folder / "tests.csv").write_text("\n".join(table))
    toml = folder / "survey.toml"
    listed = 'slab_temperature_c = 66\nair_temperature_c = 2\ntests = [{ file = "tests.csv" }]\n'
    toml.write_text(toml.read_text().replace("readings = [", f"{listed}readings = ["))
    told = said(mm.read_survey(folder))
    assert "Test A (tests.csv row 2): slab_temperature_c is 64 C" in told
    assert "64 F = 17.78 C" in told
    assert "air_rh_pct is 0.45 %RH" in told
    assert "0.45 as a share of 1 = 45 %RH" in told
    assert "slab_temperature_c is 66 C" in told
    assert "air_temperature_c is 2" not in told  # a cold floor is no slip


def test_a_base_nobody_named_is_asked_for_from_the_first_visit_on(
    job: Callable[..., mm.Survey],
) -> None:
    """Before any test: of eight rooms six are named and the rest counted."""
    rooms = [Room(f"R{n}", box(4 * n, 0, 4 * n + 3, 3), Slab("screed")) for n in range(8)]
    rooms.append(Room("hall", box(40, 0, 43, 3), Slab("concrete slab")))
    survey = replace(job(), plan=FloorPlan(tuple(rooms)))
    told = [one for one in remarks_on_records(survey) if "Name the base" in one.sentence]
    assert [one.level for one in told] == ["info"]
    assert told[0].sentence.startswith("Name the base of R0, R1, R2, R3, R4, R5, 2 more (concrete")
