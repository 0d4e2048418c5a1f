"""What a person answered, checked question by question."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from difflib import get_close_matches
from typing import Any

from moisturemap.errors import SurveyError
from moisturemap.floorplan import Room
from moisturemap.investigation.question import NOT_KNOWN, QUESTIONS, Question

MOST_HOURS = 10_000.0

NOTHING = "nothing"
"""Choice of a list of answers that rules the others out."""


@dataclass(frozen=True)
class Answers:
    """Answers by the key of their question; what is not known is absent.

    Attributes
    ----------
    given : dict
        Text, a tuple of texts, a day or a number, by key.
    asked : frozenset of str
        Keys that were put to somebody, ``not-known`` included.
    overruled : dict
        Answers, by key, in whose place stands what the survey says otherwise.
    later : dict of str to date
        Days after the latest reading, by key: not used, as what came later did not make it.
    """

    given: Mapping[str, Any] = field(default_factory=dict)
    asked: frozenset[str] = frozenset()
    overruled: Mapping[str, Any] = field(default_factory=dict)
    later: Mapping[str, date] = field(default_factory=dict)

    @classmethod
    def of(cls, stated: Mapping[str, Any] | None, *, source: str = "answers") -> Answers:
        """Check answers as ``[answers]`` of ``answers.toml`` states them.

        Parameters
        ----------
        stated : mapping or None
            Answers by the key of their question, as in ``QUESTIONS``.
        source : str
            What a refusal names as their place.

        Raises
        ------
        SurveyError
            For a question that is not asked, or an answer it does not allow; names both and what
            is allowed.
        """
        stated = stated or {}
        given: dict[str, Any] = {}
        for key, value in stated.items():
            if key not in QUESTIONS:
                close = get_close_matches(str(key), list(QUESTIONS), n=1)
                meant = f"; did you mean {close[0]!r}?" if close else ""
                raise SurveyError(
                    f"there is no such question{meant}",
                    source=source,
                    place="[answers]",
                    value=key,
                    allowed=", ".join(QUESTIONS),
                )
            if value == NOT_KNOWN:
                continue
            given[key] = _checked(value, QUESTIONS[key], source)
        return cls(given, frozenset(map(str, stated)))

    def get(self, key: str) -> Any:
        """Return an answer, None when it is not known.

        Parameters
        ----------
        key : str
            Of the question.
        """
        return self.given.get(key)

    def with_room(self, room: Room) -> Answers:
        """Return the answers with what the survey says of a room in their place.

        Parameters
        ----------
        room : Room
        """
        told = {}
        for key, question in QUESTIONS.items():
            value = getattr(room.slab, question.room_field) if question.room_field else None
            if value not in (None, ""):
                told[key] = value
        otherwise = {
            key: self.given[key]
            for key, value in told.items()
            if key in self.given and self.given[key] != value
        }
        return Answers({**self.given, **told}, self.asked | frozenset(told), otherwise)

    def with_plan(self, services: bool) -> Answers:
        """Return the answers with pipes that the plan shows, where nobody was asked about them.

        Parameters
        ----------
        services : bool
            Whether a pipe is drawn in the room in question.
        """
        if not services or "pipes" in self.asked:
            return self
        given = {**self.given, "pipes": "drawn"}
        return replace(self, given=given, asked=self.asked | {"pipes"})

    def up_to(self, latest: date | None) -> Answers:
        """Return the answers without days of covering, fault and repair after the readings.

        They count as asked and not known: a floor covered after it was read may have been covered
        before, too.

        Parameters
        ----------
        latest : date or None
            Latest day of the survey.
        """
        if latest is None:
            return self
        days = {key: self.get(key) for key in ("covered", "first_fault", "repaired")}
        later = {k: day for k, day in days.items() if isinstance(day, date) and day > latest}
        given = {key: value for key, value in self.given.items() if key not in later}
        return replace(self, given=given, asked=self.asked | frozenset(later), later=later)

    def event(self, key: str, latest: date | None = None) -> date | None:
        """Return the day of an event that can have wetted the layer, else None.

        Parameters
        ----------
        key : str
        latest : date, optional
            Of the readings: what came later did not make them.
        """
        day, placed = self.get(key), self.get("placed")
        if not isinstance(day, date):
            return None
        early = placed is not None and day < placed
        return None if early or (latest is not None and day > latest) else day

    def check_days(self, latest: date | None) -> None:
        """Refuse days that cannot be in this order.

        Parameters
        ----------
        latest : date or None
            Latest day of the survey.

        Raises
        ------
        SurveyError
            For a layer placed after the latest day, or covered or failed before it was placed, or
            a covering that failed before it was laid.
        """
        covered, fault = self.get("covered"), self.get("first_fault")
        if isinstance(covered, date) and isinstance(fault, date) and fault < covered:
            raise SurveyError(
                "the covering was faulty before it was laid",
                place="first_fault",
                value=fault.isoformat(),
                allowed=f"from the day of covering on, {covered.isoformat()}",
            )
        placed = self.get("placed")
        if placed is None:
            return
        if latest is not None and placed > latest:
            raise SurveyError(
                "the layer was placed after it was read",
                place="placed",
                value=placed.isoformat(),
                allowed=f"up to the latest day of the survey, {latest.isoformat()}",
            )
        for key, words in (("covered", "covered"), ("first_fault", "faulty")):
            day = self.get(key)
            if day is not None and day < placed:
                raise SurveyError(
                    f"the layer was {words} before it was placed",
                    place=key,
                    value=day.isoformat(),
                    allowed=f"from the day of placing on, {placed.isoformat()}",
                )

    def open_questions(self) -> Iterator[Question]:
        """Questions that nobody answered yet."""
        for key, question in QUESTIONS.items():
            if key not in self.asked and not _follows_up(key, self):
                yield question


def _follows_up(key: str, answers: Answers) -> bool:
    """Whether a question is moot after another answer."""
    if key == "pressure_test_hours":
        return answers.get("pressure_test") not in ("held", "fell")
    if key == "repaired_what":
        return answers.get("repaired") in (None, "none")
    return False


def _checked(value: Any, question: Question, source: str) -> Any:
    kind = question.kind
    if kind == "choice" and value in question.choices:
        return value
    if kind == "several":
        listed = [value] if isinstance(value, str) else value
        if isinstance(listed, list | tuple) and all(one in question.choices for one in listed):
            if NOTHING in listed and len(set(listed)) > 1:
                raise SurveyError(
                    "something and nothing cannot both have been seen",
                    source=source,
                    place=f"[answers] {question.key}",
                    value=", ".join(listed),
                    allowed=f"{NOTHING} by itself, or what was seen",
                )
            return tuple(dict.fromkeys(listed))
    if kind in ("date", "date-or-none"):
        if kind == "date-or-none" and value == "none":
            return value
        found = _day(value)
        if found is not None:
            return found
    hours = _number(value) if kind == "hours" else None
    if hours is not None and 0.0 <= hours <= MOST_HOURS:
        return hours
    if kind == "text" and isinstance(value, str):
        return value
    raise SurveyError(
        "this answer cannot be used",
        source=source,
        place=f"[answers] {question.key}",
        value=value,
        allowed=question.allowed,
    )


def _number(value: Any) -> float | None:
    """Read a number, or a text with a decimal comma or point."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    try:
        return float(value.strip().replace(",", ".")) if isinstance(value, str) else None
    except ValueError:
        return None


def _day(value: Any) -> date | None:
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    try:
        return date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None
