"""Frozen inputs that refuse what they cannot mean, declared at the field.

``@checked`` stands between ``@dataclass(frozen=True)`` and the class. Each field is held against
its annotation and the rules written beside it::

    @dataclass(frozen=True, kw_only=True)
    @checked
    class GridOptions:
        spacing: Annotated[float | None, within(0.05, 10, "m")] = None
        order: Annotated[str, one_of("rows", "columns")] = "rows"

A wrong value raises ``OptionError`` naming class, field, value and what is allowed. What depends on
several fields at once stays in the ``__post_init__`` of the class, which runs after these checks.
"""

from __future__ import annotations

import math
import types
from collections.abc import Callable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, fields
from functools import cache
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

import numpy as np

from moisturemap.errors import OptionError

C = TypeVar("C", bound=type)


@dataclass(frozen=True)
class Rule:
    """What a value must satisfy, and the words that say so.

    Attributes
    ----------
    holds : callable
        Takes the value (each item of a tuple), returns whether it is allowed.
    allowed : str
        The same in words.
    """

    holds: Callable[[Any], bool]
    allowed: str


def within(low: float, high: float, unit: str = "") -> Rule:
    """Allow numbers from `low` to `high`, both included."""
    return Rule(lambda value: bool(low <= value <= high), f"{low:g} to {high:g} {unit}".rstrip())


def between(low: float, high: float, unit: str = "") -> Rule:
    """Allow numbers above `low` and below `high`."""
    words = f"more than {low:g}, less than {high:g} {unit}".rstrip()
    return Rule(lambda value: bool(low < value < high), words)


def at_least(low: float, unit: str = "") -> Rule:
    """Allow numbers from `low` on."""
    return Rule(lambda value: bool(value >= low), f"{low:g} {unit}".rstrip() + " or more")


def above(low: float, unit: str = "") -> Rule:
    """Allow numbers greater than `low`."""
    return Rule(lambda value: bool(value > low), f"more than {low:g} {unit}".rstrip())


ZONED = Rule(
    lambda value: value.tzinfo is not None, "a time with its zone, such as 09:30 at +00:00"
)
"""A time that says in which zone it is."""


def one_of(*choices: Any) -> Rule:
    """Allow the values listed and no other."""
    return Rule(lambda value: value in choices, ", ".join(map(str, choices)))


MAY_BE_INFINITE = Rule(lambda value: True, "a number, or infinity")
"""Lets a float be infinite; without it only finite numbers are allowed."""

MAY_BE_NAN = Rule(lambda value: True, "a number, infinity or NaN for not known")
"""Lets a float be anything."""

SHARE = within(0.0, 1.0)
"""A share of a whole, 0 to 1."""

CHANCE = between(0.0, 1.0)
"""A probability that is neither impossible nor certain."""

POSITIVE = above(0.0)
NOT_NEGATIVE = at_least(0.0)

TRUTHS, WHOLE = (bool, np.bool_), (int, np.integer)
NUMBERS = (*WHOLE, float, np.floating)

WORDS: Mapping[Any, str] = {
    float: "a finite number",
    int: "a whole number",
    bool: "true or false",
    str: "text",
    type(None): "nothing",
}


def checked(cls: C) -> C:
    """Let a data class refuse field values that its annotations and rules do not allow.

    Put it directly above the class, below ``@dataclass``.

    Raises
    ------
    OptionError
        On making an object with a wrong value: class, field, value and what is allowed.
    """
    further: Callable[[Any], None] | None = cls.__dict__.get("__post_init__")

    def __post_init__(self: Any) -> None:
        check_fields(self)
        if further is not None:
            further(self)

    cls.__post_init__ = __post_init__  # type: ignore[attr-defined]
    return cls


def check_fields(made: Any) -> None:
    """Hold every field of a data class object against its annotation and rules.

    Raises
    ------
    OptionError
    """
    kind: Any = type(made)
    for name, (annotation, rules) in _annotations(kind).items():
        value = getattr(made, name)
        allowed = refusal(value, annotation, rules)
        if allowed:
            message = f"{kind.__name__} cannot have this {name}"
            raise OptionError(message, value=value, allowed=allowed)


