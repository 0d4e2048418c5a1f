"""One entry of a word table: an English pattern with slots, and how the language says it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

SLOT = re.compile(r"\{(\w+)\}")
SENTENCE_END = re.compile(r"(?<=[.!?])(?<!\b[A-Z]\.)\s+(?=[A-Z{])")
"""Where one sentence ends and the next begins; no slot reaches over it."""

BREAK = re.compile(r"(?<=[.;:,!?…])(?<!\b[A-Z]\.)\s+|\s+·\s+")
"""Where one clause of a text ends and the next begins."""

COUNT_SLOTS = ("n", "m")
"""Slots that hold a number and nothing else, so that ``{n} holes`` is no sentence about holes."""

_COUNT = r"[+-]?\d+(?:\.\d+)?"
_EDGE = " \n,;:."


@dataclass(frozen=True)
class Entry:
    """An entry of a table.

    Attributes
    ----------
    english : str
        With slots such as ``{room}``.
    said : str
        The same in the language; holds the same slots, each once.
    """

    english: str
    said: str

    @cached_property
    def words(self) -> tuple[str, ...]:
        """What stands between the slots, in its order."""
        return tuple(part for part in SLOT.split(self.english)[::2] if part)

    @cached_property
    def weight(self) -> int:
        """Letters that are not in slots: of two entries that fit, the one that says more wins."""
        return sum(len(word) for word in self.words)

    @cached_property
    def spans(self) -> bool:
        """Whether the entry holds more than one clause."""
        return BREAK.search(self.english.strip()) is not None

    @cached_property
    def sentences(self) -> int:
        """Sentence ends inside the entry."""
        return len(SENTENCE_END.findall(self.english))

    @cached_property
    def landmark(self) -> str:
        """The longest whole word of the entry; "" when it has none."""
        marked = SLOT.sub("{}", self.english)
        words = re.findall(r"(?<![\w{}])[A-Za-z]{2,}(?![\w{}])", marked)
        return max(words, key=len, default="")

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        parts = SLOT.split(self.english)
        for at in range(1, len(parts), 2):
            # of slots side by side the first takes all: where one ends nobody can tell
            beside = at > 1 and not parts[at - 1]
            inside = _COUNT if parts[at] in COUNT_SLOTS else "" if beside else ".*?"
            parts[at] = f"(?P<{parts[at]}>{inside})"
        parts[::2] = map(re.escape, parts[::2])
        return re.compile("".join(parts), re.DOTALL)

    def slots_of(self, text: str) -> dict[str, str] | None:
        """Return what stands in the slots when the text is made by this entry, else None."""
        at = 0
        for word in self.words:
            at = text.find(word, at)
            if at < 0:
                return None
            at += len(word)
        found = self._pattern.fullmatch(text)
        return None if found is None else found.groupdict()

    def filled(self, slots: dict[str, str]) -> str:
        """Return the sentence in the language."""
        return SLOT.sub(lambda match: slots[match[1]], self.said)

    def parts(self) -> tuple[Entry, ...]:
        """Return its sentences one by one, where the language says them in the same order."""
        ours, theirs = SENTENCE_END.split(self.english), SENTENCE_END.split(self.said)
        if len(ours) == 1 or len(ours) != len(theirs):
            return ()
        made = tuple(Entry(one, other) for one, other in zip(ours, theirs, strict=True))
        alike = all(set(SLOT.findall(e.english)) == set(SLOT.findall(e.said)) for e in made)
        return made if alike else ()

    def bare(self) -> Entry:
        """Return the entry without blanks and marks at its ends, as it stands by itself."""
        return Entry(self.english.strip(_EDGE), self.said.strip(_EDGE))
