"""A tested value is never written on or across what it is held against."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moisturemap.acceptance import limit_value
from moisturemap.acceptance.verdict import limit_words, percent, value_words
from moisturemap.quantities import beside, spoken_figures, three_figures
from moisturemap.survey import Limit

VALUES = st.floats(0.0, 120.0)


@given(VALUES, VALUES, st.integers(0, 2))
def test_a_rounded_number_stays_on_its_side(value: float, bound: float, decimals: int) -> None:
    """Whatever the number and the bound, they compare as written as they do unrounded."""
    told = float(beside(value, bound, decimals=decimals))
    if abs(value - bound) > 2e-6:
        assert (told > bound) == (value > bound)
        assert (told < bound) == (value < bound)


def test_no_more_figures_than_the_bound_asks_for() -> None:
    """Far from every bound a value keeps the figures tests are read with."""
    assert three_figures(82.74, 85.0) == "82.7"
    assert three_figures(84.96, 85.0) == "84.96"
    assert spoken_figures(11.99, 12.0) == "11.99"
    assert spoken_figures(11.99) == "12"
    assert three_figures(2.0) == "2.00"
    assert beside(85.3, 85.0, None, decimals=0) == "85.3"
    assert beside(85.0, 85.0, decimals=0) == "85"


@given(st.floats(1.0, 40.0), st.floats(0.5, 30.0))
def test_a_converted_limit_and_its_result_compare_as_they_do(grams: float, value: float) -> None:
    """A limit in g/m2 is said in lb too; what is printed of both still stands the right way."""
    limit = Limit("mver", grams, "g/m2/24 h", "an invented sheet")
    bound = limit_value(limit)
    if abs(value - bound) > 1e-5:
        shown = float(value_words(value, limit))
        stated = float(limit_words(limit, value).split(", ")[1].split()[0])
        assert (shown > stated) == (value > bound)


@pytest.mark.parametrize(("chance", "told"), [(0.0504, "5.04%"), (0.05, "5.0%"), (0.3, "30%")])
def test_a_chance_stays_on_its_side_of_the_accepted_risk(chance: float, told: str) -> None:
    """5.04% is not accepted where 5% is, and is not printed as that."""
    assert percent(chance, 0.05) == told
