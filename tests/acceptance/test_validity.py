"""Every trap of a test record is caught, in plain words, with the source of the rule."""

from dataclasses import replace
from datetime import timedelta

import pytest
from invented_tests import READ, SLAB, decide, floor, good_test, good_tests, hood, mver, probe
from shapely.geometry import box

from moisturemap.acceptance import RuleBook, entries_of, examine, packaged_rules
from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.survey import InstrumentCheck


def findings(test: dict, **changes: object):
    """What the rules find on one test."""
    survey = floor([test], **changes)
    return examine(entries_of(survey)[0], packaged_rules())


def only(test: dict, rule: str, **changes: object):
    """The finding of one rule."""
    return next(one for one in findings(test, **changes) if one.rule == rule)


def with_slab(slab: Slab) -> FloorPlan:
    """The shop on another slab."""
    return FloorPlan((Room("shop", box(0, 0, 8, 6), slab),))


def test_a_test_by_the_book_has_no_finding():
    """Nothing is said of a test that keeps every rule."""
    assert findings(good_test(1, 0.6, 3)) == ()


def test_times_in_the_wrong_order_make_a_test_invalid():
    """Read before it was lined: the record proves nothing."""
    found = only(good_test(1, 0.6, 3, lined=READ + timedelta(hours=2)), "times-in-order")
    assert found.effect == "invalid"
    assert "placed 2026-03-08 08:00 comes before lined 2026-03-09 12:00" in found.sentence


def test_a_twenty_hour_test_is_invalid_with_the_hours_asked_for():
    """20 h from lining to reading is under the 24 h of F2170-18 and later."""
    test = good_test(1, 0.6, 3, lined=READ - timedelta(hours=20))
    found = only(test, "f2170-wait-24")
    assert found.effect == "invalid"
    assert "is 20 h, at least 24 h is asked for" in found.sentence
    assert found.sureness == "secondary"
    assert "F2170" in found.document


def test_the_edition_followed_sets_the_wait():
    """26 h is enough by F2170-19 and not by F2170-16b, which asks for 72 h."""
    assert not findings(good_test(1, 0.6, 3, edition="ASTM F2170-19a"))
    old = findings(good_test(1, 0.6, 3, edition="ASTM F2170-16b"))
    assert [one.rule for one in old] == ["f2170-wait-72"]


def test_a_probe_two_degrees_warm_is_invalid():
    """A probe 2 C warmer than the concrete reads some 10 %RH low."""
    found = only(
        good_test(1, 0.6, 3, temperature_c=20.0, probe_temperature_c=22.0), "rh-probe-temperature"
    )
    assert found.effect == "invalid"
    assert "is 2 K, at most 1 K" in found.sentence
    assert "5 %RH" in found.sentence


def test_a_probe_a_little_warm_counts_with_a_remark_and_more_uncertainty():
    """0.8 C apart: valid with remarks, and its effect of 4 %RH joins the uncertainty."""
    survey = floor([good_test(1, 0.6, 3, slab_temperature_c=20.8)])
    (judged,) = decide(survey).judged
    assert judged.standing == "valid with remarks"
    assert judged.spread.expanded > 3.9


def test_a_missing_salt_check_makes_the_result_invalid():
    """Without a check nothing shows that the probe was right."""
    unchecked = replace(probe(), checks=())
    found = only(good_test(1, 0.6, 3), "probe-checked-before", instruments={"P1": unchecked})
    assert found.effect == "invalid"
    assert "not stated" in found.sentence
    assert "30 days" in found.sentence


def test_a_check_two_months_old_does_not_count():
    """30 days is what the method asks for."""
    old = tuple(replace(one, when=READ - timedelta(days=60)) for one in probe().checks)
    instruments = {"P1": replace(probe(), checks=old)}
    found = only(good_test(1, 0.6, 3), "probe-checked-before", instruments=instruments)
    assert "is 60 days" in found.sentence


def test_a_failed_check_marks_every_result_it_touches():
    """A probe off by 4 %RH at the check after the job takes its results with it, no others."""
    good = probe("P2")
    bad_after = tuple(
        one if one.when < READ else replace(one, read=one.read + 4.0) for one in probe().checks
    )
    instruments = {"P1": replace(probe(), checks=bad_after), "P2": good}
    tests = [good_test(1, 0.6, 3), good_test(2, 7.4, 3, instrument="P2")]
    table = decide(floor(tests, instruments=instruments)).tests
    assert list(table["standing"]) == ["invalid", "valid"]
    assert "results since the last good check are set aside" in table["reasons"][0]


def test_without_a_check_after_the_job_a_result_proves_nothing():
    """A check after shows that the probe stayed right; until it is there, nothing does."""
    before = tuple(one for one in probe().checks if one.when < READ)
    found = only(
        good_test(1, 0.6, 3),
        "probe-checked-after",
        instruments={"P1": replace(probe(), checks=before)},
    )
    assert found.effect == "invalid"


