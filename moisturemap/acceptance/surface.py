"""Whether words for a surface say that a hood or a dish stood on the bare floor."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib.resources import files
from itertools import pairwise

from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.rule import packaged_rules


@cache
def _listed(name: str) -> frozenset[str]:
    text = files("moisturemap.acceptance").joinpath("surface_words.toml").read_text("utf-8")
    return frozenset(tomllib.loads(text)[name].split())


def strange_surface_words(text: str) -> tuple[str, ...]:
    """Return the words of a surface that are not known to be those of a bare one.

    Words of layers ("sealed", "primed") are left out: whether they are negated is for the rule on
    sealed surfaces to say.

    Parameters
    ----------
    text : str

    Examples
    --------
    >>> strange_surface_words("ground, free of coating")
    ()
    >>> strange_surface_words("ground, wet")
    ('wet',)
    >>> strange_surface_words("not ground")
    ('not ground',)
    """
    layers = packaged_rules().rules["hood-sealed-surface"].surface_has
    words = re.findall(r"\w+", text.casefold())
    return tuple(
        f"{before} {word}" if before in _listed("denials") and word in _listed("prepared") else word
        for before, word in pairwise(["", *words])
        if (before in _listed("denials") and word in _listed("prepared"))
        or (word not in _listed("bare") and not word.removeprefix("un").startswith(layers))
    )


def surface_known(entry: TestEntry) -> bool | None:
    """Whether each word on the surface is one of a bare floor; None where nothing is said."""
    text = entry.text("surface").strip()
    if not text:
        return None
    return bool(re.search(r"\w", text)) and not strange_surface_words(text)


def strange_surface(entry: TestEntry) -> str:
    """Name the words that are not known, for the sentence on them."""
    text = entry.text("surface").strip()
    return ": " + (", ".join(map(repr, strange_surface_words(text))) or repr(text))
