"""Acts besides reading humidity at depth that tell causes apart."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from moisturemap.investigation.answers import Answers
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.history_clues import LEAST_TEST_HOURS


@dataclass(frozen=True)
class Act:
    """Something that may be done.

    Attributes
    ----------
    key : str
    words : str
    tells : frozenset of str
        Causes it tells from all others.
    kind : str
        Of the evidence it gives, one of ``KINDS``.
    where, when, burden, risk : str
    done : callable
        Whether the answers and the clues show that it was done.
    says : str
        ``both``: it speaks for its causes or against them; ``for``: what it does not find says
        nothing; ``against``: what it finds says nothing.
    answers_share : float
        How often it tells anything at all: not every job has records (our choice).
    """

    key: str
    words: str
    tells: frozenset[str]
    kind: str
    where: str
    when: str
    burden: str
    risk: str
    done: Done
    says: str = "both"
    answers_share: float = 1.0

    def clue(self, found: bool) -> Clue:
        """Return what it would say.

        Parameters
        ----------
        found : bool
            Whether it shows one of its causes.
        """
        causes = tuple(sorted(self.tells))
        if found and self.says != "against":
            return Clue(self.key, self.kind, "seen", self.words, speaks_for=causes)
        if not found and self.says != "for":
            return Clue(self.key, self.kind, "not-seen", self.words, speaks_against=causes)
        return Clue(self.key, self.kind, "could-not-show", self.words)


Done = Callable[[Answers, Sequence[Clue]], bool]


def _answered(*pairs: tuple[str, tuple[str, ...]]) -> Done:
    return lambda answers, clues: any(answers.get(key) in values for key, values in pairs)


def _shown(key: str, *states: str) -> Done:
    """Whether a clue is in one of some states."""
    return lambda answers, clues: any(one.key == key and one.state in states for one in clues)


def _never(answers: Answers, clues: Sequence[Clue]) -> bool:
    return False


def _pipes_tested(answers: Answers, clues: Sequence[Clue]) -> bool:
    """Whether the pipes were tested long enough: a short test that held says nothing."""
    if answers.get("pressure_test") == "held":
        return float(answers.get("pressure_test_hours") or 0.0) >= LEAST_TEST_HOURS
    fell = answers.get("pressure_test") == "fell"
    return fell or bool(answers.get("leak_survey") == "found-in-pipe")


ACTS = (
    Act(
        "pressure-test",
        "pressure-test the pipes, isolated one by one, for at least 24 hours",
        frozenset({"pressure-pipe"}),
        "services",
        "at the manifold",
        "now",
        "a plumber's day; water and heating off",
        "live leak: stop it before study; electrician first where water stands",
        _pipes_tested,
    ),
    Act(
        "drain-test",
        "fill the drain plugged and watch the level, with dye and camera where it falls; no dye"
        " found proves nothing",
        frozenset({"drain"}),
        "services",
        "appliances near the wet zone",
        "now",
        "half a day",
        "foul water: contain",
        _answered(("leak_survey", ("found-in-drain",)), ("drain_test", ("held", "fell"))),
    ),
    Act(
        "earlier-record",
        "find the humidities at depth from before covering in the records of the job",
        frozenset({"construction-water"}),
        "depth",
        "records",
        "now",
        "none to the floor",
        "none",
        _shown("before-covering", "seen", "not-seen", "could-not-show"),
        says="against",
        answers_share=0.4,
    ),
    Act(
        "opening",
        "an authorised opening down to the membrane, with its designer",
        frozenset({"ground"}),
        "opening",
        "at the peak, clear of services",
        "after consent",
        "destructive",
        "never pierce a gas, radon or waterproof membrane unasked",
        _answered(
            ("membrane", ("none", "damaged")),
            ("opening", ("membrane-whole", "membrane-damaged", "no-membrane")),
        ),
    ),
    Act(
        "air-log",
        "log air and surface temperature at the cold edge",
        frozenset({"condensation"}),
        "air",
        "coldest place of the zone",
        "14 days",
        "two weeks, a logger",
        "none",
        _shown("dew-point", "seen", "not-seen"),
    ),
    Act(
        "taped-sheet",
        "tape a sheet of metal or film to the bare floor for a day: wet above or below?",
        frozenset({"condensation"}),
        "air",
        "in the zone and beside it",
        "1 day",
        "a patch of bare floor",
        "asbestos in old tile or adhesive: test before lifting",
        _answered(("taped_sheet", ("wet-above", "wet-below", "dry"))),
        says="for",
    ),
    Act(
        "wall-profile",
        "a moisture profile up the wall at the zone, and the levels outside",
        frozenset({"wall"}),
        "opening",
        "wall next to the zone",
        "now",
        "an hour; small holes in plaster",
        "cables in walls",
        _answered(("wall_profile", ("wet-wall", "dry-wall"))),
    ),
    Act(
        "dry-spell",
        "keep the floor dry and log it: no wet cleaning, mats up, threshold covered",
        frozenset({"surface-water"}),
        "time",
        "the zone",
        "14 days",
        "use of the floor",
        "none",
        _answered(("dry_spell", ("fell", "did-not-fall"))),
    ),
    Act(
        "event-record",
        "ask who was there, and search weather and insurance records, for a flood or burst",
        frozenset({"flood"}),
        "history",
        "records",
        "now",
        "none to the floor",
        "none",
        lambda answers, clues: answers.get("flood") is not None,
        answers_share=0.6,
    ),
    Act(
        "insulation-opening",
        "an opening down to the insulation, with a sample of it",
        frozenset({"insulation"}),
        "opening",
        "low side of the zone",
        "now",
        "a core or a lifted edge strip",
        "heating pipes in the screed: locate first",
        _answered(("insulation", ("wet", "dry")), ("build_up", ("slab", "bonded", "timber"))),
    ),
    Act(
        "product-sample",
        "sample the adhesive or compound layer; find batch, product and waiting time",
        frozenset({"adhesive"}),
        "history",
        "in the zone and where the covering holds",
        "now",
        "small samples",
        "asbestos in old adhesive: presume, test before lifting",
        _answered(("adhesive", ("batch-change", "short-wait", "no"))),
    ),
    Act(
        "salt-sample",
        "sample for salts, hygroscopic and free water, before more meter readings",
        frozenset({"salts"}),
        "chemistry",
        "in the zone and beside it",
        "now",
        "two small samples and a laboratory",
        "drilling: read the cautions",
        _shown("salts", "seen", "not-seen"),
    ),
    Act(
        "blister-liquid",
        "collect the liquid of a blister, 500 ml or what there is, for a laboratory",
        frozenset({"osmosis"}),
        "chemistry",
        "a fresh blister",
        "now",
        "a syringe",
        "caustic liquid: gloves and eye protection",
        _never,
    ),
    Act(
        "heating-off",
        "measure temperatures through the floor with the heating off and on",
        frozenset({"summer-reversal"}),
        "time",
        "over a loop and between loops",
        "one week each",
        "heating off for a week",
        "none",
        _answered(("heating", ("no-heating",))),
    ),
    Act(
        "calibrated-test",
        "a calibrated test at the place, with a locator over it first",
        frozenset({"not-water"}),
        "depth",
        "peak of the zone",
        "now",
        "one hole",
        "drilling: read the cautions",
        _shown("wet-in-test", "seen"),
    ),
)
"""What may be done, with what it costs."""
