"""Rooms drawn with one name: what a record states goes to the room it means, or is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from moisturemap.errors import SurveyError
from moisturemap.survey import Survey
from moisturemap.workflow.read import read_survey

HEAD = """
[survey]
name = "Two kitchens"
timezone = "UTC"
[plan]
file = "plan.geojson"
[[instruments]]
id = "scanner"
kind = "relative"
scale = [0, 100]
[limit]
method = "in-situ-rh"
value = 80
source = "sheet 12"
"""

STOREYS = """
[[storeys]]
name = "up"
level = 1
origin = [40, 0]
[[storeys]]
name = "ground"
level = 0
"""

VISIT = """
[[visits]]
id = "v1"
started = 2026-03-04T09:00:00
readings = "readings.csv"
tests = "tests.csv"
"""

READINGS = "x,y,value,room\n1,1,30,Kitchen\n2,1,31,Kitchen\n41,1,40,Kitchen\n42,1,41,Kitchen\n"
TESTS = (
    "hole,x,y,room,method,depth_mm,value,unit,read\n"
    "H1,1,2,Kitchen,in-situ-rh,60,66,%RH,2026-03-07 11:30\n"
    "H2,41,2,Kitchen,in-situ-rh,60,77,%RH,2026-03-07 11:30\n"
)

Reader = Callable[..., Survey]


@pytest.fixture
def job(tmp_path: Path) -> Reader:
    """``job(toml, visit)``: two rooms "Kitchen", one at x 0 to 5, one at x 40 to 45."""

    def made(rooms: str, visit: str = VISIT) -> Survey:
        features = [
            {
                "type": "Feature",
                "properties": {"name": "Kitchen"},
                "geometry": {
                    "type": "Polygon",
                    "coordinates": [[[x, 0], [x + 5, 0], [x + 5, 4], [x, 4], [x, 0]]],
                },
            }
            for x in (0, 40)
        ]
        plan = {"type": "FeatureCollection", "features": features}
        (tmp_path / "plan.geojson").write_text(json.dumps(plan))
        (tmp_path / "readings.csv").write_text(READINGS)
        (tmp_path / "tests.csv").write_text(TESTS)
        (tmp_path / "survey.toml").write_text(HEAD + rooms + visit)
        return read_survey(tmp_path)

    return made


def room(name: str, more: str = "") -> str:
    return f'\n[[rooms]]\nname = "{name}"\n{more}\n'


def test_the_storey_tells_which_kitchen_a_limit_is_of(job: Reader) -> None:
    """Slab, storey and limit go upstairs, and it is said; the one below keeps the floor's limit."""
    survey = job(STOREYS + room("Kitchen", 'storey = "up"\nlimit = 70\nthickness_mm = 150'))
    assert {name: one.value for name, one in survey.room_limits.items()} == {"Kitchen 2": 70.0}
    above, below = survey.plan.room("Kitchen 2"), survey.plan.room("Kitchen")
    assert above.storey is not None
    assert (above.slab.thickness_mm, above.storey.name) == (150, "up")
    assert (below.slab.thickness_mm, below.storey) == (None, None)
    assert any("x 40.0 to 45.0 m" in note and "storey up" in note for note in survey.notes)


@pytest.mark.parametrize(
    "rooms",
    [
        room("Kitchen", "limit = 70"),
        room("Kitchen", 'storey = "up"\nlimit = 70'),
        STOREYS.replace("[40, 0]", "[0, 0]") + room("Kitchen", 'storey = "up"\nlimit = 70'),
        STOREYS.replace("[40, 0]", "[20, 9]") + room("Kitchen", 'storey = "up"\nlimit = 70'),
    ],
    ids=["no storey", "no origin", "both origins at one room", "an origin far from both"],
)
def test_what_may_be_of_either_room_is_refused(job: Reader, rooms: str) -> None:
    """Naming the row, both places and the names to write."""
    with pytest.raises(SurveyError, match=r"survey.toml, \[\[rooms\]\] 1 name") as refused:
        job(rooms)
    said = str(refused.value)
    assert "'Kitchen', x 0.0 to 5.0 m" in said
    assert "'Kitchen 2', x 40.0 to 45.0 m" in said


def test_each_by_its_own_name_is_followed(job: Reader) -> None:
    """As the plan numbers them."""
    survey = job(room("Kitchen", "limit = 85") + room("Kitchen 2", "limit = 70"))
    assert {name: one.value for name, one in survey.room_limits.items()} == {
        "Kitchen": 85.0,
        "Kitchen 2": 70.0,
    }


def test_names_against_the_storeys_they_are_drawn_on_are_refused(job: Reader) -> None:
    """The other way round every limit would change places."""
    ways = room("Kitchen", 'storey = "up"\nlimit = 70') + room("Kitchen 2", 'storey = "ground"')
    with pytest.raises(SurveyError, match="is drawn on storey ground: 'Kitchen', x 0"):
        job(STOREYS + ways)


def test_one_name_twice_says_how_the_second_is_written(job: Reader) -> None:
    with pytest.raises(SurveyError, match="is written 'Kitchen 2'"):
        job(room("Kitchen") + room("Kitchen"))


def test_readings_and_tests_go_by_their_place(job: Reader) -> None:
    """Also where they state the name both rooms bear, and it is told."""
    survey = job("")
    assert survey.readings["room"].tolist() == ["Kitchen"] * 2 + ["Kitchen 2"] * 2
    assert survey.tests["room"].tolist() == ["Kitchen", "Kitchen 2"]
    assert any("2 rows stated for 'Kitchen' lie in 'Kitchen 2'" in note for note in survey.notes)


AIR = '\n[[visits.acclimation]]\nwhen = 2026-03-04T09:00:00\nair_rh_pct = 50\nroom = "Kitchen"\n'


def test_air_of_a_room_that_may_be_either_is_refused(job: Reader) -> None:
    """It would vouch for the tests of the first drawn; rooms stated by name are told apart."""
    with pytest.raises(SurveyError, match="visit v1, acclimation of 2026-03-04 09:00"):
        job("", VISIT + AIR)
    named = job(room("Kitchen") + room("Kitchen 2"), VISIT + AIR)
    assert named.visits[0].acclimation[0].room == "Kitchen"


def test_a_logger_is_in_the_room_of_its_place(job: Reader, tmp_path: Path) -> None:
    """Without a place it is refused."""
    (tmp_path / "log.csv").write_text(
        "time,rh\n2026-03-04 09:00,50\n2026-03-04 10:00,51\n2026-03-04 11:00,50\n"
    )
    logger = '\n[[loggers]]\nid = "L1"\nfile = "log.csv"\nplace = "air"\nroom = "Kitchen"\n'
    with pytest.raises(SurveyError, match=r"\[\[loggers\]\] L1"):
        job("", VISIT + logger)
    assert job("", VISIT + logger + "x = 42\ny = 1\n").loggers[0].room == "Kitchen 2"
