"""Frozen inputs refuse what they cannot mean."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
import pytest

import moisturemap
from moisturemap.checked import (
    CHANCE,
    MAY_BE_INFINITE,
    MAY_BE_NAN,
    POSITIVE,
    at_least,
    checked,
    one_of,
    within,
)
from moisturemap.errors import OptionError


@dataclass(frozen=True, kw_only=True, slots=True)
@checked
class Sample:
    """One field of each sort."""

    length: Annotated[float, POSITIVE] = 1.0
    share: Annotated[float | None, within(0, 1)] = None
    order: Annotated[str, one_of("rows", "columns")] = "rows"
    count: Annotated[int, at_least(1)] = 1
    places: Annotated[tuple[tuple[float, float], ...], within(-10, 10, "m")] = ()
    end: Annotated[float, MAY_BE_INFINITE] = 1.0
    unknown: Annotated[float, MAY_BE_NAN] = float("nan")
    kind: Literal["a", "b"] = "a"
    path: Path | str = "x"
    firm: bool = True


@pytest.mark.parametrize(
    ("field", "value", "allowed"),
    [
        ("length", 0, "more than 0"),
        ("length", "3", "a finite number"),
        ("length", float("nan"), "a finite number"),
        ("length", float("inf"), "a finite number"),
        ("length", True, "a finite number"),
        ("share", 1.5, "0 to 1, or nothing"),
        ("order", "spiral", "rows, columns"),
        ("order", 3, "text"),
        ("count", 0, "1 or more"),
        ("count", 1.5, "a whole number"),
        ("places", ((1.0,),), "a tuple of: 2 values"),
        ("places", ((1.0, 99.0),), "a tuple of: -10 to 10 m"),
        ("places", [(1.0, 2.0)], "a tuple"),
        ("end", float("nan"), "a finite number"),
        ("kind", "c", "a, b"),
        ("path", 3, "Path, or text"),
        ("firm", 1, "true or false"),
    ],
)
def test_a_wrong_value_is_refused_with_field_value_and_allowed(
    field: str, value: Any, allowed: str
) -> None:
    """The refusal names all that somebody needs to mend it."""
    with pytest.raises(OptionError) as refused:
        Sample(**{field: value})
    assert refused.value.allowed == allowed
    assert refused.value.value is value
    assert field in refused.value.message


def test_right_values_pass_numpy_numbers_too() -> None:
    """A numpy number is a number."""
    made = Sample(length=np.float32(2), count=np.int64(3), end=float("inf"), places=((1, 2),))
    assert made.count == 3


def test_further_checks_of_the_class_still_run() -> None:
    """A rule over several fields stays with the class."""

    @dataclass(frozen=True)
    @checked
    class Pair:
        low: float
        high: float

        def __post_init__(self) -> None:
            if self.low > self.high:
                raise OptionError("the ends are reversed", value=(self.low, self.high))

    assert Pair(1, 2).high == 2
    with pytest.raises(OptionError, match="reversed"):
        Pair(2, 1)


def test_an_open_probability_excludes_its_ends() -> None:
    """Zero and one are no significance."""
    assert CHANCE.holds(0.5)
    assert not CHANCE.holds(0.0)
    assert not CHANCE.holds(1.0)


def _public_options() -> list[type]:
    seen = set()
    for found in pkgutil.walk_packages(moisturemap.__path__, "moisturemap."):
        if ".web" in found.name or found.name.endswith("__main__"):
            continue
        module = importlib.import_module(found.name)
        for name, kind in inspect.getmembers(module, inspect.isclass):
            mine = kind.__module__ == found.name and not name.startswith("_")
            if mine and name.endswith("Options") and dataclasses.is_dataclass(kind):
                seen.add(kind)
    return sorted(seen, key=lambda kind: kind.__qualname__)


class Meaningless:
    """A thing no field of an option can mean."""


@pytest.mark.parametrize("options", _public_options(), ids=lambda kind: kind.__name__)
def test_every_option_refuses_a_wrong_value_of_each_field(options: type) -> None:
    """No option of the package takes a value that it cannot mean."""
    needed = {
        one.name: None
        for one in dataclasses.fields(options)
        if one.default is dataclasses.MISSING and one.default_factory is dataclasses.MISSING
    }
    assert not needed, f"{options.__name__} has options without a default"
    for field in dataclasses.fields(options):
        if field.init:
            with pytest.raises(OptionError, match=field.name):
                options(**{field.name: Meaningless()})
