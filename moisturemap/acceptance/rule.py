"""Rules as cited data: what makes a calibrated test count, how many are needed, and where."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, asdict, dataclass, fields, replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from moisturemap.base_material import MATERIALS
from moisturemap.checked import checked
from moisturemap.errors import InputError, OptionError
from moisturemap.survey import SURENESS, TEST_METHODS, CountRule, packaged_counts

EFFECTS = ("invalid", "not-for-limit", "widen", "remark")
"""What breaking a rule does: the test cannot speak for the floor; it serves the depth profile but
is not judged by the limit; its uncertainty grows; it counts, with a remark."""


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class Rule:
    """What a test record must show.

    Attributes
    ----------
    id : str
    methods : tuple of str
        Test methods it holds for.
    measure : str
        What is looked at; a key of ``measure.MEASURES``.
    at_least, at_most, above : float or None
        Bounds [`unit`].
    is_ : bool or None
        For a measure that is yes or no (``is`` in the file).
    unit : str
    effect : str
        One of ``EFFECTS``.
    missing : str
        What it does when the record does not say: an effect, or ``ignore``. What is left blank
        should not count for more than what breaks the rule.
    widens : float
        Expanded uncertainty (k = 2) a test gets by the effect ``widen``, first unit of the method.
    editions : tuple of str
        Editions it holds for; empty for all.
    default : bool
        Holds too where the record names no edition, or one that no rule knows.
    faces : int or None
        Holds for slabs with that many drying faces only.
    heated : bool or None
        Holds for heated (or unheated) layers only.
    thicker_mm : float or None
        Holds for layers thicker than this only [mm].
    made_of, not_made_of : tuple of str
        Materials of the layer it holds for, or does not, of ``base_material.MATERIALS``.
    base_has, surface_has : tuple of str
        Words the material must contain, and with which a word on the surface must begin, for the
        rule to hold; "unsealed" and "not sealed" are not "sealed".
    words, note : str
        What is meant, and why it matters.
    fault : str
        What to say when a rule that is yes or no is not kept.
    document, source : str
        What the rule is from, and how it is known here.
    sureness : str
        One of ``SURENESS``.
    """

    id: str
    methods: tuple[str, ...]
    measure: str
    words: str
    document: str
    source: str
    sureness: str
    effect: str = "invalid"
    missing: str = "invalid"
    widens: float = 0.0
    at_least: float | None = None
    at_most: float | None = None
    above: float | None = None
    is_: bool | None = None
    unit: str = ""
    editions: tuple[str, ...] = ()
    default: bool = False
    faces: int | None = None
    heated: bool | None = None
    thicker_mm: float | None = None
    made_of: tuple[str, ...] = ()
    not_made_of: tuple[str, ...] = ()
    base_has: tuple[str, ...] = ()
    surface_has: tuple[str, ...] = ()
    note: str = ""
    fault: str = ""

    @property
    def after(self) -> str:
        """Unit as it stands after a number: ``40% of the thickness``, but ``85 %RH``."""
        return self.unit if not self.unit or self.unit.startswith("% ") else f" {self.unit}"

    @property
    def allowed(self) -> str:
        """What the rule asks for, in words."""
        unit = self.after
        if self.at_least is not None and self.at_most is not None:
            return f"{self.at_least:g} to {self.at_most:g}{unit}"
        if self.is_ is not None:
            return ""
        parts = []
        if self.at_least is not None:
            parts.append(f"at least {self.at_least:g}{unit}")
        if self.above is not None:
            parts.append(f"above {self.above:g}{unit}")
        if self.at_most is not None:
            parts.append(f"at most {self.at_most:g}{unit}")
        return " and ".join(parts)

    def keeps(self, value: float | bool) -> bool:
        """Whether a measured value keeps the rule."""
        if self.is_ is not None:
            return bool(value) is self.is_
        return not (
            (self.at_least is not None and value < self.at_least)
            or (self.at_most is not None and value > self.at_most)
            or (self.above is not None and value <= self.above)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class PlaceRule:
    """Where tests must be, and in which air.

    Attributes
    ----------
    id : str
    kind : str
        ``exterior-wall``, ``wettest-zone``, ``room``, ``pour``, ``spread``; or ``conditions`` of
        the room air.
    methods : tuple of str
    within_m : float
        How near counts [m].
    required : bool
        False when it only advises.
    words, document, source, sureness : str
    """

    id: str
    kind: str
    methods: tuple[str, ...]
    words: str
    document: str
    source: str
    sureness: str
    within_m: float = 0.0
    required: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class AgeRule:
    """How old the oldest test may be [days]."""

    id: str
    at_most_days: float
    words: str
    document: str
    source: str
    sureness: str


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class UncertaintyRule:
    """A part of the uncertainty of a result, expanded (k = 2), used where the record has none.

    Attributes
    ----------
    id : str
    methods : tuple of str
    component : str
        ``instrument`` is replaced by the certificate of the instrument where it states one.
    value : float
        [`unit`]
    share : float
        Fraction of the result, instead of a value.
    unit, words, source, sureness : str
    """

    id: str
    methods: tuple[str, ...]
    component: str
    words: str
    source: str
    sureness: str
    value: float = 0.0
    share: float = 0.0
    unit: str = ""


AnyRule = Rule | CountRule | PlaceRule | AgeRule | UncertaintyRule

_KINDS: dict[str, type[AnyRule]] = {
    "rule": Rule,
    "count": CountRule,
    "place": PlaceRule,
    "age": AgeRule,
    "uncertainty": UncertaintyRule,
}


@dataclass(frozen=True)
class RuleBook:
    """All rules in force, by id.

    Attributes
    ----------
    rules, counts, places, ages, uncertainties : dict
        Rules of each kind.
    sources : tuple of str
        Files they were read from, in order.
    altered : tuple of str
        Rules of the package that a later file changed, added or dropped.
    """

    rules: dict[str, Rule]
    counts: dict[str, CountRule]
    places: dict[str, PlaceRule]
    ages: dict[str, AgeRule]
    uncertainties: dict[str, UncertaintyRule]
    sources: tuple[str, ...] = ()
    altered: tuple[str, ...] = ()

    def with_file(self, path: Path | str) -> RuleBook:
        """Return the book changed by a user's file of rules.

        Raises
        ------
        InputError
            Naming the file, the rule, the value and what is allowed.
        """
        path = Path(path)
        try:
            content = tomllib.loads(path.read_text(encoding="utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as wrong:
            message = f"not a file of rules in TOML: {wrong}"
            raise InputError(message, source=path.name) from wrong
        return self.changed(content, path.name)

    def changed(self, content: Mapping[str, Any], source: str) -> RuleBook:
        """Return the book with the rules of a parsed file replaced, added or dropped."""
        books: dict[str, dict[str, Any]] = {
            "rule": dict(self.rules),
            "count": dict(self.counts),
            "place": dict(self.places),
            "age": dict(self.ages),
            "uncertainty": dict(self.uncertainties),
        }
        for kind, tables in content.items():
            if kind not in books:
                message = "no such kind of rule"
                raise InputError(message, source=source, value=kind, allowed=", ".join(books))
            if not isinstance(tables, list) or not all(isinstance(one, dict) for one in tables):
                message = f"rules stand in tables, each under its own heading [[{kind}]]"
                raise InputError(message, source=source, value=kind)
            for number, table in enumerate(tables, start=1):
                _apply(books[kind], kind, dict(table), f"{source}, [[{kind}]] {number}")
        return RuleBook(
            books["rule"],
            books["count"],
            books["place"],
            books["age"],
            books["uncertainty"],
            (*self.sources, source),
            self._altered(content),
        )

    def _altered(self, content: Mapping[str, Any]) -> tuple[str, ...]:
        if not self.sources:
            return ()
        named = [str(table["id"]) for tables in content.values() for table in tables]
        return tuple(dict.fromkeys([*self.altered, *named]))

    def citations(self, ids: Iterable[str]) -> list[dict[str, Any]]:
        """Return rules by id as plain rows: id, words, document, source, sureness."""
        every: dict[str, AnyRule] = {
            **self.rules,
            **self.counts,
            **self.places,
            **self.ages,
            **self.uncertainties,
        }
        wanted = ("id", "words", "document", "source", "sureness")
        return [
            {name: asdict(every[one]).get(name, "") for name in wanted}
            for one in ids
            if one in every
        ]


def _apply(book: dict[str, Any], kind: str, table: dict[str, Any], place: str) -> None:
    """Replace, add or drop one rule."""
    key = table.get("id")
    if not isinstance(key, str) or not key:
        message = "a rule needs an id"
        raise InputError(message, place=place)
    if table.pop("off", False):
        book.pop(key, None)
        return
    if "is" in table:
        table["is_"] = table.pop("is")
    shape: Any = _KINDS[kind]
    known = {field.name: field for field in fields(shape)}
    for name in table:
        if name not in known:
            message = "a rule has no such entry"
            allowed = ", ".join(one.rstrip("_") for one in known)
            raise InputError(message, place=place, value=name, allowed=allowed)
    values = {name: tuple(v) if isinstance(v, list) else v for name, v in table.items()}
    needed = [name for name, field in known.items() if field.default is MISSING]
    lacking = [name for name in needed if name not in values]
    if key not in book and lacking:
        message = f"a new rule must state {', '.join(lacking)}"
        raise InputError(message, place=place, value=key)
    try:
        made = replace(book[key], **values) if key in book else shape(**values)
    except OptionError as wrong:
        raise InputError(
            wrong.message, place=f"{place}, {key}", value=wrong.value, allowed=wrong.allowed
        ) from wrong
    _check_words(made, place)
    book[key] = made


def _check_words(rule: AnyRule, place: str) -> None:
    choices = {
        "sureness": SURENESS,
        "effect": EFFECTS,
        "missing": (*EFFECTS, "ignore"),
        "units": ("metric", "feet", "any"),
        "kind": ("exterior-wall", "wettest-zone", "room", "pour", "spread", "conditions"),
    }
    for name, allowed in choices.items():
        value = getattr(rule, name, None)
        if value is not None and value not in allowed:
            message = f"unknown {name}"
            raise InputError(message, place=place, value=value, allowed=", ".join(allowed))
    for material in (*getattr(rule, "made_of", ()), *getattr(rule, "not_made_of", ())):
        if material not in MATERIALS:
            message = "unknown material"
            raise InputError(message, place=place, value=material, allowed=", ".join(MATERIALS))
    for method in getattr(rule, "methods", ()):
        if method not in TEST_METHODS:
            message = "unknown test method"
            raise InputError(message, place=place, value=method, allowed=", ".join(TEST_METHODS))


@cache
def packaged_rules() -> RuleBook:
    """Return the rules that come with the package."""
    text = files("moisturemap.acceptance").joinpath("rules.toml").read_text(encoding="utf-8")
    counts = {rule.id: rule for rule in packaged_counts()}
    return RuleBook({}, counts, {}, {}, {}).changed(tomllib.loads(text), "rules.toml")
