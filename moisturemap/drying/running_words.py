"""Words for machines at work and for visits on which nothing changed."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def running_words(beside: str) -> str:
    """Return words that say that drying goes on as it did.

    Parameters
    ----------
    beside : {"machines", "visits"}
        What they are noted beside.
    """
    text = files("moisturemap.drying").joinpath("running_words.toml").read_text(encoding="utf-8")
    return str(tomllib.loads(text)[beside])
