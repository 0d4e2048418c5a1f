"""Notes that are harmless, and notes that wait for somebody to clear them up."""

from __future__ import annotations

import pytest

from moisturemap.survey.harmless_note import left_open, strange_words, without_clearances

HARMLESS = [
    "ok",
    "H3, corner by the door",
    "0.4 m from joint",
    "2.1 m vom Fenster",
    "wettest spot of the scan, near grid B4",
    "no cracks, no leak found",
    "sealed with butyl",
    "neben der Stütze, Ecke Nord",
    "près de la porte",
    "read at 9:15",
    "photo 12",
    "client present",
    "keine Besonderheiten",
    "in wet zone A",
    "Drawing room, by A. Tester",
]
ASKED = [
    "moved 0.5 m because of door",
    "lifted for a look on day 2",
    "UFH was on until Monday",
    "sun through window all afternoon",
    "butyl not sticking, dusty",
    "tape edge lifted on one side, pressed down again",
    "hood kicked by plasterers Tuesday",
    "resealed Thursday",
    "box found upside down, put back",
    "gap under flange",
    "foil perished",
    "dew inside",
    "hood from other job, not reset",
    "sensor out of the box for an hour",
    "sample from top 2 cm only",
    "manometer stuck, tapped",
    "balls forgotten",
    "read after 3 minutes",
    "coarse lumps left",
    "gauge started at 0.1",
    "underside 19",
    "highest 16 not used",
    "average of 3: 9, 9, 14",
    "wet rot nearby",
    "pins not fully in",
    "dehumidifier ran in the shop all week until 8 March",
    "heating ran until this morning; ready-to-cover heating not done",
    "Haube umgestoßen",
    "déplacé de 30 cm",
    "RH91",
]


def test_words_known_to_be_harmless_pass():
    """Places, order, people and what the job itself calls its rooms and people."""
    names = ("Drawing room", "A. Tester")
    told = {note: strange_words(note, names) for note in HARMLESS}
    assert {note: words for note, words in told.items() if words} == {}


def test_whatever_else_is_said_is_asked_about():
    """No list of harms is complete: these were found by people who tried."""
    assert [note for note in ASKED if not strange_words(note)] == []


def test_names_of_the_job_do_not_hide_heat_and_water():
    """A room may be called by what spoils a test."""
    assert strange_words("heating room", ("Heating room",)) == ("heating",)


@pytest.mark.parametrize(
    ("note", "left"),
    [
        ("moved (cleared: A. B., 2026-03-12)", ""),
        ("moved [cleared up by A. B., 12 March 2026]", ""),
        ("verrückt (geklärt: A. B., 12.03.2026)", ""),
        ("moved (cleared: A. B., 2026-03-12); lid off", "; lid off"),
        ("moved (cleared: A. B.)", "moved (cleared: A. B.)"),
        ("moved (cleared: 2026-03-12)", "moved (cleared: 2026-03-12)"),
        ("moved, not cleared: A. B., 2026-03-12", "moved, not cleared: A. B., 2026-03-12"),
        ("moved (not cleared: A. B., 2026-03-12)", "moved (not cleared: A. B., 2026-03-12)"),
    ],
)
def test_a_clearance_names_a_person_and_a_day_and_speaks_for_what_stands_before_it(note, left):
    """Nothing else clears a note."""
    assert left_open(note) == left


def test_a_clearance_is_no_number_of_the_note():
    """Its day might be taken for a result."""
    assert without_clearances("joist 24 % (geklärt: A. B., 12.03.2026), wet") == "joist 24 % , wet"
