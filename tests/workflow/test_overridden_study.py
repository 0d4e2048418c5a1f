"""What people decide about anomalies and holes changes the study and nothing else."""

from __future__ import annotations

import dataclasses

import pytest

from moisturemap.bundles import (
    AnomalyOverride,
    HoleOverride,
    Overrides,
    Study,
    override_of,
    overrides_of,
)
from moisturemap.errors import OptionError
from moisturemap.workflow.cautions import (
    caution_key,
    caution_states,
    holes_seal,
    with_clearance,
    with_plan_withheld,
)
from moisturemap.workflow.overridden_study import (
    apply_overrides,
    check_override,
    unmet_hole_overrides,
    with_wished_holes,
)

SIGNED = {"who": "Ada Marsh", "when": "2026-03-02T09:00:00+00:00"}


def dismissal(study: Study, index: int = 0) -> AnomalyOverride:
    """Dismiss an anomaly of a study."""
    row = study.anomalies.iloc[index]
    place = row.geometry.representative_point()
    return AnomalyOverride(
        verdict="dismissed",
        kind=row.kind,
        places=((place.x, place.y),),
        why="opened: nothing there",
        **SIGNED,
    )


def test_without_decisions_the_study_is_the_same(bakery: Study) -> None:
    """Nothing is computed again."""
    assert apply_overrides(bakery, Overrides()) is bakery


@pytest.mark.thorough
def test_a_dismissed_anomaly_gives_its_readings_back(bakery: Study) -> None:
    """They are used again, with who dismissed it and why; none is deleted."""
    name = bakery.anomalies.iloc[0].anomaly
    decided = apply_overrides(bakery, Overrides((dismissal(bakery),)))
    back = decided.readings[bakery.readings["anomaly"].to_numpy() == name]
    assert len(back) > 0
    assert set(back["flag"]) == {"clear"}
    assert back["reason"].str.contains("Ada Marsh: opened: nothing there").all()
    assert len(decided.readings) == len(bakery.readings)
    assert len(decided.anomalies) == len(bakery.anomalies) - 1


@pytest.mark.thorough
def test_a_marked_spot_leaves_the_map(bakery: Study) -> None:
    """The reading on it is set aside and the mark keeps holes clear like any anomaly."""
    reading = bakery.readings[bakery.readings["flag"] == "clear"].iloc[40]
    mark = AnomalyOverride(
        verdict="marked", kind="spot", places=((reading.x, reading.y),), why="steel plate", **SIGNED
    )
    decided = apply_overrides(bakery, Overrides((mark,)))
    row = decided.readings[decided.readings["reading"] == reading.reading].iloc[0]
    assert (row.flag, row.anomaly) == ("spot", "U1")
    assert decided.anomalies.iloc[-1].sentence == "Marked by Ada Marsh: steel plate"


def test_a_decision_is_found_again_for_its_anomaly(bakery: Study) -> None:
    """By kind and place, because names may change with more readings."""
    decision = dataclasses.replace(dismissal(bakery), verdict="accepted")
    assert override_of(bakery.anomalies.iloc[0], (decision,)) is decision
    other = dataclasses.replace(decision, kind="mesh")
    assert override_of(bakery.anomalies.iloc[0], (other,)) is None


def test_decisions_come_back_from_plain_types(bakery: Study) -> None:
    """As they are kept in the project."""
    hole = HoleOverride(verdict="moved", x=1.0, y=2.0, to=(3.0, 4.0), why="", **SIGNED)
    decisions = Overrides((dismissal(bakery),), (hole,))
    assert overrides_of({"decisions": decisions.as_plain()}) == decisions


@pytest.mark.parametrize(
    ("kind", "places"), [("line", ((0, 0),)), ("mesh", ((0, 0), (1, 1))), ("stray", ((0, 0),))]
)
def test_a_mark_without_a_shape_is_refused(
    kind: str, places: tuple[tuple[float, float], ...]
) -> None:
    """A line needs two places, an area three, and a stray reading cannot be marked."""
    mark = AnomalyOverride(verdict="marked", kind=kind, places=places, why="x", **SIGNED)
    with pytest.raises(OptionError):
        check_override(mark)


def test_a_wish_that_cannot_be_met_is_named(bakery: Study) -> None:
    """A hole wanted off the plan is not planned."""
    decisions = Overrides(holes=(HoleOverride(verdict="pinned", x=90.0, y=9.0, why="", **SIGNED),))
    decided = apply_overrides(bakery, decisions)
    assert unmet_hole_overrides(decided, decisions) == (0,)


def _wish(verdict: str, x: float, y: float, to: tuple[float, float] | None = None) -> HoleOverride:
    return HoleOverride(verdict=verdict, x=x, y=y, to=to, why="", **SIGNED)


def test_a_wished_hole_that_is_moved_on_stays_one_hole() -> None:
    """The wish that brought it there goes, and no second hole is planned for it."""
    moved = Overrides().with_hole(_wish("moved", 1, 2, (3, 4))).with_hole(_wish("pinned", 7, 7))
    again = moved.with_hole(_wish("moved", 3.004, 4, (5, 6))).with_hole(
        _wish("moved", 7, 7, (8, 8))
    )
    assert again.holes == (_wish("moved", 1, 2, (5, 6)), _wish("pinned", 8, 8))
    none = again.with_hole(_wish("rejected", 5, 6)).with_hole(_wish("rejected", 8, 8))
    assert [(one.verdict, one.x, one.y) for one in none.holes] == [
        ("rejected", 1, 2),
        ("rejected", 5, 6),
        ("rejected", 8, 8),
    ]


@pytest.mark.thorough
def test_a_hole_that_is_moved_moves_alone(bakery: Study) -> None:
    """And a second one after it leaves the first where it was put."""
    places = sorted((one.x, one.y) for one in bakery.drill_plan.itertuples())
    decisions = Overrides()
    for index in (0, 1):
        x, y = places[index]
        places[index] = (round(x + 0.3, 2), y)
        decisions = decisions.with_hole(_wish("moved", x, y, places[index]))
        moved = with_wished_holes(bakery, decisions).drill_plan
        assert sorted((one.x, one.y) for one in moved.itertuples()) == sorted(places)


def test_a_clearance_holds_for_its_holes_only(bakery: Study) -> None:
    """Moved holes have another seal, and their cautions are open."""
    settings: dict[str, object] = {}
    for caution in bakery.drilling.cautions:
        cleared = {"by": "B. Stone", "on": "2026-03-03"}
        settings["cautions"] = with_clearance(bakery, settings, caution_key(caution), cleared)
    assert all(one.cleared for one in caution_states(bakery, settings))
    assert with_plan_withheld(bakery, caution_states(bakery, settings)) is bakery
    holes = bakery.drill_plan.copy()
    holes.loc[0, "x"] += 0.5
    moved = dataclasses.replace(bakery, drilling=dataclasses.replace(bakery.drilling, holes=holes))
    assert holes_seal(moved) != holes_seal(bakery)
    states = caution_states(moved, settings)
    assert not any(one.cleared for one in states)
    withheld = with_plan_withheld(moved, states)
    assert withheld.drill_plan.empty
    assert "not issued" in withheld.drilling.statements[0]
