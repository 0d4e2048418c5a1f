"""What acts find on an invented floor: leaks pause, dye is lost, openings miss, records are gone.

No rates were found for floors; all are ours, each beside its reason, and other than those by which
the investigation expects acts to answer (``moisturemap/investigation/act_foresight.py``).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
from failed_floors import BEFORE_COVERING, VISITS, observe
from investigation import Case, judged, tested, true_parts

from moisturemap.floorplan import Slab
from moisturemap.investigation.answers import Answers
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.depth_clues import above_sealed
from moisturemap.investigation.explain import Observation
from moisturemap.investigation.history_clues import history_clues
from moisturemap.investigation.next_step import Reading
from moisturemap.investigation.other_clues import air_clues, sample_clues
from moisturemap.slab import DepthReading


@dataclass(frozen=True)
class Found:
    """What an act brought home.

    ``shown`` are the causes it showed, rightly or not.
    """

    answers: dict[str, object] = field(default_factory=dict)
    clues: tuple[Clue, ...] = ()
    shown: frozenset[str] = frozenset()


def carry_out(key: str, case: Case, rng: np.random.Generator) -> Found:
    """Carry out an act on a floor."""
    parts, by = set(true_parts(case)), RECORDS.get(key)
    if by is not None:
        return by(case, rng)
    chances = ANSWERED.get(key)
    if chances is None:
        # a blister, a week without heating, a test where tests were made: nothing on these floors
        return Found()
    cause, answer, wrong, answers = chances
    known = rng.random()
    if cause in parts:
        shares = answer
    elif key == "taped-sheet" and parts & {"ground", "construction-water", "wall"}:
        shares = (0.02, 0.58, 0.4)
    else:
        shares = wrong
    index = int(np.searchsorted(np.cumsum(shares), known))
    if index >= len(answers) or not answers[index]:
        return Found()
    return Found(answers[index], shown=frozenset({cause}) if index == 0 else frozenset())


ANSWERED = {
    # a leak that paused, or a heating pipe that leaks when warm; a valve that lets by
    "pressure-test": (
        "pressure-pipe",
        (0.66, 0.34),
        (0.06, 0.94),
        ({"pressure_test": "fell"}, {"pressure_test": "held", "pressure_test_hours": 24}),
    ),
    # the plug sits above the leak, or roots and silt close it for the day; old drains lose a little
    "drain-test": (
        "drain",
        (0.75, 0.25),
        (0.10, 0.90),
        ({"drain_test": "fell"}, {"drain_test": "held"}),
    ),
    # the tear lies beside the opening; the opening or an earlier hole nicked it
    "opening": (
        "ground",
        (0.75, 0.25),
        (0.07, 0.93),
        ({"opening": "membrane-damaged"}, {"opening": "membrane-whole"}),
    ),
    # condensing sheets stay dry out of season; a wet slab wets them from below
    "taped-sheet": (
        "condensation",
        (0.55, 0.05, 0.40),
        (0.04, 0.30, 0.66),
        ({"taped_sheet": "wet-above"}, {"taped_sheet": "wet-below"}, {"taped_sheet": "dry"}),
    ),
    # splashed or condensing walls are wet too
    "wall-profile": (
        "wall",
        (0.85, 0.15),
        (0.12, 0.88),
        ({"wall_profile": "wet-wall"}, {"wall_profile": "dry-wall"}),
    ),
    # mats creep back and rain finds other ways; floors dry by themselves
    "dry-spell": (
        "surface-water",
        (0.65, 0.35),
        (0.12, 0.88),
        ({"dry_spell": "fell"}, {"dry_spell": "did-not-fall"}),
    ),
    # nobody remembers, or remembers another one; the rest is silence
    "event-record": (
        "flood",
        (0.50, 0.25),
        (0.06, 0.64),
        ({"flood": "2024-05-01"}, {"flood": "none"}),
    ),
    "insulation-opening": (
        "insulation",
        (0.90, 0.10),
        (0.05, 0.95),
        ({"insulation": "wet"}, {"insulation": "dry"}),
    ),
    "product-sample": (
        "adhesive",
        (0.55, 0.30),
        (0.08, 0.77),
        ({"adhesive": "short-wait"}, {"adhesive": "no"}),
    ),
}
"""The cause of an act; chances of its answers where that acts and where it does not, what is left
being no answer; and the answers, the first of which shows the cause."""


def _air_log(case: Case, rng: np.random.Generator) -> Found:
    """Log two weeks: condensation condenses in six of ten of them, and a logger can err."""
    acts = "condensation" in case.parts
    low = rng.random() < (0.6 if acts else 0.04)
    least = rng.uniform(-1.5, 1.4) if low else rng.uniform(1.2, 9.0)
    start = pd.Timestamp("2025-01-01")
    rows = [
        (start + pd.Timedelta(days=2 * k), "log", 15.0, 15.0 - least - 0.2 * k, least + 0.2 * k)
        for k in range(8)
    ]
    columns = ["started", "where", "surface_c", "dew_point_c", "margin_k"]
    clues = air_clues(pd.DataFrame(rows, columns=columns))
    shown = frozenset({"condensation"}) if clues[0].speaks_for else frozenset()
    return Found(clues=clues, shown=shown)


def _earlier_record(case: Case, rng: np.random.Generator) -> Found:
    """Find readings from before covering on four jobs in ten, by a probe of its own bias."""
    if rng.random() > 0.4:
        return Found()
    bias = float(rng.normal(0.0, 1.5))
    day = case.story.covered - BEFORE_COVERING
    read = observe(case.before, case.story, (0.2, 0.4, 0.6), day, rng, bias)
    before = [DepthReading(one.depth_mm, one.rh_pct, one.sd_pct, "other") for one in read]
    slab = Slab(thickness_mm=case.story.thickness_mm)
    return Found(clues=(above_sealed(before, tested(case.story, case.seen), slab, None),))


def _salt_sample(case: Case, rng: np.random.Generator) -> Found:
    """No floor here holds salts enough; one sample in twenty is mistaken."""
    held = rng.uniform(2.0, 4.0) if rng.random() < 0.05 else rng.uniform(0.1, 0.8)
    sample = pd.DataFrame([{"hole": "K1", "hygroscopic_pct": held, "free_water_pct": 1.5}])
    clues = sample_clues(sample)
    return Found(clues=clues, shown=frozenset(one for c in clues for one in c.speaks_for))


RECORDS = {"air-log": _air_log, "earlier-record": _earlier_record, "salt-sample": _salt_sample}


def after_act(case: Case, key: str, rng: np.random.Generator) -> tuple[Case, frozenset[str]]:
    """Return the floor as it is known after an act, and the causes the act showed."""
    found = carry_out(key, case, rng)
    keys = {one.key for one in found.clues}
    measured = [one for one in case.measured if one.key not in keys] + list(found.clues)
    answers = case.answers
    if found.answers:
        answers = Answers.of({**case.answers.given, **found.answers})
    return known_again(case, case.seen, measured, answers), found.shown


def after_reading(case: Case, reading: Reading, rng: np.random.Generator) -> Case:
    """Return the floor as it is known after one more reading at depth."""
    day = min(VISITS, key=lambda one: abs(one - reading.day))
    share = reading.depth_mm / case.story.thickness_mm
    column = case.column[VISITS.index(day), 0]
    read: list[Observation] = observe(column, case.story, (share,), day, rng, case.bias)
    return known_again(case, [*case.seen, *read], case.measured, case.answers)


def known_again(case: Case, seen, measured, answers: Answers) -> Case:
    """Judge a floor again by what is known of it now."""
    told = [*measured, *history_clues(answers)]
    explanation, stands = judged(case.story, seen, told)
    return replace(
        case,
        seen=list(seen),
        measured=list(measured),
        answers=answers,
        told=told,
        explanation=explanation,
        stands=stands,
    )