def test_humidity_of_104_percent_is_invalid():
    """No air holds more than 100%."""
    found = only(good_test(1, 0.6, 3, value=104.0), "humidity-possible")
    assert found.effect == "invalid"
    assert "104 %RH" in found.sentence
    assert "no air holds more than 100%" in found.sentence


def test_a_shallow_hole_serves_the_profile_but_not_the_limit():
    """15 mm in a 150 mm slab is a tenth, where the limit is meant for four tenths."""
    decision = decide(floor([good_test(1, 0.6, 3, depth_mm=15.0)]))
    (judged,) = decision.judged
    assert judged.standing == "valid with remarks"
    assert judged.verdict.verdict == "not judged"
    assert "depth" in judged.verdict.why


def test_two_drying_faces_ask_for_a_fifth_of_the_thickness():
    """60 mm of 150 mm is too deep where both faces dry."""
    plan = with_slab(replace(SLAB, drying_faces=2, on="suspended"))
    assert only(good_test(1, 0.6, 3), "f2170-depth-two-faces", plan=plan)
    assert not findings(good_test(1, 0.6, 3, depth_mm=30.0), plan=plan)


def test_an_instrument_not_listed_makes_the_result_invalid():
    """A result without its instrument cannot be traced."""
    found = only(good_test(1, 0.6, 3, instrument="P9"), "instrument-named")
    assert found.effect == "invalid"


def test_a_relative_meter_gives_no_calibrated_result():
    """The kind of the instrument must fit the method."""
    meter = replace(probe(), kind="relative")
    assert only(good_test(1, 0.6, 3), "instrument-kind", instruments={"P1": meter})


def test_what_the_record_does_not_say_counts_no_more_than_what_breaks_the_rule():
    """No conditioning stated, no time of drilling: not valid."""
    quiet = good_test(1, 0.6, 3)
    del quiet["conditioned_hours"]
    assert only(quiet, "f2170-conditioned").effect == "invalid"
    del quiet["drilled"], quiet["lined"]
    assert only(quiet, "f2170-wait-24").effect == "invalid"


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"placed": READ - timedelta(hours=48)}, "hood-wait"),
        ({"second_value": 81.0}, "sleeve-second-agrees"),
        ({"second_read": READ + timedelta(hours=5)}, "sleeve-second-apart"),
        ({"heating_off_hours": 24.0}, "hood-heating-off"),
        ({"surface": "sealed with epoxy"}, "hood-sealed-surface"),
        ({"surface": "power-floated"}, "hood-power-floated"),
        ({"thickness_mm": 250.0}, "hood-thick"),
    ],
)
def test_a_hood_too_short_unsteady_heated_or_on_a_seal_is_caught(changes, rule):
    """Each rule of the hood fires on its own trap and on nothing else."""
    assert findings(hood(1, 0.6, 3)) == ()
    assert [one.rule for one in findings(hood(1, 0.6, 3, **changes))] == [rule]


def test_mver_on_gypsum_and_over_90_hours_is_invalid():
    """ASTM F1869 is not for gypsum, and asks for 60 to 72 h."""
    test = mver(2.8, placed=READ - timedelta(hours=90))
    plan = with_slab(replace(SLAB, base="gypsum screed"))
    rules = {one.rule for one in findings(test, plan=plan) if one.effect == "invalid"}
    assert {"f1869-exposed-least", "f1869-material"} <= rules


def test_a_pin_reading_in_concrete_is_comparative_only():
    """Pins give a calibrated value in timber alone."""
    test = good_test(1, 0.6, 3, method="pin", value=18.0, unit="%MC", species="oak")
    assert only(test, "pin-timber-only").effect == "invalid"


def test_pins_in_cold_timber_read_low():
    """Wood Handbook ch. 4 (from memory): some 0.1 %MC for each degree below 20 °C."""
    pin = {"method": "pin", "value": 10.3, "unit": "%MC", "species": "oak"}
    plan = with_slab(replace(SLAB, base="timber deck"))

    def found(**changes: object) -> dict[str, str]:
        test = good_test(1, 0.6, 3, **pin, **changes)
        return {one.rule: one.effect for one in findings(test, plan=plan)}

    assert "pin-temperature" not in found(temperature_c=19.0)
    assert found(temperature_c=2.0)["pin-temperature"] == "widen"
    assert found(temperature_c=None)["pin-temperature"] == "widen"
    assert "pin-temperature" not in found(temperature_c=2.0, correction=2.0)
    assert found(temperature_c=-8.0, correction=2.0)["pin-frozen"] == "invalid"


def test_a_dish_of_no_stated_mass_makes_a_wet_sample_look_dry():
    """4.9 g of water in 100 g read as in 250 g with a dish of 150 g in both masses."""
    sample = {"method": "oven-dry", "value": None, "wet_mass_g": 254.9, "dry_mass_g": 250.0}
    test = good_test(1, 0.6, 3, **sample)
    assert only(test, "oven-tare").effect == "invalid"
    for tare in (0.0, 150.0):
        assert "oven-tare" not in {one.rule for one in findings({**test, "tare_g": tare})}
    assert "oven-tare" not in {
        one.rule for one in findings({**test, "value": 4.9, "wet_mass_g": None})
    }


