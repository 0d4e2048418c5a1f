"""Dehumidifiers in air too cold for them.

A refrigerant dehumidifier takes out little water below about 15 C and ices below about 8 C
(common practice; 8 C from memory: the maker's sheet of a machine tells its own range).

Method: docs/method/drying.md.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from moisturemap.equipment.machine import Machine
from moisturemap.equipment.moves import plain_row

WEAK_C, ICES_C = 15.0, 8.0
"""Air below which a refrigerant dehumidifier takes out little, and hardly any [C]."""

_DESICCANT = re.compile(
    r"desiccant|adsor(?:ption|bent)|sorptionstrockner|silica|trockenmittel|dessiccant|à adsorption",
    re.IGNORECASE,
)
_REFRIGERANT = re.compile(
    r"refrigera\w*|compressor|low[- ]?grain|\blgr\b|conden(?:sing|sation|ser)"
    r"|kondens\w*(?:trockner|entfeuchter)|kältetrockner|kaeltetrockner|kompressor"
    r"|frigorifique|à condensation",
    re.IGNORECASE,
)


def drying_type(text: str) -> str:
    """Return how a dehumidifier dries by what is written of it; "" where nothing tells.

    Examples
    --------
    >>> [drying_type(one) for one in ("refrigerant, 40 l", "Adsorptionstrockner", "by the gate")]
    ['refrigerant', 'desiccant', '']
    """
    desiccant, refrigerant = _DESICCANT.search(text), _REFRIGERANT.search(text)
    if bool(desiccant) == bool(refrigerant):
        return ""
    return "desiccant" if desiccant else "refrigerant"


def iced(machines: Sequence[Machine], air_c: float | None) -> tuple[Machine, ...]:
    """Return the refrigerant dehumidifiers that ice in the air of the room.

    Parameters
    ----------
    machines : sequence of Machine
    air_c : float or None
        Room air [C]; nothing ices where it is not known.
    """
    if air_c is None or air_c >= ICES_C:
        return ()
    return tuple(one for one in _dehumidifiers(machines) if _type(one) == "refrigerant")


def iced_row(one: Machine, air_c: float | None) -> dict[str, Any]:
    """Say of a machine that ices what to do with it, as a row of ``MOVE_COLUMNS``."""
    row = plain_row(one, "remove")
    row["sentence"] = (
        f"Dehumidifier {one.name} is of no use in air of {air_c:.1f} °C: exchange it for a "
        "desiccant one, or warm the air first."
    )
    return row


def cold_sentences(
    machines: Sequence[Machine], air_c: float | None, *, wanted: bool
) -> tuple[str, ...]:
    """Say what cold air makes of dehumidifiers.

    Parameters
    ----------
    machines : sequence of Machine
    air_c : float or None
        Room air [C].
    wanted : bool
        More dehumidifiers are to be brought than there are.
    """
    if air_c is None or air_c >= WEAK_C:
        return ()
    there = _dehumidifiers(machines)
    lost = iced(there, air_c)
    weak = [one for one in there if _type(one) == "refrigerant" and one not in lost]
    unknown = [one for one in there if not _type(one)]
    said = []
    if lost:
        said.append(
            f"Not placed, as the room air is {air_c:.1f} °C: {_names(lost)}. Below about "
            f"{ICES_C:g} °C a refrigerant dehumidifier ices and takes out hardly any water. Bring "
            "a desiccant one, or warm the air first; the maker's sheet tells its range."
        )
    if weak:
        said.append(
            f"Weak, as the room air is {air_c:.1f} °C: {_names(weak)}. Below about {WEAK_C:g} °C a "
            "refrigerant dehumidifier takes out little water, wherever it stands. A desiccant one, "
            "or warmer air, dries faster."
        )
    if unknown:
        said.append(
            f"The room air is {air_c:.1f} °C, and nothing tells how these dehumidifiers dry: "
            f"{_names(unknown)}. A refrigerant one takes out little water below about {WEAK_C:g} °C"
            f" and ices below about {ICES_C:g} °C; write refrigerant or desiccant in its note."
        )
    if wanted:
        said.append(
            f"The room air is {air_c:.1f} °C: bring a desiccant dehumidifier, or warm the air "
            "first."
        )
    return tuple(said)


def _dehumidifiers(machines: Sequence[Machine]) -> list[Machine]:
    return [one for one in machines if one.kind == "dehumidifier"]


def _type(one: Machine) -> str:
    return drying_type(f"{one.name} {one.note}")


def _names(machines: Sequence[Machine]) -> str:
    return ", ".join(one.name for one in machines)
