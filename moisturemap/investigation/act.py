"""Acts besides reading humidity at depth that tell causes apart."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from moisturemap.investigation.answers import Answers
from moisturemap.investigation.history_clues import LEAST_TEST_HOURS


@dataclass(frozen=True)
class Act:
    """Something that may be done.

    Attributes
    ----------
    words : str
    tells : frozenset of str
        Causes it tells from all others.
    where, when, burden, risk : str
    done : callable
        Whether the answers show that it was done.
    shown_by : str
        Kind of evidence on its causes that shows it was done, or "".
    """

    words: str
    tells: frozenset[str]
    where: str
    when: str
    burden: str
    risk: str
    done: Callable[[Answers], bool]
    shown_by: str = ""


def _answered(*pairs: tuple[str, tuple[str, ...]]) -> Callable[[Answers], bool]:
    return lambda answers: any(answers.get(key) in values for key, values in pairs)


def _never(answers: Answers) -> bool:
    return False


def _pipes_tested(answers: Answers) -> bool:
    """Whether the pipes were tested long enough: a short test that held says nothing."""
    if answers.get("pressure_test") == "held":
        return float(answers.get("pressure_test_hours") or 0.0) >= LEAST_TEST_HOURS
    fell = answers.get("pressure_test") == "fell"
    return fell or bool(answers.get("leak_survey") == "found-in-pipe")


ACTS = (
    Act(
        "pressure-test the pipes, isolated one by one, for at least 24 hours",
        frozenset({"pressure-pipe"}),
        "at the manifold",
        "now",
        "a plumber's day; water and heating off",
        "live leak: stop it before study; electrician first where water stands",
        _pipes_tested,
    ),
    Act(
        "dye and camera in the drain, or fill it plugged and watch the level; no dye found proves"
        " nothing",
        frozenset({"drain"}),
        "appliances near the wet zone",
        "now",
        "half a day",
        "foul water: contain",
        _answered(("leak_survey", ("found-in-drain",))),
    ),
    Act(
        "find the humidities at depth from before covering in the records of the job",
        frozenset({"construction-water"}),
        "records",
        "now",
        "none to the floor",
        "none",
        _never,
    ),
    Act(
        "an authorised opening down to the membrane, with its designer",
        frozenset({"ground"}),
        "at the peak, clear of services",
        "after consent",
        "destructive",
        "never pierce a gas, radon or waterproof membrane unasked",
        _answered(("membrane", ("seen-intact", "none", "damaged"))),
    ),
    Act(
        "log air and surface temperature at the cold edge",
        frozenset({"condensation"}),
        "coldest place of the zone",
        "14 days",
        "two weeks, a logger",
        "none",
        _never,
    ),
    Act(
        "tape a sheet of metal or film to the bare floor for a day: wet above or below?",
        frozenset({"condensation"}),
        "in the zone and beside it",
        "1 day",
        "a patch of bare floor",
        "asbestos in old tile or adhesive: test before lifting",
        _answered(("taped_sheet", ("wet-above", "wet-below", "dry"))),
    ),
    Act(
        "a moisture profile up the wall at the zone, and the levels outside",
        frozenset({"wall"}),
        "wall next to the zone",
        "now",
        "an hour; small holes in plaster",
        "cables in walls",
        _never,
    ),
    Act(
        "keep the floor dry and log it: no wet cleaning, mats up, threshold covered",
        frozenset({"surface-water"}),
        "the zone",
        "14 days",
        "use of the floor",
        "none",
        _answered(("cleaning", ("dry",))),
    ),
    Act(
        "ask who was there, and search weather and insurance records, for a flood or burst",
        frozenset({"flood"}),
        "records",
        "now",
        "none to the floor",
        "none",
        lambda answers: answers.get("flood") is not None,
    ),
    Act(
        "an opening down to the insulation, with a sample of it",
        frozenset({"insulation"}),
        "low side of the zone",
        "now",
        "a core or a lifted edge strip",
        "heating pipes in the screed: locate first",
        _answered(("insulation", ("wet", "dry")), ("build_up", ("slab", "bonded", "timber"))),
    ),
    Act(
        "sample the adhesive or compound layer; find batch, product and waiting time",
        frozenset({"adhesive"}),
        "in the zone and where the covering holds",
        "now",
        "small samples",
        "asbestos in old adhesive: presume, test before lifting",
        _answered(("adhesive", ("batch-change", "short-wait", "no"))),
    ),
    Act(
        "sample for salts, hygroscopic and free water, before more meter readings",
        frozenset({"salts"}),
        "in the zone and beside it",
        "now",
        "two small samples and a laboratory",
        "drilling: read the cautions",
        _never,
        "chemistry",
    ),
    Act(
        "collect the liquid of a blister, 500 ml or what there is, for a laboratory",
        frozenset({"osmosis"}),
        "a fresh blister",
        "now",
        "a syringe",
        "caustic liquid: gloves and eye protection",
        _never,
    ),
    Act(
        "measure temperatures through the floor with the heating off and on",
        frozenset({"summer-reversal"}),
        "over a loop and between loops",
        "one week each",
        "heating off for a week",
        "none",
        _answered(("heating", ("no-heating",))),
    ),
    Act(
        "a calibrated test at the place, with a locator over it first",
        frozenset({"not-water"}),
        "peak of the zone",
        "now",
        "one hole",
        "drilling: read the cautions",
        _never,
    ),
)
"""What may be done, with what it costs."""
