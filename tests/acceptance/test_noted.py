"""What people wrote beside tests and visits."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from invented_tests import AS_OF, READ, decide, floor, good_test, good_tests

from moisturemap.survey.note_words import (
    may_spoil_test,
    names_water_event,
    warns_of_drilling,
)

SPOILT = [
    "drilled with water; saw joint",
    "wet drilled",
    "Loch nass gebohrt",
    "in a crack",
    "am Riss",
    "cap was missing",
    "probe fell out overnight",
    "liner not sealed",
    "condensation on probe",
    "heater blowing on hole",
    "Bautrockner lief",
    "dehumidifier running",
    "reading still rising",
    "not yet stable",
    "noch nicht stabil",
    "guess",
    "copied from H1",
    "value uncertain",
    "probe hit a pipe, water came",
    "pas stable",
    "fissure",
]
KEPT = [
    "corner by the door",
    "in wet zone A",
    "wettest spot",
    "no cracks",
    "0.5 m from joint",
    "sealed with putty",
    "stable after 4 h",
    "equilibrium reached",
    "dehumidifier off since Monday",
    "kein Riss",
    "abgedichtet",
    "ausgeglichen",
    "retest",
    "H3 of the plan",
    "coating removed",
    "keine Fuge",
    "no condensation",
    "open plan office",
    "steel-trowelled",
    "beside the copper sign",
]
SERVICES = [
    "DO NOT CORE",
    "NO FIXINGS",
    "no penetrations",
    "keine Kernbohrungen",
    "ne pas carotter",
    "LTHW",
    "MTHW flow",
    "RWP",
    "SVP",
    "MH",
    "FD",
    "IC 450",
    "F.W.",
    "110 UPVC",
    "DN100",
    "Ø110 below",
    "25 MDPE",
    "S.W. 150 dia",
    "fuel",
    "culvert",
    "rodding eye",
    "sump",
    "slot channel",
    "busbar",
    "63A sub-main",
    "VRF",
    "med O2",
    "spare 50mm",
    "eaux usées",
    "EU",
    "radier précontraint",
    "HV",
    "LPHW flow",
    "elec feed",
    "bonding strap",
    "cold water in chase",
    "PT tendon marked on floor",
    "water pipe here",
    "Leitung",
    "Heizkreis",
    "cable",
    "underfloor heating loop",
    "duct",
    "Stromkabel",
    "Heizungsrohr",
    "tuyau",
    "gas line",
    "do not drill",
    "don't drill here",
    "nicht bohren",
    "ne pas percer",
    "medical gas",
    "PEX",
    "FBH Kreis 3",
    "heat loop",
    "hydronic",
    "radiant tubing",
    "copper line",
    "Erdungsband",
    "Elt",
    "armoured",
    "manifold feed",
    "metal detector beeps",
    "tubo",
    "locator says 230 V",
    "CAT scan positive",
    "UFH loop",
    "junction box",
    "lighting circuit",
    "floor box",
    "soil stack",
    "Bodentank",
]
NONE = [
    "power-floated",
    "steel-trowelled finish",
    "no metal",
    "rough, swept twice",
    "by the door",
    "no pipe",
    "kein Rohr",
    "under the table",
    "stripe",
    "parts",
    "service conditions",
    "locator clear",
    "detector: nothing",
]
EVENTS = [
    "burst pipe on 17 March, floor under water",
    "Dach undicht, Wasser im Raum",
    "dégât des eaux",
    "Rohrbruch",
    "rain came in at the door last night",
    "leak repaired on 9 March",
    "overflow of the sink",
    "screed was wetted by plasterers",
    "hail broke skylight",
    "Kondenswasser auf dem Boden",
    "rained in through the roof on Thursday",
    "ceiling sprinkler went off, floor stood in water",
    "cleaners wet-scrubbed the floor",
]
DRY = [
    "smell of mould",
    "no leak found",
    "second walk",
    "windows open",
    "heavy rain outside",
    "dry",
]


@pytest.mark.parametrize(
    ("told", "yes", "no"),
    [
        (may_spoil_test, SPOILT, KEPT),
        (warns_of_drilling, SERVICES, NONE),
        (names_water_event, EVENTS, DRY),
    ],
)
def test_words_as_people_write_them(told, yes, no):
    """In three languages, and what denies them."""
    assert [note for note in yes if not told(note)] == []
    assert [note for note in no if told(note)] == []


@pytest.mark.parametrize("note", SPOILT[:4])
def test_a_note_that_may_spoil_a_test_keeps_a_floor_from_meeting(note):
    """The one column there is for it holds the fact that matters."""
    first, *others = good_tests()
    decision = decide(floor([{**first, "note": note}, *others]))
    assert decision.verdict == "not proven"
    assert any(note in reason for reason in decision.reasons)


def test_any_other_note_is_told_beside_the_verdict():
    """The reader sees what the tester wrote."""
    first, *others = good_tests()
    decision = decide(floor([{**first, "note": "corner by the door"}, *others]))
    assert decision.verdict == "meets"
    assert any("corner by the door" in one for one in decision.reasons)


def with_note(days: float, note: str, tests=None):
    """The good floor and a visit so many days after the tests, with a note."""
    survey = floor(good_tests() if tests is None else tests)
    later = replace(survey.visits[0], id="v9", started=READ + timedelta(days=days), note=note)
    return replace(survey, visits=(*survey.visits, later))


def test_water_told_of_after_the_tests_leaves_them_behind():
    """A result holds at its time; a flood after it asks for another test."""
    decision = decide(with_note(0.5, "pipe burst, floor under water"))
    assert decision.verdict == "not proven"
    assert "test again" in " ".join(decision.reasons)
    assert decide(with_note(-3.0, "leak repaired")).verdict == "meets"
    again = [
        {**good_test(9 + n, one["x"], one["y"]), "read": READ + timedelta(hours=20)}
        for n, one in enumerate(good_tests())
    ]
    assert decide(with_note(0.5, "pipe burst", [*good_tests(), *again])).verdict == "meets"
    assert READ + timedelta(hours=20) < AS_OF


@pytest.mark.parametrize(
    ("note", "asked"),
    [
        ("sprinkler went off on {after}, floor stood in water", True),
        ("Wasser im Raum am {after:%d}.{after:%m}.", True),
        ("pipe burst on {before}", False),
    ],
)
def test_a_note_may_name_a_day_after_its_visit(note: str, asked: bool):
    """It stands in the visit of the tests, where anybody writes it."""
    after, before = (READ + timedelta(days=2)).date(), (READ - timedelta(days=20)).date()
    survey = floor(good_tests())
    first = replace(
        survey.visits[0],
        started=READ - timedelta(days=4),
        note=note.format(after=after, before=before),
    )
    decision = decide(replace(survey, visits=(first, *survey.visits[1:])))
    assert ("had been read before" in " ".join(decision.reasons)) is asked


def at_visit(note: str, tests=None):
    """The good floor with a note of the visit its tests are of."""
    survey = floor(good_tests() if tests is None else tests)
    return replace(survey, visits=(replace(survey.visits[0], note=note),))


def test_a_note_nobody_knows_to_be_harmless_is_cleared_up_by_hand():
    """No list of words that spoil a test is complete."""
    first, *others = good_tests()
    note = "kicked by plasterers"
    decision = decide(floor([{**first, "note": note}, *others]))
    assert decision.verdict == "not proven"
    assert "(kicked, plasterers)" in " ".join(decision.reasons)
    cleared = f"{note} (cleared: A. B., 2026-03-12)"
    decision = decide(floor([{**first, "note": cleared}, *others]))
    assert decision.verdict == "meets"
    assert any(cleared in one for one in decision.reasons)


def test_the_note_of_the_visit_of_the_tests_is_read_so_too():
    """Drying machines and heating often stand nowhere else."""
    assert decide(at_visit("first visit, client present")).verdict == "meets"
    for note in ("dehumidifier ran all week", "heating ran until this morning", "lids off"):
        assert decide(at_visit(note)).verdict == "not proven"
        assert decide(at_visit(f"{note} (cleared: A. B., 2026-03-12)")).verdict == "meets"


def test_a_visit_meanwhile_tells_of_machines_and_heating():
    """Of other visits only what dries: their other notes are of other work."""
    assert decide(with_note(-1.0, "dehumidifier ran all week")).verdict == "not proven"
    assert decide(with_note(-1.0, "scaffold taken down")).verdict == "meets"
    assert decide(with_note(-20.0, "dehumidifier ran all week")).verdict == "meets"


def test_a_clearance_clears_no_number_above_the_limit():
    """It is entered as a test."""
    first, *others = good_tests()
    note = "second probe 91 % (cleared: A. B., 2026-03-12)"
    assert decide(floor([{**first, "note": note}, *others])).verdict == "not proven"


@pytest.mark.parametrize("taken", [None, "x", "instrument", "read", "drilled", "temperature_c"])
def test_a_note_is_heard_though_the_record_beside_it_lacks_something(taken):
    """Taking a place or a probe from a doubtful test once cleared the floor."""
    extra = {**good_test(5, 2.0, 2.0, value=70.0), "note": "still rising"}
    if taken:
        extra[taken] = None
    decision = decide(floor([*good_tests(value=70.0), extra]))
    assert decision.verdict == "not proven"
    assert any("'still rising'" in one for one in decision.reasons)
    again = good_test(6, 2.0, 2.0, value=70.5)
    shift = timedelta(days=5)
    extra |= {k: v - shift for k, v in extra.items() if hasattr(v, "tzinfo") and v is not None}
    settled = decide(floor([*good_tests(value=70.0), extra, again]))
    assert (settled.verdict == "meets") is (taken not in ("x", "read")), settled.reasons


def test_a_note_of_a_test_that_grew_too_old_is_still_heard():
    """Waiting clears up nothing: the other tests were read again."""
    old = {**good_test(5, 2.0, 2.0, value=70.0), "note": "still rising"}
    old |= {k: v - timedelta(days=90) for k, v in old.items() if hasattr(v, "tzinfo")}
    assert decide(floor([*good_tests(value=70.0), old])).verdict == "not proven"


@pytest.mark.parametrize(
    ("heading", "text", "spoilt"),
    [
        ("valid", "no", True),
        ("outcome", "FAIL", True),
        ("stable", "no", True),
        ("liner", "none", True),
        ("drilled with", "water", True),
        ("drilling", "wet cored", True),
        ("surface water", "yes", True),
        ("seal", "open", True),
        ("heating", "on", True),
        ("gültig", "nein", True),
        ("valid", "yes", False),
        ("leak", "no", False),
        ("bay", "A", False),
        ("sealed", "yes", False),
    ],
)
def test_answers_in_columns_of_ones_own_are_heard(heading: str, text: str, spoilt: bool):
    """The tester says himself that the test is void."""
    first, *others = good_tests()
    decision = decide(floor([{**first, heading: text}, *others]))
    asked = any(f"'{heading}: {text}', which may mean" in one for one in decision.reasons)
    assert (decision.verdict != "meets", asked) == (spoilt, spoilt)


@pytest.mark.parametrize(
    ("note", "meets"),
    [
        ("burst pipe, floor under water", False),
        ("burst pipe 10 March, floor under water", False),
        ("pipe burst on 2026-01-12, dried since", True),
        ("burst pipe (cleared: A. B., 2026-03-11)", True),
        ("ground floor, former bakery", True),
    ],
)
def test_water_that_the_note_of_the_job_tells_of_is_asked_about(note: str, meets: bool):
    decision = decide(floor(good_tests(), details={"note": note}))
    assert (decision.verdict == "meets") is meets
    assert any("the note of the job tells of water" in one for one in decision.reasons) is not meets


@pytest.mark.parametrize(
    "note",
    [
        *("heating broken since 5 March", "slab was ground wet, still damp", "times estimated"),
        *("holes drilled by others, results uncertain", "Trockner liefen bis Freitag"),
    ],
)
def test_a_note_of_the_job_that_may_spoil_its_tests_asks(note: str):
    """It is read as one beside the tests, days before them left out."""
    survey = floor(good_tests())
    asked = decide(replace(survey, details={**survey.details, "note": note}))
    assert asked.verdict == "not proven"
    assert any(note in reason for reason in asked.reasons)


@pytest.mark.parametrize(
    "note",
    [
        *("key at the reception", "membrane on drawing 4", "epoxy coating to follow"),
        *("dehumidifiers taken away on 1 February 2026", "Friday is wanted"),
    ],
)
def test_any_other_note_of_the_job_does_not(note: str):
    """Where the key lies, what is laid later, what ended before the tests."""
    survey = floor(good_tests())
    assert decide(replace(survey, details={**survey.details, "note": note})).verdict == "meets"
