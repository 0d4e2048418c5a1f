"""Settings of two copies of a job, changed in both since they parted."""

from __future__ import annotations

import json
from typing import Any

from moisturemap.store.record import canonical

SERIES = ("tuple", "list")
_MISSING = object()


class BothChangedError(Exception):
    """What was changed in a copy was changed here, too, and otherwise."""


def merged(key: str, old: str | None, new: str | None, here: str | None) -> str | None:
    """Return the text of a setting with what a copy made of it put in, None where it goes.

    Parameters
    ----------
    key : str
    old, new : str or None
        Its text in the copy before and after a change; None where it was not there.
    here : str or None
        Its text in this file.

    Raises
    ------
    BothChangedError
        If both were changed, and what each changed cannot stand beside the other.
    """
    if here in (old, new):
        return new
    if new is None or here is None:
        raise BothChangedError
    before, after, ours = json.loads(old or "null"), json.loads(new), json.loads(here)
    if key.startswith("columns of "):
        return canonical({"list": _columns(after["list"], ours["list"])})
    for tag in SERIES:
        if all(_is(one, tag) for one in (after, ours)) and (before is None or _is(before, tag)):
            told = before[tag] if before else []
            return canonical({tag: _series(told, after[tag], ours[tag])})
    if all(_is(one, "dict") for one in (after, ours)) and (before is None or _is(before, "dict")):
        return canonical({"dict": _pairs(before["dict"] if before else [], after, ours)})
    raise BothChangedError


def _is(plain: Any, tag: str) -> bool:
    return isinstance(plain, dict) and set(plain) == {tag}


def _columns(after: list[Any], ours: list[Any]) -> list[Any]:
    """Return the columns of a table: those of here, then those that only the copy has."""
    known = {one["list"][0] for one in ours}
    return [*ours, *(one for one in after if one["list"][0] not in known)]


def _series(before: list[Any], after: list[Any], ours: list[Any]) -> list[Any]:
    """Return a series with what the copy put in and without what it took out."""
    gone = [one for one in before if one not in after]
    if any(one not in ours for one in gone):
        raise BothChangedError
    come = [one for one in after if one not in before and one not in ours]
    if len(come) == len(gone):
        now = dict(zip(map(canonical, gone), come, strict=True))
        return [now.get(canonical(one), one) for one in ours]
    return [*(one for one in ours if one not in gone), *come]


def _pairs(before: list[Any], after: dict[str, Any], ours: dict[str, Any]) -> list[Any]:
    """Return a table of keys with each changed where the copy changed it."""
    then, there, here = (
        {canonical(key): (key, value) for key, value in pairs}
        for pairs in (before, after["dict"], ours["dict"])
    )
    found = dict(here)
    for key in [*then, *(one for one in there if one not in then)]:
        was, now = then.get(key, _MISSING), there.get(key, _MISSING)
        if was == now or here.get(key, _MISSING) == now:
            continue
        if here.get(key, _MISSING) != was:
            raise BothChangedError
        if now is _MISSING:
            del found[key]
        else:
            found[key] = there[key]
    return [list(one) for one in found.values()]
