"""Work on all cores: the same numbers as on one, in order, stopped by what a report raises."""

from __future__ import annotations

import threading

import numpy as np
import pytest

from moisturemap.anomalies.rises import Rises
from moisturemap.anomalies.sides import DIRECTIONS
from moisturemap.errors import OptionError
from moisturemap.geostat import BlendedKriging, BlendOptions, each, fit_covariance, work_through
from moisturemap.geostat.workers import THREADS


def mapped(engine: str) -> tuple[np.ndarray, ...]:
    """Fit readings, krige cells and draw some of them."""
    rng = np.random.default_rng(3)
    points = rng.uniform(0.0, 12.0, (170, 2))
    values = np.sin(points[:, 0]) + rng.normal(0.0, 0.2, 170)
    cells = rng.uniform(0.0, 12.0, (900, 2))
    options = BlendOptions(engine=engine)
    kriging = BlendedKriging(points, values, fit_covariance(points, values), options=options)
    return (*kriging.predict(cells), kriging.draws(cells[:60], 20, 5))


@pytest.mark.parametrize("engine", ["exact", "tiles"])
def test_one_core_and_several_give_the_same_map_to_the_bit(engine, monkeypatch):
    found = []
    for count in ("1", "3"):
        monkeypatch.setenv(THREADS, count)
        found.append(mapped(engine))
    for one, other in zip(*found, strict=True):
        np.testing.assert_array_equal(one, other)


def test_one_core_and_several_give_the_same_odds_of_hidden_things_to_the_bit(monkeypatch):
    rng = np.random.default_rng(4)
    shape = (60, DIRECTIONS)
    over, beside = rng.normal(0.0, 1.0, shape), rng.uniform(0.0, 1.0, shape)
    places = rng.uniform(0.0, 6.0, (60, 2))
    rises = Rises(places, over, beside, 1.0, 0.8, 0.15, np.zeros(60))
    asked, found = rng.uniform(0.0, 6.0, (2400, 2)), []
    for count in ("1", "3"):
        monkeypatch.setenv(THREADS, count)
        found.append(rises.log_odds(asked, 0.1))
    np.testing.assert_array_equal(*found)


@pytest.mark.parametrize("count", ["1", "2"])
def test_results_come_in_order_and_the_first_error_is_raised(count, monkeypatch):
    monkeypatch.setenv(THREADS, count)
    assert each(range(9), lambda one: one * one) == [one * one for one in range(9)]
    with pytest.raises(ZeroDivisionError):
        each([2, 0, 1], lambda one: 1 / one)


@pytest.mark.parametrize("count", ["1", "2"])
def test_what_a_report_raises_ends_the_work(count, monkeypatch):
    monkeypatch.setenv(THREADS, count)
    done: list[float] = []

    def report(share: float) -> None:
        done.append(share)
        if share > 0.2:
            raise InterruptedError

    collected: list[int] = []
    with pytest.raises(InterruptedError):
        work_through(range(10), lambda one: one, collected.append, report)
    assert done == [0.0, 0.1, 0.2, 0.3]
    assert collected == [0, 1, 2]


def test_as_many_cores_work_as_are_asked_for(monkeypatch):
    monkeypatch.setenv(THREADS, "3")
    together = threading.Barrier(3, timeout=20.0)
    assert sorted(each(range(3), lambda _: together.wait())) == [0, 1, 2]
    monkeypatch.setenv(THREADS, "1")
    here = threading.get_ident()
    assert each(range(3), lambda _: threading.get_ident()) == [here] * 3


@pytest.mark.parametrize("wrong", ["0", "-1", "two", "1.5"])
def test_cores_that_are_no_number_are_refused(wrong, monkeypatch):
    monkeypatch.setenv(THREADS, wrong)
    with pytest.raises(OptionError, match="whole number"):
        each(range(3), abs)
