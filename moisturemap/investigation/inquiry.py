"""The investigation of one wet place: clues gathered, causes weighed, the next step found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

import numpy as np
from shapely.geometry import Point

from moisturemap.acceptance import JudgedTest
from moisturemap.drilling import DrillOptions
from moisturemap.drilling.clearance import (
    clear_of,
    flagged_obstacles,
    forbidden,
    plan_obstacles,
)
from moisturemap.floorplan import Room
from moisturemap.investigation.answers import Answers
from moisturemap.investigation.cause import CAUSES, SIDES
from moisturemap.investigation.cautions import cautions_for
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.covered_early import covered_early
from moisturemap.investigation.depth_clues import (
    above_sealed,
    depth_clues,
    dry_to_bottom,
    wet_in_test,
)
from moisturemap.investigation.doubts import contradictions, dates_not_used
from moisturemap.investigation.explain import Explanation, Observation, explain
from moisturemap.investigation.history_clues import history_clues
from moisturemap.investigation.next_step import next_measurements
from moisturemap.investigation.off_ground import off_the_ground
from moisturemap.investigation.other_clues import air_clues, dew_margins, sample_clues, time_clues
from moisturemap.investigation.plan_clues import plan_clues
from moisturemap.investigation.result import Investigation
from moisturemap.investigation.scene import Findings, Scene, scene_of
from moisturemap.investigation.standing import Standing, ruled_out, standings
from moisturemap.investigation.story import not_simulated, story_of
from moisturemap.investigation.tested import TestedPlace
from moisturemap.slab import DepthReading

RINGS_M = (0.12, 0.2, 0.3, 0.45, 0.6, 0.9)
"""How far from a place a further hole is looked for [m]; our choice."""


def inquire(findings: Findings, answers: Answers, *, place: str | None = None) -> Investigation:
    """Investigate where the water of a floor comes from, at its wettest tested place.

    Parameters
    ----------
    findings : Findings
    answers : Answers
    place : str, optional
        Hole, zone or room to investigate instead.

    Raises
    ------
    SurveyError
        If there is no such hole, zone or room.
    """
    scene = scene_of(findings, answers, place)
    margins = dew_margins(findings.survey.visits, scene.zone, findings.survey.tests)
    why_not = () if scene.place is None else not_simulated(scene.room, scene.answers)
    told = (*_clues(scene), *air_clues(margins))
    explanation = None
    if scene.place is not None and not why_not:
        explanation = _explained(scene).without(ruled_out(told))
    clues = (*told, *depth_clues(scene.place, explanation, why_not))
    doubt = _doubt(scene)
    stands = standings(clues, explanation, in_doubt=doubt)
    return Investigation(
        place=scene.place,
        wet=scene.wet,
        beside=scene.beside,
        answers=scene.answers,
        clues=clues,
        stands=stands,
        explanation=explanation,
        next_measurements=next_measurements(
            clues,
            stands,
            explanation,
            scene.answers,
            _cleared(scene),
            tested=scene.place is not None,
        ),
        margins=margins,
        events=_events(scene),
        cautions=cautions_for(stands, scene.room, scene.answers),
        doubts=(*contradictions(clues), *dates_not_used(scene.answers, scene.latest)),
        statements=(
            *_statements(scene, explanation, doubt, why_not),
            *_same_face(stands),
            *LIMITS_OF_USE,
        ),
    )


def _explained(scene: Scene) -> Explanation:
    """Weigh the causes by the readings at the place and beside it."""
    place = scene.place
    assert place is not None
    readings = [(one, False) for one in place.readings]
    readings += [(one, True) for other in scene.beside for one in other.readings]
    last = place.last_day
    kept = [(one, beside) for one, beside in readings if one.day <= last]
    days = [one.day for one, _ in kept]
    warm = [one.temperature_c for one, _ in kept if one.temperature_c is not None]
    air = [v.air_rh_pct for v in scene.findings.survey.visits if v.air_rh_pct is not None]
    room = scene.room
    if not room.slab.thickness_mm and place.thickness_mm:
        room = replace(room, slab=replace(room.slab, thickness_mm=place.thickness_mm))
    story = story_of(
        room,
        scene.answers,
        days,
        temperature_c=float(np.mean(warm)) if warm else None,
        room_rh=float(np.mean(air)) / 100.0 if air else None,
    )
    observations = [
        Observation(
            float((one.day - last).days),
            min(one.depth_mm, story.thickness_mm),
            one.rh_pct,
            one.sd_pct,
            one.probe,
            beside,
        )
        for one, beside in kept
    ]
    return explain(story, observations)


def _clues(scene: Scene) -> tuple[Clue, ...]:
    """Everything but how well the causes explain the depths."""
    found: list[Clue] = []
    if scene.wet is not None:
        found += plan_clues(scene.wet, _source_days(scene))
    else:
        sentence = "No wet zone is mapped at the place, so the plan tells nothing of a source."
        found.append(Clue("zone", "plan", "not-looked-at", sentence))
    if scene.place is not None:
        peak = scene.wet.peak if scene.wet is not None else (scene.place.x, scene.place.y)
        extra = [dry_to_bottom(scene.places, peak), wet_in_test(scene.place)]
        found += [one for one in extra if one is not None]
        found.append(_before_covering(scene, scene.place))
    found += time_clues(
        scene.findings.drying,
        scene.zone,
        scene.answers.get("covered"),
        floats=scene.answers.get("build_up") == "floating",
    )
    found += sample_clues(scene.findings.survey.tests)
    days = scene.answers.get("placed"), scene.answers.get("covered")
    by_record = [
        off_the_ground(scene.findings.survey.plan),
        covered_early(scene.room.slab, *days),
    ]
    found += [one for one in by_record if one is not None]
    return (*found, *history_clues(scene.answers, scene.latest), *_heated(scene.room))


def _heated(room: Room) -> tuple[Clue, ...]:
    if not room.slab.heated:
        return ()
    return (
        Clue(
            "heated",
            "history",
            "seen",
            "The floor is heated: heat moves moisture in ways the simulation leaves out.",
            source="Rantala and Leivo (abstract)",
            speaks_for=("summer-reversal",),
        ),
    )


def _before_covering(scene: Scene, place: TestedPlace) -> Clue:
    """Hold the place now against its pour before covering."""
    covered = scene.answers.get("covered")
    same = [place, *scene.beside]
    before = [
        one for other in same for one in other.readings if covered is not None and one.day < covered
    ]
    last = max((one.day for one in before), default=None)
    placed = scene.answers.get("placed")
    days = float((last - placed).days) if last is not None and placed is not None else None
    readings = [
        DepthReading(one.depth_mm, one.rh_pct, one.sd_pct, one.probe)
        for one in before
        if one.day == last
    ]
    slab = scene.room.slab
    if readings and not slab.thickness_mm:
        readings = []
    return above_sealed(readings, place, slab, days)


def _source_days(scene: Scene) -> float | None:
    """Longest time a source can have acted before the latest visit [days]."""
    starts = [
        scene.answers.event("flood", scene.latest),
        scene.answers.get("covered"),
        scene.answers.get("placed"),
    ]
    start = next((one for one in starts if isinstance(one, date)), None)
    latest = [v.started.date() for v in scene.findings.survey.visits if v.started is not None]
    if start is None or not latest:
        return None
    return float(max((max(latest) - start).days, 1))


def _doubt(scene: Scene) -> str:
    """Why nothing firm may be said: the tests and the map contradict each other."""
    if scene.place is None or not scene.beside:
        return ""
    drier = [one.name for one in scene.beside if one.wettest() > scene.place.wettest() + 3.0]
    if not drier:
        return ""
    return (
        f"{', '.join(drier)}, outside the wet zone, reads wetter than {scene.place.name} inside it:"
        " tests and map contradict each other, so nothing firm is said"
    )


def _cleared(scene: Scene) -> tuple[str, float, float] | None:
    """Find a place for a further hole by the one in question, clear of what holes keep clear of."""
    if scene.place is not None:
        centre = (scene.place.x, scene.place.y)
    elif scene.wet is not None:
        centre = scene.wet.peak
    else:
        return None
    options, plan = DrillOptions(), scene.findings.survey.plan
    obstacles = plan_obstacles(plan, options)
    if scene.findings.mapped is not None:
        mapped = scene.findings.mapped
        read = mapped.readings.reindex(columns=["x", "y"]).dropna().to_numpy(dtype=float)
        flagged, _ = flagged_obstacles(mapped.found.table, plan, options, read)
        obstacles += flagged
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    rings = np.concatenate([np.array(centre) + radius * circle for radius in RINGS_M])
    inside = np.array([scene.room.polygon.covers(Point(*one)) for one in rings])
    clear = inside & clear_of(forbidden(obstacles), rings)
    if not clear.any():
        return None
    x, y = rings[int(np.argmax(clear))]
    name = f"beside {scene.place.name}" if scene.place is not None else "at the peak"
    return name, float(x), float(y)


def _events(scene: Scene) -> dict[str, date]:
    names = {
        "placed": "placed",
        "covered": "covered",
        "first_fault": "first fault",
        "flood": "flood or burst",
        "repaired": "repaired",
    }
    found = {
        words: scene.answers.get(key)
        for key, words in names.items()
        if isinstance(scene.answers.get(key), date)
    }
    if scene.room.slab.lifted is not None:
        found["covering lifted"] = scene.room.slab.lifted
    for visit in scene.findings.survey.visits:
        if visit.started is not None:
            found[f"visit {visit.id}"] = visit.started.date()
    return dict(sorted(found.items(), key=lambda one: one[1]))


LIMITS_OF_USE = (
    "Evidence is given a cause, never the chance of a cause: how common causes are is not known and"
    " not used.",
    "Simulated bands hold for the slab as stated, one-dimensional, at one temperature; they are no"
    " measurement.",
    "Several causes may act at once, and the list is not complete.",
    "No opinion is given on fault, duty or cost. A named person adopts or rejects each line.",
)


def _statements(
    scene: Scene, explanation: Explanation | None, doubt: str, why_not: Sequence[str]
) -> tuple[str, ...]:
    said = list(_not_used(scene))
    if doubt:
        said.append(f"{doubt}.")
    if why_not:
        said.append(
            f"Depth is not simulated in {scene.room.name}: {'; '.join(why_not)}. Exclusion and"
            " rules alone speak."
        )
    if explanation is not None:
        if scene.answers.get("build_up") == "floating":
            said.append(
                "The screed floats on insulation: water of a flood, a pipe, a drain or the ground"
                " may lie in it, and readings in the screed do not tell which wetted it."
            )
        for pair in explanation.better_pairs():
            both = " and ".join(pair.split("+"))
            said.append(
                f"{both} together explain the readings more than 20 times better than any one"
                " cause: nothing single is pointed to."
            )
        depths = {round(one.depth_mm) for one in explanation.observations if not one.beside}
        if len(depths) < 2:
            said.append("One depth tells almost nothing of the cause: read two more.")
    judged = scene.findings.judged
    invalid = [_dated(test) for test in judged if test.standing == "invalid"]
    if invalid:
        names = ", ".join(invalid[:6]) + (" and more" if len(invalid) > 6 else "")
        said.append(f"Tests that are not valid, so not used here: {names}.")
    said += _elsewhere(scene)
    return tuple(said)


def _dated(test: JudgedTest) -> str:
    """Name a test with its day: a valid one of another day may stand at the same place."""
    read = test.entry.moment("read")
    return test.entry.label if read is None else f"{test.entry.label} ({read:%Y-%m-%d})"


def _not_used(scene: Scene) -> Iterator[str]:
    """Say which answers the survey overrules."""
    answers = scene.answers
    for key, value in answers.overruled.items():
        yield (
            f"The answer on {key} is {_plain(value)}; the survey says {_plain(answers.get(key))},"
            " which was used."
        )


SAME_FACE = {
    "below": (
        "These wet the slab from below, so further readings at depth hardly tell them apart; tests"
        " of pipes and drains, and openings, do: {names}."
    ),
    "above": (
        "These wet the slab from above, so further readings at depth hardly tell them apart;"
        " records, dry spells and logs of air and surface do: {names}."
    ),
}
"""What tells causes apart that wet the slab from the same face."""


def _same_face(stands: Sequence[Standing]) -> Iterator[str]:
    """Say which open causes no further reading at depth will tell apart."""
    left = [one.cause for one in stands if one.standing == "open"]
    for face, sentence in SAME_FACE.items():
        names = [CAUSES[cause].words for cause in left if SIDES.get(cause) == face]
        if len(names) > 1:
            yield sentence.format(names="; ".join(names))


def _plain(value: object) -> str:
    return value.isoformat() if isinstance(value, date) else str(value)


def _elsewhere(scene: Scene) -> list[str]:
    """Say which other wet zones this is not about."""
    if scene.findings.mapped is None:
        return []
    own = scene.wet.name if scene.wet is not None else ""
    others = [str(name) for name in scene.findings.mapped.wet.zones["zone"] if str(name) != own]
    if not others:
        return []
    return [f"This is about one place; zones {', '.join(others)} may have causes of their own."]
