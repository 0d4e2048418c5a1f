"""A room that gets another name keeps what is stored under its name."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from shapely.geometry import box

from moisturemap import store
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.store.renamed import renamed_rooms
from moisturemap.survey import AmbientReading, Survey

from .job import make_survey


def _named() -> Survey:
    survey = make_survey()
    when = datetime(2026, 3, 1, 8, tzinfo=UTC)
    log = tuple(AmbientReading(when, 20.0, 50.0, room=room) for room in ("Hall", ""))
    visit = replace(survey.visits[0], acclimation=log)
    return replace(survey, visits=(visit,), tests=survey.tests.assign(room=["Hall", ""]))


def test_its_own_limit_its_readings_tests_and_air_follow(tmp_path: Path) -> None:
    """Else the stricter limit of the room would be gone with its name; one undo takes all back."""
    before = _named()
    path = tmp_path / "job.gpkg"
    store.pack(before, path, "A. Tester")
    with store.open_project(path, writable=True) as project:
        rooms = tuple(
            replace(room, name={"Hall": "Gym", "Store": "Depot"}[room.name])
            for room in before.plan.rooms
        )
        project.replace_plan(replace(before.plan, rooms=rooms), "A. Tester", "renamed")
        after = project.survey()
    assert after.room_limits == {"Gym": before.room_limits["Hall"]}
    assert after.tests["room"].tolist() == ["Gym", ""]
    assert set(after.readings["room"]) == {"Depot"}
    assert [one.room for one in after.visits[0].acclimation] == ["Gym", ""]


@pytest.mark.parametrize(
    ("after", "names"),
    [
        ([Room("Gym", box(0, 0, 6.2, 4))], {"Hall": "Gym"}),  # a wall moved in the same change
        ([Room("Hall", box(0, 0, 3, 4)), Room("Gym", box(3, 0, 6, 4))], {}),  # parted
        ([Room("Gym", box(20, 0, 26, 4))], {}),  # removed, and another drawn elsewhere
        ([Room("Gym", box(0, 0, 2, 4))], {}),
    ],
)
def test_a_room_is_renamed_where_another_name_stands_in_its_place(
    after: list[Room], names: dict[str, str]
) -> None:
    """Over more than half of both."""
    assert renamed_rooms((Room("Hall", box(0, 0, 6, 4)),), FloorPlan(tuple(after)).rooms) == names
