"""A survey folder read whole."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from moisturemap.errors import SurveyError
from moisturemap.survey import Limit, Survey, clean_readings
from moisturemap.workflow.read import read_survey

Writer = Callable[..., Path]
DEMOS = sorted(Path(__file__).parents[2].glob("demo_plans/*/survey.toml"))


def swap(*pairs: tuple[str, str]) -> Callable[[str], str]:
    def change(text: str) -> str:
        for old, new in pairs:
            assert old in text
            text = text.replace(old, new)
        return text

    return change


def test_everything_the_folder_states_is_in_the_survey(write_survey: Writer) -> None:
    """Slab, meters, checks, visit, readings, tests, machines, limit and fingerprints."""
    survey = read_survey(write_survey())
    assert survey.name == "Two rooms"
    assert survey.plan.room("hall").slab.thickness_mm == 150
    assert survey.instruments["scanner"].scale == (0.0, 100.0)
    assert survey.instruments["probe 1"].checks[0].reference == "NaCl"
    assert survey.visits[0].started == datetime(2026, 3, 4, 8, 50, tzinfo=UTC)
    assert survey.readings["value"].tolist() == [40, 42, 45, 47]
    assert survey.readings["reading"].tolist() == [1, 2, 3, 4]
    assert survey.tests["method"].tolist() == ["in-situ-rh"]
    assert survey.equipment["kind"].tolist() == ["dehumidifier", "air-mover"]
    assert survey.limit == Limit("in-situ-rh", 80.0, "%RH", "Adhesive maker's sheet 12, revision 3")
    assert [one.name for one in survey.provenance.inputs] == [
        "survey.toml",
        "plan.geojson",
        "readings.csv",
        "tests.csv",
        "equipment.csv",
    ]
    assert survey.notes == ()


@pytest.mark.parametrize("name", ["", "survey.toml"])
def test_the_folder_and_the_file_are_the_same_survey(write_survey: Writer, name: str) -> None:
    """Either path leads to it."""
    assert len(read_survey(write_survey() / name).readings) == 4


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.parent.name)
def test_the_floors_that_come_along_are_read_and_cleaned(path: Path) -> None:
    """Most readings of each are clear."""
    survey = read_survey(path)
    clean = clean_readings(survey)
    assert len(clean.readings) == len(survey.readings_of())
    assert (clean.readings["flag"] == "clear").mean() > 0.9


def test_times_without_a_zone_follow_the_survey_in_summer_too(write_survey: Writer) -> None:
    """Lisbon is an hour ahead of UTC in July."""
    survey = read_survey(
        write_survey(
            toml=swap(("2026-03-04T08:50:00", "2026-07-04T08:50:00")),
            readings="x,y,value,time\n1,1,40,2026-07-04 09:00\n1,2,40,09:10\n",
        )
    )
    times = [time.isoformat() for time in survey.readings["time"]]
    assert times == ["2026-07-04T08:00:00+00:00", "2026-07-04T08:10:00+00:00"]


def test_without_a_zone_utc_is_taken_and_said(write_survey: Writer) -> None:
    """Nobody has to guess what was assumed."""
    survey = read_survey(write_survey(toml=swap(('timezone = "Europe/Lisbon"', ""))))
    assert survey.visits[0].started == datetime(2026, 3, 4, 8, 50, tzinfo=UTC)
    assert any("UTC" in note for note in survey.notes)


def test_an_offset_serves_as_a_zone(write_survey: Writer) -> None:
    """+05:30 has no name to look up."""
    survey = read_survey(write_survey(toml=swap(("Europe/Lisbon", "+05:30"))))
    assert survey.visits[0].started == datetime(2026, 3, 4, 3, 20, tzinfo=UTC)


def test_full_scale_in_words_stands_at_the_end_of_the_scale(write_survey: Writer) -> None:
    """OL on a scale to 100."""
    survey = read_survey(write_survey(readings="x,y,value\n1,1,OL\n2,1,<5\n2,2,wet\n"))
    assert survey.readings["value"].tolist()[:2] == [100.0, 5.0]
    assert survey.readings["censored"].tolist() == ["above", "below", ""]
    assert survey.readings["value"].isna().tolist() == [False, False, True]


def test_millimetres_hold_for_plan_and_readings_alike(write_survey: Writer) -> None:
    """One unit for the whole survey unless a file says otherwise."""
    import json

    ring = [[0, 0], [4000, 0], [4000, 3000], [0, 3000], [0, 0]]
    plan = {"type": "Polygon", "coordinates": [ring]}
    feature = {"type": "Feature", "properties": {"name": "hall"}, "geometry": plan}
    survey = read_survey(
        write_survey(
            toml=swap(
                ('coordinates = "m"', 'coordinates = "mm"'),
                ('tests = [{ file = "tests.csv" }]', ""),
                ('equipment = [{ file = "equipment.csv" }]', ""),
            ),
            plan=json.dumps({"type": "FeatureCollection", "features": [feature]}),
            readings="x,y,value\n1500,500,40\n",
        )
    )
    assert survey.plan.outline.area == pytest.approx(12.0)
    assert survey.readings["x"].tolist() == [1.5]


def test_files_may_be_named_shortly(write_survey: Writer) -> None:
    """A bare name, when only one meter scans."""
    survey = read_survey(
        write_survey(
            toml=swap(
                (
                    'readings = [{ file = "readings.csv", instrument = "scanner" }]',
                    'readings = "readings.csv"',
                ),
                ('tests = [{ file = "tests.csv" }]', 'tests = "tests.csv"'),
            )
        )
    )
    assert set(survey.readings["instrument"]) == {"scanner"}


def test_a_survey_without_instruments_has_one_relative_meter(write_survey: Writer) -> None:
    """The least a person can write, and it is said."""
    toml = """
    [survey]
    name = "least"
    [plan]
    file = "plan.geojson"
    [[visits]]
    id = "only"
    readings = "readings.csv"
    """
    survey = read_survey(write_survey(toml=toml, readings="x,y,value\n1,1,40\n"))
    assert survey.instruments["meter"].kind == "relative"
    assert any("names no instrument" in note for note in survey.notes)


def test_visits_are_put_in_order_of_time(write_survey: Writer) -> None:
    """The later one is the latest, wherever it stands in the file."""
    earlier = '[[visits]]\nid = "v0"\nstarted = 2026-02-01T08:00:00\nreadings = "readings.csv"\n'
    survey = read_survey(write_survey(toml=swap(("[scan]", f"{earlier}[scan]"))))
    assert [visit.id for visit in survey.visits] == ["v0", "v1"]
    assert survey.visit().id == "v1"
    assert any("not written in order" in note for note in survey.notes)
    assert any("copy of the other" in note for note in survey.notes)


def test_a_room_limit_takes_method_and_source_of_the_floor(write_survey: Writer) -> None:
    """A number alone overrides the value."""
    toml = swap(("drying_faces = 1", "drying_faces = 1\nlimit = 75"))
    survey = read_survey(write_survey(toml=toml))
    assert survey.room_limits["hall"] == Limit(
        "in-situ-rh", 75.0, "%RH", "Adhesive maker's sheet 12, revision 3"
    )


def test_details_of_the_job_are_kept(write_survey: Writer) -> None:
    """What a report puts on its first page."""
    name = 'name = "Two rooms"'
    toml = swap((name, f'{name}\nclient = "A. Client"\ncovering = "vinyl sheet"'))
    survey = read_survey(write_survey(toml=toml))
    assert survey.details == {"client": "A. Client", "covering": "vinyl sheet"}


def test_a_placed_date_is_a_day(write_survey: Writer) -> None:
    """TOML knows dates."""
    survey = read_survey(write_survey(toml=swap(("drying_faces = 1", "placed = 2025-09-15"))))
    assert survey.plan.room("hall").slab.placed == date(2025, 9, 15)


def test_a_byte_order_mark_and_windows_line_ends_do_not_matter(write_survey: Writer) -> None:
    """As some editors save it."""
    folder = write_survey()
    text = (folder / "survey.toml").read_text()
    (folder / "survey.toml").write_bytes(("\ufeff" + text.replace("\n", "\r\n")).encode())
    assert isinstance(read_survey(folder), Survey)


def test_the_history_of_a_covering_and_the_surface_by_place_are_read(write_survey: Writer) -> None:
    """Days, what is known below, and places of surface temperatures in metres."""
    told = (
        "thickness_mm = 150\ncovered = 2025-02-01\nlifted = 2026-03-01\nfirst_fault = 2025-09-10\n"
        'membrane = "drawing-only"\nbuild_up = "slab"'
    )
    surface = 'id = "v1"\nsurface_temperatures = [[0.5, 1.5, 12.5], [1, 1, 18]]'
    survey = read_survey(
        write_survey(toml=swap(("thickness_mm = 150", told), ('id = "v1"', surface)))
    )
    slab = survey.plan.room("hall").slab
    assert (slab.covered, slab.lifted) == (date(2025, 2, 1), date(2026, 3, 1))
    assert (slab.first_fault, slab.membrane) == (date(2025, 9, 10), "drawing-only")
    assert slab.build_up == "slab"
    assert survey.visits[0].surface_temperatures == ((0.5, 1.5, 12.5), (1.0, 1.0, 18.0))


@pytest.mark.parametrize(
    ("wrong", "named"),
    [('membrane = "intact"', "seen-intact"), ('build_up = "screed"', "floating")],
)
def test_what_is_below_is_told_in_the_words_allowed(
    write_survey: Writer, wrong: str, named: str
) -> None:
    """Another word is refused with the list."""
    with pytest.raises(SurveyError, match=named):
        read_survey(write_survey(toml=swap(("thickness_mm = 150", f"thickness_mm = 150\n{wrong}"))))
