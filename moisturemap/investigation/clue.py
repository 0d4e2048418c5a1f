"""A clue: one thing looked at, what it showed, and which causes it speaks for or against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moisturemap.checked import checked, one_of

KINDS = ("plan", "depth", "time", "air", "opening", "services", "chemistry", "history")
"""Kinds of evidence. Support is counted by kind, so that one fact told twice counts once."""

MEASURED = ("plan", "depth", "time", "air", "opening", "chemistry")
"""Kinds that rest on measurements, or on a place that was opened and looked at; the others are what
somebody answered."""

STATES = ("seen", "not-seen", "not-looked-at", "could-not-show")
"""Seen; looked for and not seen; not looked at; looked at where it could not have shown."""

SPECIFIC = 3
"""A clue that speaks for more causes than this tells none of them from the others, and counts as no
kind of evidence for any (our choice)."""

MARKS = ("for", "against", "silent", "not-asked")


@dataclass(frozen=True)
@checked
class Clue:
    """One thing looked at.

    Attributes
    ----------
    key : str
    kind : str
        One of ``KINDS``.
    state : str
        One of ``STATES``.
    sentence : str
        What was found, with its value.
    value : float or None
    threshold : str
        What the value is held against.
    source : str
        Of the threshold or of the sign.
    speaks_for, speaks_against : tuple of str
        Causes; empty unless something was seen or not seen.
    excludes : tuple of str
        Causes a valid measurement contradicts.
    finds : tuple of str
        Causes that were found: somebody opened, tested or looked at the thing itself.
    """

    key: str
    kind: Annotated[str, one_of(*KINDS)]
    state: Annotated[str, one_of(*STATES)]
    sentence: str
    value: float | None = None
    threshold: str = ""
    source: str = ""
    speaks_for: tuple[str, ...] = ()
    speaks_against: tuple[str, ...] = ()
    excludes: tuple[str, ...] = ()
    finds: tuple[str, ...] = ()

    @property
    def specific(self) -> bool:
        """Whether what it speaks for are few enough causes to count."""
        return len(self.speaks_for) <= SPECIFIC

    def mark(self, cause: str) -> str:
        """Return what it says of a cause, one of ``MARKS``.

        Parameters
        ----------
        cause : str
            A key of ``CAUSES``.
        """
        if cause in self.excludes or cause in self.speaks_against:
            return "against"
        if cause in self.speaks_for:
            return "for"
        return "not-asked" if self.state == "not-looked-at" else "silent"


def not_looked_at(key: str, kind: str, sentence: str) -> Clue:
    """Return a clue nobody looked for."""
    return Clue(key, kind, "not-looked-at", sentence)
