"""Published failures, told in answers: the causes that stay open are those the accounts leave.

The accounts hold no depth profiles, so only rules speak. The humidity of boards is no reading of a
slab: of the cupped boards only what was found and seen is told.
"""

from __future__ import annotations

from moisturemap.investigation import Answers, Standing
from moisturemap.investigation.history_clues import history_clues
from moisturemap.investigation.standing import standings


def told(**answers: object) -> dict[str, Standing]:
    found = standings(history_clues(Answers.of(answers)), None)
    return {one.cause: one for one in found}


def test_bubbled_coating_on_a_thick_slab() -> None:
    """Concrete Construction, "Bubbled slab surface": construction water or ground stay open.

    450 mm placed in November 2000, epoxy in July 2001, water bubbles in August, mostly under mats;
    the membrane was not seen. Osmosis is open beside them; pipes were not looked at.
    """
    stands = told(
        placed="2000-11-15",
        covered="2001-07-15",
        first_fault="2001-08-15",
        membrane="drawing-only",
        seen=["blisters", "under-mats"],
    )
    for cause in ("construction-water", "ground", "osmosis"):
        assert stands[cause].standing == "open", cause
    assert "ground" in stands["construction-water"].alike
    assert stands["pressure-pipe"].standing == "not-looked-at"


def test_wet_floor_in_humid_air() -> None:
    """Concrete Construction, "From above or below": the air wets the floor.

    Air of 79 to 85 %RH, wet on top, dry chips, a taped metal sheet wet on top.
    """
    stands = told(taped_sheet="wet-above")
    assert stands["condensation"].standing == "open"
    assert "air" in stands["condensation"].kinds_for
    assert stands["ground"].kinds_against == {"air"}
    order = list(stands)
    assert order[0] == "condensation"


def test_salts_at_the_joints_of_a_store() -> None:
    """Concrete Construction: moisture from the ground.

    50,000 ft2 of tile, salts at joints, a retarder punctured under stone.
    """
    stands = told(membrane="damaged", seen=["salts", "at-joints"])
    assert stands["ground"].standing == "open"
    assert next(iter(stands)) == "ground"
    assert len(stands["ground"].why_for) == 3


def test_a_negative_leak_survey_in_a_flat() -> None:
    """A negative survey leaves the leak open or not looked at (second-hand account).

    Five surveyors called it damp from the ground; the leak was found later.
    """
    stands = told(leak_survey="nothing-found", pipes="likely")
    assert stands["pressure-pipe"].standing != "against"
    assert stands["drain"].standing != "against"
    assert not stands["pressure-pipe"].why_against


def test_boards_cupped_near_a_leak_and_everywhere_else() -> None:
    """Wood Floor Business: two causes, the leak and something that cups dry boards too.

    Boards at up to 28% near an ice maker that leaked, 9 to 10% elsewhere, all of them cupped.
    """
    stands = told(build_up="timber", leak_survey="found-in-pipe", seen=["elsewhere-too"])
    still = [cause for cause, one in stands.items() if one.standing == "open"]
    assert still == ["pressure-pipe", "other"]
    assert "pressure-pipe" in stands["other"].alike
    alone = told(build_up="timber", leak_survey="found-in-pipe")
    assert alone["other"].standing == "not-looked-at"