@cache
def _annotations(kind: Any) -> dict[str, tuple[Any, tuple[Rule, ...]]]:
    """Return the annotation and the rules of each field: taken apart once, as many are made."""
    hints = get_type_hints(kind, include_extras=True)
    return {one.name: _taken_apart(hints[one.name]) for one in fields(kind) if one.init}


def _taken_apart(annotation: Any) -> tuple[Any, tuple[Rule, ...]]:
    if get_origin(annotation) is not Annotated:
        return annotation, ()
    inner, *extras = get_args(annotation)
    return inner, tuple(one for one in extras if isinstance(one, Rule))


def refusal(value: Any, annotation: Any, rules: tuple[Rule, ...] = ()) -> str:
    """Return what would be allowed instead of a value, or "" where the value is.

    Parameters
    ----------
    value : object
    annotation : object
        A type as written at a field, ``Annotated`` with rules or plain.
    rules : tuple of Rule
        Rules that hold for the value besides those inside the annotation.
    """
    origin = None if type(annotation) is type else get_origin(annotation)
    if origin is Annotated:
        inner, further = _taken_apart(annotation)
        return refusal(value, inner, (*rules, *further))
    if origin in (Union, types.UnionType):
        return _refused_by_all(value, get_args(annotation), rules)
    if origin is tuple:
        return _tuple_refusal(value, get_args(annotation), rules)
    wrong = _wrong_kind(value, annotation, rules)
    if wrong or value is None:
        return wrong
    return next((one.allowed for one in rules if not one.holds(value)), "")


def _refused_by_all(value: Any, choices: tuple[Any, ...], rules: tuple[Rule, ...]) -> str:
    if value is None and type(None) in choices:
        return ""
    answers = [refusal(value, one, rules) for one in choices if one is not type(None)]
    if "" in answers:
        return ""
    words = list(dict.fromkeys(answers)) + (["nothing"] if type(None) in choices else [])
    return ", or ".join(words)


def _tuple_refusal(value: Any, items: tuple[Any, ...], rules: tuple[Rule, ...]) -> str:
    if not isinstance(value, tuple):
        return "a tuple"
    if len(items) == 2 and items[1] is Ellipsis:
        answers = (refusal(one, items[0], rules) for one in value)
        return next((f"a tuple of: {words}" for words in answers if words), "")
    if len(value) != len(items):
        return f"{len(items)} values"
    pairs = zip(value, items, strict=True)
    return next((words for one, kind in pairs if (words := refusal(one, kind, rules))), "")


def _wrong_kind(value: Any, annotation: Any, rules: tuple[Rule, ...]) -> str:
    if annotation is Any or isinstance(annotation, TypeVar):
        return ""
    if annotation is float:
        return _wrong_number(value, rules)
    if annotation is int:
        whole = isinstance(value, WHOLE) and not isinstance(value, bool)
        return "" if whole else WORDS[int]
    if annotation is bool:
        return "" if isinstance(value, TRUTHS) else WORDS[bool]
    if get_origin(annotation) is Literal:
        choices = get_args(annotation)
        return "" if value in choices else ", ".join(map(str, choices))
    kind = get_origin(annotation) or annotation
    if kind in (Callable, type):
        return "" if callable(value) else "a function"
    if kind in (Sequence, AbstractSet) and isinstance(value, str):
        return "several values, not one text"
    if isinstance(kind, type) and not isinstance(value, kind):
        return WORDS.get(kind, kind.__name__)
    return ""


def _wrong_number(value: Any, rules: tuple[Rule, ...]) -> str:
    number = isinstance(value, NUMBERS)
    if not number or isinstance(value, bool):
        return WORDS[float]
    if math.isfinite(value) or MAY_BE_NAN in rules:
        return ""
    endless = MAY_BE_INFINITE in rules and not math.isnan(value)
    return "" if endless else WORDS[float]


def require(value: object, kind: type | tuple[type, ...], name: str, allowed: str) -> None:
    """Refuse an argument of another type, naming what was found and what is allowed.

    Raises
    ------
    OptionError
    """
    if not isinstance(value, kind):
        message = f"{name} is of the wrong type"
        raise OptionError(message, value=type(value).__name__, allowed=allowed)
