"""An English text written again in another language, by the entries it is made of.

A text is an entry of the table; or an entry whose slots hold numbers, names and further texts; or
several of these one after the other. Of all readings of a text the one that leaves fewest words
unknown is taken; what is unknown - a name, somebody's own note - stays as it was written.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice

from moisturemap.language.entry import BREAK, SENTENCE_END, Entry
from moisturemap.language.language import Language

_WORD = re.compile(r"[^\W\d_]{2,}")
_CODE = re.compile(r"[A-Za-z]{0,3}\d+(?:\.\d+)*[a-z]?|[A-Z]{1,3}")
_EDGES = re.compile(r"^(\W*)(.*?)([\s.,;:!?…)*\]]*)$", re.DOTALL)
_MARKS = re.compile(r"^(\s*)(.*?)([\s.,;:]*)$", re.DOTALL)
_NAME = re.compile(r"\s|\d\.\d")
_FIRST_CODE = 0xE100
_UNITS = ("mm", "cm", "ft", "in", "Pa", "kPa", "hPa", "kg", "RH", "CM", "MC", "lb", "min", "day")
_SHORT = ("UTC", "sd", "rms", "DIN", "EN", "ISO", "ASTM", "BS", "ANSI", "IICRC", "NT", "BUILD")
_SALTS = ("NaCl", "KCl", "LiCl", "MgCl", "KNO", "SO")
_SYMBOLS = frozenset((*_UNITS, *_SHORT, *_SALTS))
"""Written alike in every language."""

MOST_PIECES, LONGEST_RUN, MOST_READINGS = 40, 8, 6
"""Clauses of a text, clauses that one entry may span, and entries tried for one text."""

MOST_NAMES = 2000
"""Names looked for inside texts; as many letters are free for their signs."""

MOST_STEPS = 10_000
"""Look-ups for one text, after which what is not found yet counts as unknown."""

DEEPEST = 9
"""Texts within texts; deeper ones are names that happen to read like sentences."""

_FIGURES = re.compile(r"[\d.,;: ]+")


@dataclass(frozen=True, slots=True)
class Rendering:
    """A text in the language.

    Attributes
    ----------
    text : str
    unknown : tuple of str
        Its parts that no table holds.
    """

    text: str
    unknown: tuple[str, ...] = ()

    @property
    def cost(self) -> int:
        """Letters left unknown."""
        return sum(len(part) for part in self.unknown)


class Translator:
    """Writes texts in a language.

    Parameters
    ----------
    language : Language
    names : iterable of str
        Names people gave; they stay as they are, also where they read like a word of the tables.
    """

    def __init__(self, language: Language, names: Iterable[str] = ()) -> None:
        self.language = language
        self.names: set[str] = set()
        self._figures: set[str] = set()
        self._words: set[str] = set()
        self._protected: dict[str, str] = {}
        self._codes: dict[str, str] = {}
        self._name_pattern: re.Pattern[str] | None = None
        self._known: dict[str, tuple[Rendering, int]] = {}
        self._steps = 0
        self.name(names)

    def render(self, text: str) -> Rendering:
        """Return a text in the language, and what of it no table holds."""
        self._steps = 0
        whole = self._render(self._coded(text), 0)
        said = self.language.spelling.finished(whole.text)
        return Rendering(self._named(said), tuple(map(self._named, whole.unknown)))

    def keep(self, texts: Iterable[str]) -> None:
        """Leave whole texts as they are; figures alone only where they are the whole text.

        A line of a wrapped label, such as 1.05 of Room 1.05, is no name inside a sentence.
        """
        given = set(texts)
        figures = {text for text in given if _FIGURES.fullmatch(text)}
        self.names |= given - figures
        self._figures |= figures

    def name(self, names: Iterable[str]) -> None:
        """Leave names as they are, also inside a text where they are more than a word.

        A name that is a word of the tables, such as a service called drain, stays inside a text;
        alone it cannot be told from the word. One of several words, such as south wall, is what the
        program calls it, too, and is said in the language.
        """
        given = set(names)
        fresh = {name for name in given if name not in self.language.fixed}
        self.names |= fresh
        self._words |= {name for name in given - fresh if not _NAME.search(name)}
        for name in sorted(fresh):
            if _NAME.search(name) and len(self._codes) < MOST_NAMES:
                self._codes.setdefault(name, chr(_FIRST_CODE + len(self._codes)))
        self._protected = {code: name for name, code in self._codes.items()}
        longest_first = sorted(self._codes, key=len, reverse=True)
        words = "|".join(map(re.escape, longest_first))
        self._name_pattern = re.compile(rf"(?<!\w)(?:{words})(?!\w)") if words else None

    def _coded(self, text: str) -> str:
        """Put a sign in the place of each name, so that no entry looks into it."""
        if self._name_pattern is None:
            return text
        return self._name_pattern.sub(lambda match: self._codes[match[0]], text)

    def _named(self, text: str) -> str:
        return "".join(self._protected.get(char, char) for char in text)

    def _render(self, text: str, depth: int) -> Rendering:
        kept = text in self.names or text in (self._words if depth else self._figures)
        if not text.strip() or kept:
            return Rendering(text)
        known, found_at = self._known.get(text, (None, 0))
        # what was not known deep inside may be known from here, with more steps to go
        if known is None or (known.unknown and depth < found_at):
            known = self._fresh(text, depth)
            self._known[text] = known, depth
        return known

    def _fresh(self, text: str, depth: int) -> Rendering:
        settled = self._settled(text)
        if settled is not None:
            return settled
        before, core, after = _edges(text)
        bare = _edges(text, _MARKS)
        if core in self.names or bare[1] in self.names:
            return Rendering(text)
        found = self._entry(text, depth)
        if found is not None and not found.unknown:
            return found
        best = found or self._left(text)
        tries = (
            (bare[1], (bare[0], bare[2])),
            (core + after, (before, "")),
            (core, (before, after)),
        )
        for shorter, ends in tries:
            if shorter == text or not best.unknown:
                continue
            inner = self._entry(shorter, depth)
            if inner is not None and inner.cost < best.cost:
                best = Rendering(f"{ends[0]}{inner.text}{ends[1]}", inner.unknown)
        for pattern in (SENTENCE_END, BREAK):
            if best.unknown and depth < DEEPEST:
                parts = self._pieces(text, depth, pattern)
                best = parts if parts is not None and parts.cost < best.cost else best
        return best

    def _settled(self, text: str) -> Rendering | None:
        """Return what has no word to translate: numbers, units, codes."""
        words = [word for word in _WORD.findall(text) if word not in _SYMBOLS]
        if not words:
            return Rendering(self.language.spelling.number(text))
        if _CODE.fullmatch(text.strip()):
            return Rendering(text)
        return None

    def _left(self, text: str) -> Rendering:
        return Rendering(text, (text.strip(),))

    def _entry(self, text: str, depth: int, *, run: bool = False) -> Rendering | None:
        """Return a text by one entry, its slots rendered; the one that leaves least unknown.

        A run of clauses is tried only with entries that hold a break themselves.
        """
        fixed = self.language.fixed
        if text in fixed:
            return Rendering(fixed[text])
        low = text[:1].lower() + text[1:]
        if low in fixed:
            said = fixed[low]
            return Rendering(said[:1].upper() + said[1:])
        if text.isupper() and text.lower() in fixed:
            return Rendering(fixed[text.lower()].upper())
        if depth >= DEEPEST or self._steps > MOST_STEPS:
            return None
        best: Rendering | None = None
        for spelt in dict.fromkeys((text, low)):
            fitting = self.language.entries_for(spelt, run=run)
            for entry, slots in islice(fitting, MOST_READINGS):
                made = self._filled(entry, slots, depth, best)
                if made is not None:
                    said = made.text if spelt == text else made.text[:1].upper() + made.text[1:]
                    best = Rendering(said, made.unknown)
                if best is not None and not best.unknown:
                    return best
        return best

    def _filled(
        self, entry: Entry, slots: dict[str, str], depth: int, best: Rendering | None
    ) -> Rendering | None:
        """Return an entry with its slots rendered; None as soon as it is no better than another."""
        self._steps += 1
        said: dict[str, str] = {}
        unknown: tuple[str, ...] = ()
        for name, held in slots.items():
            inside = self._render(held, depth + 1)
            said[name] = inside.text
            unknown += inside.unknown
            if best is not None and sum(map(len, unknown)) >= best.cost:
                return None
        return Rendering(entry.filled(said), unknown)

    def _pieces(self, text: str, depth: int, pattern: re.Pattern[str]) -> Rendering | None:
        """Return a text as a run of entries, parted where a sentence or clause ends."""
        ends = [match.span() for match in pattern.finditer(text)]
        by_sentence = pattern is SENTENCE_END
        if not ends or (len(ends) > MOST_PIECES and not by_sentence):
            return None
        starts = [0, *(end for _, end in ends)]
        stops = [*(start for start, _ in ends), len(text)]
        count = len(starts)
        best: list[Rendering] = [Rendering("")] * (count + 1)
        for at in range(count - 1, -1, -1):
            chosen: Rendering | None = None
            for to in range(min(count, at + LONGEST_RUN) - 1, at - 1, -1):
                if at == 0 and to == count - 1:
                    continue
                gap = text[stops[to] : starts[to + 1]] if to + 1 < count else ""
                if by_sentence and depth == 0:
                    self._steps = 0
                piece = self._piece(text[starts[at] : stops[to]], depth, one=to == at)
                if piece is None:
                    continue
                rest = best[to + 1]
                made = Rendering(f"{piece.text}{gap}{rest.text}", (*piece.unknown, *rest.unknown))
                if chosen is None or made.cost < chosen.cost:
                    chosen = made
                if not chosen.unknown:
                    break
            best[at] = chosen or self._left(text[starts[at] :])
        return best[0]

    def _piece(self, text: str, depth: int, *, one: bool) -> Rendering | None:
        """Return a run of clauses as one entry; a single clause also as it stands."""
        if one:
            return self._render(text, depth + 1)
        before, core, after = _edges(text)
        bare = _edges(text, _MARKS)
        for shorter, ends in (
            (text, ("", "")),
            (bare[1], (bare[0], bare[2])),
            (core, (before, after)),
        ):
            found = self._entry(shorter, depth + 1, run=True)
            if found is not None and not found.unknown:
                return Rendering(f"{ends[0]}{found.text}{ends[1]}")
        return None


def _edges(text: str, pattern: re.Pattern[str] = _EDGES) -> tuple[str, str, str]:
    match = pattern.match(text)
    return ("", text, "") if match is None else (match[1], match[2], match[3])
