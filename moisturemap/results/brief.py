"""What a command says by default: what was found, what to do, on at most twenty lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from moisturemap.bundles import Study, set_aside_above_level
from moisturemap.drilling import purpose_words
from moisturemap.language import keep_as_they_are, spoken
from moisturemap.quantities import DISCLAIMER
from moisturemap.results.storeys import from_above
from moisturemap.results.study_words import not_numeric_words, readings_words, title_words
from moisturemap.scanning.remark import OF_RECORD, Remark
from moisturemap.units import Units
from moisturemap.zones import hardly_sure_words, no_level_words, one_level_for
from moisturemap.zones.fell_fast import fell_fast
from moisturemap.zones.other_meter import meters_told, places_of_other_meters
from moisturemap.zones.part_fell import part_fell

if TYPE_CHECKING:  # a map need not load what judges and forecasts
    from moisturemap.bundles import DryingPlan, Judgement, SurveyCheck

MOST_LINES, WIDTH = 20, 96
"""Of a terminal without scrolling (our choice)."""

MOST_STEP_LINES = 7
"""Lines kept for what to do, when there is more to say of what was found (our choice)."""

MORE = "More with --full."
Item = tuple[str, str]
"""Mark and text."""

BEFORE_DRILLING = (
    "A named person clears every caution before drilling ({count} of them, with --full): services, "
    "tendons, structure, asbestos, dust, membranes, power and water."
)
LEVELS = ("problem", "warning", "info")


def page(
    head: Sequence[str],
    found: Iterable[Item],
    steps: Iterable[Item] = (),
    warnings: Iterable[Item] = (),
) -> str:
    """Set a page of at most ``MOST_LINES`` lines; what finds no room is counted, never cut.

    Parameters
    ----------
    head : sequence of str
        Lines that always stand.
    found, steps : iterable of (str, str)
        What was found, and what to do; the first ones matter most.
    warnings : iterable of (str, str)
        What stands above them whatever else finds no room.
    """
    lines = [line for text in head for line in (wrap(spoken(text), WIDTH) or [""])]
    lines += [line for one in warnings for line in _lines(one)]
    ahead = [_lines(one) for one in steps]
    kept_for_steps = min(sum(len(one) for one in ahead), MOST_STEP_LINES) + 1 if ahead else 0
    room = MOST_LINES - len(lines) - 1
    lines += _fitting([_lines(one) for one in found], max(room - kept_for_steps, 3))
    if ahead:
        lines += [spoken("What to do")]
        lines += _fitting(ahead, MOST_LINES - len(lines) - 1)
    lines.append(spoken(MORE))
    keep_as_they_are(lines)
    return "\n".join(lines)


def _fitting(items: list[list[str]], room: int) -> list[str]:
    """Return whole items that fit so many lines, with a count of those that do not.

    Where the first finds no room by itself, the next one that does stands in its place.
    """
    shown: list[str] = []
    taken = 0
    for at, item in enumerate(items):
        if len(shown) + len(item) + (1 if taken + 1 < len(items) else 0) <= room:
            shown += item
            taken += 1
        elif shown or at + 1 == len(items):
            break
    left = len(items) - taken
    return [*shown, f"  {spoken(f'and {left} more')}"] if left else shown


def _lines(item: Item) -> list[str]:
    mark, text = spoken(item[0]), spoken(item[1])
    head = f"  {mark:<4} "
    return wrap(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head))


def brief_study(study: Study, units: Units = Units()) -> str:
    """Return what a study found and what to do next, for a terminal."""
    unread = not_numeric_words(study)
    found: list[Item] = [("-", readings_words(study))]
    found += [("!", unread)] if unread else []
    survey = study.survey
    found += [("!", text) for text in (*survey.lowered_readings, *survey.missing_photographs)]
    found.append(("-", units.sentence(wet_words(study))))
    found += [("!", units.sentence(text)) for text in study.found.doubted]
    found += [("!", units.sentence(text)) for text in elsewhere_words(study)]
    level = study.wet.level
    mixed = "" if level.value is None else one_level_for(study.survey, level.base)
    found += [("!", mixed)] if mixed else []
    found += [("-", units.sentence(text)) for text in from_above(study)]
    found += [
        ("-", units.sentence(f"Not mapped: {why}")) for why in study.moisture.refusals.values()
    ]
    hidden = set_aside_above_level(study).sentence
    found += [("!", units.sentence(hidden))] if hidden else []
    found += [
        (str(one.anomaly), units.sentence(str(one.sentence)))
        for one in study.anomalies.itertuples()
    ]
    return page([title_words(study), DISCLAIMER], found, _drill_steps(study, units))


def brief_drilling(study: Study, units: Units = Units()) -> str:
    """Return the proposed holes with their set-out, for a terminal."""
    holes: list[Item] = []
    for hole in study.drill_plan.itertuples():
        deep = f", {hole.depth_mm:.0f} mm deep" if hole.depth_mm == hole.depth_mm else ""
        if study.survey.plan.room(hole.room).slab.heated:
            deep += ", only at a marked test point: floor heating"
        text = f"{hole.room}{deep} ({purpose_words(hole.purpose)}). {hole.set_out}"
        holes.append((str(hole.hole), units.sentence(text)))
    plan = study.drilling
    rest = [one for one in plan.statements if one not in (*plan.unreached, *plan.warnings)]
    steps = [*_unreached(study, units), _caution(study)]
    steps += [("-", units.sentence(text)) for text in rest[:1]]
    warnings = [("!", units.sentence(text)) for text in plan.warnings]
    return page([title_words(study)], holes, steps, warnings)


def brief_decision(judgement: Judgement, units: Units = Units()) -> str:
    """Return the verdict, why, each test and the next steps, for a terminal."""
    decision, say = judgement.decision, units.sentence
    found: list[Item] = [("why", say(reason)) for reason in decision.reasons]
    found += [
        ("NO", say(str(one["sentence"])))
        for one in decision.coverage.to_dict("records")
        if str(one["met"]) == "False"
    ]
    found += [
        (str(test.hole), say(f"{test.standing}; {test.verdict}: {test.why}"))
        for test in decision.tests.itertuples()
    ]
    steps = [("-", say(step)) for step in decision.next_steps]
    head = [
        judgement.survey.name,
        f"Verdict: {decision.verdict.upper()}",
        say(decision.sentence),
        "The results hold for the tested places at the time they were read.",
    ]
    return page(head, found, steps)


def brief_drying(plan: DryingPlan, units: Units = Units()) -> str:
    """Return what dried, what did not and where machines should stand, for a terminal."""
    drying, say = plan.comparison.drying, units.sentence
    found: list[Item] = [("-", say(text)) for text in drying.statements]
    stop = ("!", "Find and stop the source before drying on.")
    steps: list[Item] = [stop] if drying.leak is not None else []
    if plan.equipment is None:
        steps.append(("-", say(plan.no_equipment)))
    else:
        steps += [
            (str(row.machine), say(str(row.sentence).split(". ")[0].rstrip(".") + "."))
            for row in plan.equipment.placement.moves.itertuples()
        ]
        steps.insert(
            min(len(steps), 1),
            ("-", "A competent person checks electricity and water before machines are moved."),
        )
    names = ", ".join(one.id for one in drying.series.visits)
    return page([f"{plan.comparison.survey.name}: {names}", DISCLAIMER], found, steps)


def _rank(remark: Remark) -> int:
    """Order of a remark: problems, what the record of the file says, all else."""
    if remark.level == "problem":
        return 0
    return 1 if remark.place == OF_RECORD else 2


SWEEP_WORD = "To settle:"
"""First word of a remark that proposes a sweep."""

SWEEPS_NAMED = 2
"""Sweeps named in a brief review; the rest are counted."""


def brief_remarks(check: SurveyCheck, units: Units = Units()) -> str:
    """Return the remarks of a check, most serious first, for a terminal."""
    ranked = sorted(check.remarks, key=lambda one: (_rank(one), LEVELS.index(one.level)))
    items = [(one.level, units.sentence(one.sentence)) for one in ranked]
    sweeps = [item for item in items if item[1].startswith(SWEEP_WORD)]
    if len(sweeps) > SWEEPS_NAMED + 1:
        left = sweeps[SWEEPS_NAMED:]
        told = (
            f"{SWEEP_WORD} and {len(left)} more sweeps like these, told with --full and on the"
            " scan sheet of layout."
        )
        place = items.index(left[0])
        items = [item for item in items if item not in left]
        items.insert(place, (left[0][0], told))
    visit = f", visit {check.visit}: {counted(check.count, 'reading')}" if check.visit else ""
    return page([f"{check.survey}{visit}"], items or [("-", "Nothing to remark.")])


TOLD_M2 = 0.05
"""Smaller areas would read as nothing [m2]."""


def wet_words(study: Study) -> str:
    """Say where a scan reads wet, in two or three sentences; metric."""
    level = study.wet.level.value
    if level is None:
        why = study.wet.statement or study.wet.level.explanation
        return f"{why} So nothing is marked wet, and pale floor is not shown to be dry."
    zones = study.zones
    if not len(zones):
        text = f"No wet zone stands above the wet level of {level:.3g}."
        if set_aside_above_level(study).readings:
            text = (
                f"No wet zone is drawn: all that reads above the wet level of {level:.3g} left the "
                "map as things, and may be wet floor."
            )
    else:
        named = ", ".join(
            f"{one.zone} in {one.rooms} ({one.area_m2:.1f} m2)"
            for one in zones.head(6).itertuples()
        )
        more = f" and {len(zones) - 6} more" if len(zones) > 6 else ""
        told = f"above a relative reading of {level:.3g}: {named}{more}."
        whole = f"{sum(round(float(one), 1) for one in zones['area_m2']):.1f}"
        text = f"{counted(len(zones), 'wet zone')} of about {whole} m2 together {told}"
        if len(zones) == 1:
            text = f"1 wet zone of {whole} m2 {told}"
        text += hardly_sure_words(zones, study.wet.sure)
    text += _small_words([one for one in study.wet.small_m2 if one >= TOLD_M2])
    unsure = float(study.wet.unsure.area)
    if unsure >= TOLD_M2:
        text += (
            f" On {unsure:.1f} m2 the map cannot tell whether the floor is above that level "
            "(hatched)."
        )
    return f"{text}{unread_words(study)} What is not marked wet is not shown to be dry."


def _small_words(areas: list[float]) -> str:
    """Say what a map outlines above the level beside its zones."""
    if not areas:
        return ""
    if len(areas) == 1:
        return f" 1 smaller patch above that level, {areas[0]:.1f} m2, is no zone; test it too."
    return (
        f" {len(areas)} smaller patches above that level, the largest {max(areas):.1f} m2, are no "
        "zones; test them too."
    )


def elsewhere_words(study: Study) -> tuple[str, ...]:
    """Say what another scan or a meter without a map read high, and name such meters."""
    high = places_of_other_meters(study.survey, study)
    meters = () if high else meters_told(study.survey, study)
    fallen = fell_fast(study.survey, study)
    fallen += part_fell(study.survey, study.clean, study.wet.level.value)
    return (*(one.sentence for one in (*fallen, *high)), *(f"{text}." for text in meters))


def beside_map_words(study: Study) -> tuple[str, ...]:
    """Say what a map of the floor leaves out: no level, another meter, words, doubted readings."""
    level = study.wet.level
    mixed = "" if level.value is None else one_level_for(study.survey, level.base)
    said = (
        no_level_words(study.unlevelled_rooms) or mixed,
        not_numeric_words(study),
        *elsewhere_words(study),
        *study.found.doubted,
    )
    return tuple(text for text in said if text)


def unread_words(study: Study) -> str:
    """Name the floor nobody read, as a sentence to go on with; "" where all was read."""
    rooms = [*study.unread_rooms]
    rooms += [f"{one.part.area:.0f} m2 of {one.room.name}" for one in study.unread_parts]
    if not rooms:
        return ""
    return f" Not read: {listed(rooms)}; the scan says nothing of it."


def _drill_steps(study: Study, units: Units) -> list[Item]:
    steps: list[Item] = []
    if len(study.anomalies):
        names = listed([str(one) for one in study.anomalies["anomaly"]])
        steps.append(("-", f"Before drilling nearby, locate {names}."))
    open_names = sorted(set(study.sweeps["anomaly"]), key=str)
    if open_names:
        names = listed([str(one) for one in open_names])
        steps.append(("-", f"Sweep across {names} before leaving; `check` says where."))
    if len(study.drill_plan):
        names = listed([f"{one.hole} in {one.room}" for one in study.drill_plan.itertuples()])
        steps += [("-", f"Test {names}; `drill` says how to set them out."), _caution(study)]
    return [*steps, *_unreached(study, units)]


def _unreached(study: Study, units: Units) -> list[Item]:
    """Wet zones that get no hole."""
    return [("!", units.sentence(text)) for text in study.drilling.unreached]


def _caution(study: Study) -> Item:
    return ("!", BEFORE_DRILLING.format(count=len(study.drilling.cautions)))


def counted(count: int, noun: str, many: str = "") -> str:
    """Write a number of things: ``1 hole``, ``3 holes``."""
    return f"{count} {noun}" if count == 1 else f"{count} {many or noun + 's'}"


def listed(names: list[str], most: int = 8) -> str:
    """Write names with "and" before the last; of many the first, and how many more."""
    shown = names if len(names) <= most else [*names[: most - 1], f"{len(names) - most + 1} more"]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
