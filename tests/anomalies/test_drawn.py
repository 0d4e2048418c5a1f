"""A flagged line or spot is said to lie beside what the plan shows there."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies.assemble import Anomaly
from moisturemap.anomalies.describe import describe
from moisturemap.anomalies.drawn import drawn_words
from moisturemap.floorplan import FloorPlan, PlanLine, Room

ROOM = Room("ward", box(0.0, 0.0, 8.0, 6.0))


def flagged(kind: str, geometry: BaseGeometry) -> Anomaly:
    none = np.array([], dtype=np.intp)
    length = geometry.length if kind == "line" else np.nan
    return Anomaly(
        kind, "contested", 1.0, geometry, 9.0, 8.0, length, 0.1, none, none * 1.0, none > 0
    )


def plan_with(*services: tuple[str, BaseGeometry]) -> FloorPlan:
    lines = [PlanLine("known-service", geometry, name) for name, geometry in services]
    door = PlanLine("door", LineString([(3.0, 0.0), (3.0, 6.0)]), "wide door")
    return FloorPlan((ROOM,), (*lines, door))


SUPPLY = ("heating supply", LineString([(3.2, 0.0), (3.2, 6.0)]))
WASTE = ("waste", LineString([(0.0, 3.0), (8.0, 3.0)]))


@pytest.mark.parametrize(
    ("anomaly", "words"),
    [
        (
            flagged("line", LineString([(3.0, 0.5), (3.0, 5.5)])),
            "; the plan shows heating supply 0.2 m beside it",
        ),
        (flagged("line", LineString([(4.0, 0.5), (4.0, 5.5)])), ""),  # too far, and WASTE crosses
        (flagged("spot", Point(6.0, 3.1)), "; the plan shows waste 0.1 m beside it"),
        (flagged("spot", Point(6.0, 4.0)), ""),
        (flagged("stray", Point(6.0, 3.0)), ""),
    ],
)
def test_what_runs_beside_it_is_named(anomaly: Anomaly, words: str) -> None:
    """A service along at least half of a line, or near a spot; not a door, nor one across."""
    plan = plan_with(SUPPLY, WASTE)
    assert drawn_words(anomaly, plan) == words
    if anomaly.kind != "stray":
        told = describe(anomaly, plan, "ward", "")
        assert told.sentence.endswith(f"locate before drilling{words}")


def test_a_service_without_a_name_is_a_service() -> None:
    """The nearest counts."""
    plan = plan_with(SUPPLY, ("", LineString([(2.9, 0.0), (2.9, 6.0)])))
    line = flagged("line", LineString([(3.0, 0.5), (3.0, 5.5)]))
    assert drawn_words(line, plan) == "; the plan shows a service 0.1 m beside it"
