"""Layers heated by their words or by the plan while the record denies it or says nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from invented_tests import SLAB, decide, floor, good_tests
from shapely.geometry import LineString, box

from moisturemap.acceptance.heat_doubt import names_heating
from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab
from moisturemap.survey import Survey

HEATED = [
    "screed with UFH cement",
    "cement screed, FBH",
    "radiant concrete slab",
    "cement screed with hydronic loop",
    "cement screed with electric mat",
    "cement screed + heating circuits",
    "cement screed chauffant",
    "cement screed type A EN 1264",
    "Zementestrich mit Warmwasserheizung",
    "cement screed, no membrane, UFH",
]
UNHEATED = [
    "unheated cement screed",
    "cement screed, not heated",
    "cement screed without floor heating",
    "Zementestrich, unbeheizt",
    "Zementestrich ohne Fußbodenheizung",
    "Estrich ohne FBH",
    "chape ciment sans chauffage",
    "concrete slab",
]


def _of(slab: Slab) -> Survey:
    return floor(good_tests(), plan=FloorPlan((Room("shop", box(0, 0, 8, 6), slab),)))


@pytest.mark.parametrize("base", HEATED)
def test_any_word_of_heating_names_it(base):
    assert names_heating(base)


@pytest.mark.parametrize("base", UNHEATED)
def test_a_denial_names_no_heating(base):
    assert not names_heating(base)


@pytest.mark.parametrize("heated", [False, None])
def test_a_floor_heated_by_its_words_alone_is_not_proven(heated):
    """EN 1264-4 and DIN 18560-1 have lower limits for heated screeds (secondary)."""
    slab = replace(SLAB, base="concrete slab with UFH", heated=heated)
    decision = decide(_of(slab))
    assert decision.verdict == "not proven"
    assert any("state heated = true" in one for one in decision.reasons)


@pytest.mark.parametrize(
    ("name", "verdict"),
    [
        ("UFH loop 1", "not proven"),
        ("Fußbodenheizung", "not proven"),
        ("heating supply", "meets"),
        ("heating pipes to radiators", "meets"),
        ("cold water", "meets"),
        ("lighting circuit 4", "meets"),
        ("PEX, cold water", "meets"),
    ],
)
def test_heating_drawn_through_a_room_is_asked_for(name, verdict):
    survey = _of(replace(SLAB, heated=False))
    line = PlanLine("known-service", LineString([(0.0, 1.3), (5.0, 1.3)]), name)
    survey = replace(survey, plan=replace(survey.plan, lines=(line,)))
    assert decide(survey).verdict == verdict