def test_a_hole_of_which_nobody_says_that_it_was_lined_is_remarked():
    """The drier concrete above joins in."""
    assert only(good_test(1, 0.6, 3, lined=None), "hole-lined").effect == "remark"


def test_oven_temperature_for_gypsum_is_forty_degrees():
    """At 105 C gypsum gives off its crystal water."""
    test = good_test(
        1, 0.6, 3, method="oven-dry", value=0.4, unit="mass-%", drying_temperature_c=105.0
    )
    plan = with_slab(replace(SLAB, base="anhydrite screed"))
    assert "crystal water" in only(test, "oven-gypsum", plan=plan).sentence


def test_an_unknown_salt_is_said_to_be_unusable():
    """A check against something without a known value shows nothing."""
    check = InstrumentCheck(READ - timedelta(days=1), "wet cloth", 99.0)
    decision = decide(
        floor([good_test(1, 0.6, 3)], instruments={"P1": replace(probe(), checks=(check,))})
    )
    assert list(decision.checks["result"]) == ["unusable"]
    assert decision.tests["standing"][0] == "invalid"


def test_every_finding_names_rule_document_source_and_sureness():
    """A verdict must be defended line by line."""
    bad = good_test(1, 0.6, 3, value=104.0, lined=READ - timedelta(hours=20))
    table = decide(floor([bad], instruments={"P1": replace(probe(), checks=())})).findings
    assert len(table) >= 3
    assert (table[["rule", "sentence", "document", "source", "sureness"]] != "").all(axis=None)


def test_every_packaged_rule_is_cited():
    """No rule without document, source, sureness and words."""
    book = packaged_rules()
    for rules in (book.rules, book.counts, book.places, book.ages, book.uncertainties):
        for rule in rules.values():
            assert rule.words
            assert rule.source
            assert rule.sureness


def book_of(text: str, tmp_path) -> RuleBook:
    """The packaged rules with a user's file over them."""
    path = tmp_path / "country.toml"
    path.write_text(text, encoding="utf-8")
    return packaged_rules().with_file(path)


def test_a_users_file_changes_adds_and_drops_rules(tmp_path):
    """A country asks for 48 h, at least 15 C in the slab, and no drift."""
    book = book_of(
        """
        [[rule]]
        id = "f2170-wait-24"
        at_least = 48
        [[rule]]
        id = "f2170-drift"
        off = true
        [[rule]]
        id = "slab-warm"
        methods = ["in-situ-rh"]
        measure = "slab_temperature_c"
        at_least = 25
        unit = "C"
        words = "slab temperature"
        document = "invented national guide"
        source = "its page 3"
        sureness = "seen"
    """,
        tmp_path,
    )
    found = examine(entries_of(floor([good_test(1, 0.6, 3)]))[0], book)
    assert {one.rule for one in found} == {"f2170-wait-24", "slab-warm"}
    assert "at least 48 h" in next(one.sentence for one in found if one.rule == "f2170-wait-24")
    assert "f2170-drift" not in book.rules


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[[rule]]\nid = "x"\nbound = 3', "no such entry"),
        ('[[rule]]\nid = "x"\nat_least = 3', "a new rule must state"),
        ("[[rule]]\nat_least = 3", "needs an id"),
        ('[[law]]\nid = "x"', "no such kind of rule"),
        ('[[rule]]\nid = "f2170-wait-24"\nsureness = "certain"', "unknown sureness"),
        ('[[rule]]\nid = "f2170-wait-24"\nat_least = "long"', "a finite number"),
        ('[[rule]]\nid = "f2170-wait-24"\nmethods = ["tape"]', "unknown test method"),
        ("not toml at all", "not a file of rules"),
    ],
)
def test_a_faulty_file_of_rules_is_refused_by_name_and_place(text, words, tmp_path):
    """The file, the rule and what is allowed are named."""
    with pytest.raises(ValueError, match=words) as refused:
        book_of(text, tmp_path)
    assert "country.toml" in str(refused.value)


@pytest.mark.parametrize(
    ("place", "room", "valid"),
    [
        ((30.0, 2.0), "shop", False),
        ((8.2, 2.0), "shop", True),  # in a doorway, or by the slip of a tape
        ((8.2, 2.0), "", False),
        ((4.0, 2.0), "kitchen", False),  # the sheet may be that of another flat
        ((4.0, 2.0), " Shop ", True),
    ],
)
def test_a_test_stands_in_the_room_its_record_names(place, room, valid):
    """A name makes no place good that lies elsewhere, and a place no name the plan lacks."""
    tests = [{**one, "room": "shop"} for one in good_tests()]
    tests[0] |= {"x": place[0], "y": place[1], "room": room}
    judged = decide(floor(tests)).judged[0]
    assert ("on-plan" not in [one.rule for one in judged.findings]) is valid
    assert (judged.standing != "invalid") is valid
