"""Acts proposed next: those that would still tell open causes apart, and none done already."""

from __future__ import annotations

import pandas as pd
import pytest

from moisturemap.investigation import Answers
from moisturemap.investigation.act import ACTS
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.history_clues import history_clues
from moisturemap.investigation.next_step import next_measurements
from moisturemap.investigation.other_clues import sample_clues
from moisturemap.investigation.standing import standings

OPEN = {"seen": ["liquid", "salts"]}
"""Leaves pipe, drain, ground, surface water, salts and wall open."""


def steps(*clues: Clue, **answers: object) -> pd.DataFrame:
    given = Answers.of({**OPEN, **answers})
    told = [*history_clues(given), *clues]
    return next_measurements(told, standings(told, None), None, given, None)


@pytest.mark.parametrize(
    ("answers", "proposed"),
    [
        ({}, True),
        ({"pressure_test": "held"}, True),
        ({"pressure_test": "held", "pressure_test_hours": 2}, True),
        ({"pressure_test": "held", "pressure_test_hours": 24}, False),
        ({"pressure_test": "fell"}, False),
        ({"leak_survey": "nothing-found"}, True),
        ({"leak_survey": "found-in-pipe"}, False),
    ],
)
def test_a_pressure_test_too_short_to_say_anything_is_proposed_again(
    answers: dict[str, object], proposed: bool
) -> None:
    """Two hours, or nobody knows how long, speak against no slow leak."""
    assert steps(**answers)["what"].str.contains("pressure-test").any() == proposed


@pytest.mark.parametrize(("held", "free"), [(3.0, 1.0), (0.5, 4.0)])
def test_salts_that_were_sampled_are_not_sampled_again(held: float, free: float) -> None:
    """Whatever the sample showed; seeing salts is no sample."""
    assert steps()["what"].str.contains("sample for salts").any()
    sample = pd.DataFrame([{"hole": "K1", "hygroscopic_pct": held, "free_water_pct": free}])
    assert not steps(*sample_clues(sample))["what"].str.contains("sample for salts").any()


def test_every_act_says_what_it_costs_and_whom_it_may_hurt() -> None:
    """Burden and risk stand beside each, and it names the open causes it touches."""
    table = steps()
    assert len(table) >= 4
    assert (table[["what", "where", "when", "divides", "burden", "risk"]] != "").all(axis=None)
    assert table["expected_pairs"].is_monotonic_decreasing
    assert table["rank"].tolist() == list(range(1, len(table) + 1))


@pytest.mark.parametrize(
    ("answers", "cause", "standing_kind"),
    [
        ({"opening": "membrane-damaged"}, "ground", "opening"),
        ({"wall_profile": "wet-wall"}, "wall", "opening"),
        ({"drain_test": "fell"}, "drain", "services"),
        ({"dry_spell": "fell"}, "surface-water", "time"),
    ],
)
def test_what_an_act_found_can_be_answered_and_ends_its_proposal(
    answers: dict[str, object], cause: str, standing_kind: str
) -> None:
    """Its answer speaks for the cause in the kind the act was foreseen in."""
    act = next(one for one in ACTS if one.tells == {cause} and one.kind == standing_kind)
    told = history_clues(Answers.of(answers))
    assert any(one.kind == act.kind and one.mark(cause) == "for" for one in told)
    assert act.words in steps()["what"].tolist()
    assert act.words not in steps(**answers)["what"].tolist()
