"""Remarks on readings that were set aside or stand at an end of the scale."""

from __future__ import annotations

import pandas as pd

from moisturemap.scanning.remark import Remark
from moisturemap.survey import (
    ABOVE_SCALE,
    BELOW_A_STEP,
    BETWEEN_STEPS,
    OFF_STEP,
    USED_FLAGS,
    CleanReadings,
)

FULL_SCALE_SHARE = 0.05
"""From this share of readings at the end of the scale on, the meter is set too fine (our choice)
and the map blind."""

_SENTENCES = {
    "off-plan": "lie outside every room: check the position, the origin and the unit",
    "out-of-scale": "are outside the scale of the meter: check for a slip of the pen",
    "repeat-differs": "are far below a repeat at the same place: the higher one is mapped; read "
    "the place again",
    "not-numeric": "are not numbers",
    "duplicate": "copy an earlier row and were left out",
    "other-instrument": "were made with another meter and were left out: scales never merge",
}
_LEVELS = {"off-plan": "problem", "out-of-scale": "problem", "repeat-differs": "problem"}


def remarks_on_set_aside(clean: CleanReadings) -> list[Remark]:
    """Name the rows that are not used, by reason, and the share at full scale."""
    readings = clean.readings
    remarks = []
    for flag, sentence in _SENTENCES.items():
        rows = readings[(readings["flag"] == flag) & ~_off_step(readings)]
        if rows.empty:
            continue
        count = "1 reading" if len(rows) == 1 else f"{len(rows)} readings"
        level = _LEVELS.get(flag, "warning")
        told = f"{count} {_verb(sentence, len(rows))}"
        if flag == "other-instrument":
            told += (
                f". {clean.instrument.id} is mapped and {_named(rows)} is not: name that one with"
                " --instrument to map it too, and test where it reads highest"
            )
        if flag == "not-numeric":
            told += f": {_found(rows)}"
        remarks.append(Remark(level, f"{told}.", _rows(rows)))
    return (
        remarks
        + _above_scale(readings)
        + _shares_of_one(readings)
        + _slipped(readings)
        + _ends_of_scale(clean)
    )


def _above_scale(readings: pd.DataFrame) -> list[Remark]:
    """Name readings that no meter of this scale can show."""
    rows = readings[readings["reason"].str.startswith(ABOVE_SCALE)]
    sentence = (
        f"{_are(rows)} above the end of the scale and mapped as full scale: check for a slip of the"
        " pen, or the scale that is stated."
    )
    return [] if rows.empty else [Remark("problem", sentence, _rows(rows))]


def _off_step(readings: pd.DataFrame) -> pd.Series[bool]:
    return readings["reason"].str.startswith(OFF_STEP)


def _shares_of_one(readings: pd.DataFrame) -> list[Remark]:
    """Name readings that a spreadsheet may have turned into shares of 1."""
    rows = readings[readings["reason"].str.startswith(BELOW_A_STEP)]
    sentence = (
        f"{_are(rows)} less than one step of the display and not mapped: a spreadsheet may have"
        " made 0.7 of 70 %. Write what the meter showed, or state its step."
    )
    return [] if rows.empty else [Remark("problem", sentence, _rows(rows))]


def _slipped(readings: pd.DataFrame) -> list[Remark]:
    """Name readings whose decimal point may have slipped."""
    rows = readings[readings["reason"].str.startswith(BETWEEN_STEPS)]
    sentence = (
        f"{_are(rows)} between two steps of the display and not mapped: a decimal point may have"
        " slipped, as 7.4 for 74. Write what the meter showed, or state its step."
    )
    return [] if rows.empty else [Remark("problem", sentence, _rows(rows))]


def _are(rows: pd.DataFrame) -> str:
    return "1 reading is" if len(rows) == 1 else f"{len(rows)} readings are"


def _verb(sentence: str, count: int) -> str:
    if count > 1:
        return sentence
    if sentence == "are not numbers":
        return "is not a number"
    singular = {"lie ": "lies ", "are ": "is ", "copy ": "copies ", "were ": "was "}
    for plural, single in singular.items():
        if sentence.startswith(plural):
            return single + sentence.removeprefix(plural).replace(" and were ", " and was ")
    return sentence


def _named(rows: pd.DataFrame) -> str:
    return " and ".join(sorted(set(rows["instrument"].astype(str))))


def _found(rows: pd.DataFrame, most: int = 5) -> str:
    """Name what stands in rows by file, number and value."""
    named = [
        f"{row.source}, row {row.row} ({str(row.raw)!r})" for row in rows.head(most).itertuples()
    ]
    more = f" and {len(rows) - most} more" if len(rows) > most else ""
    return "; ".join(named) + more


def _rows(rows: pd.DataFrame, most: int = 8) -> str:
    """Name rows by file and number."""
    parts = []
    for source, group in rows.groupby("source", sort=False):
        names = list(group["row"].astype(str))
        more = f" and {len(names) - most} more" if len(names) > most else ""
        parts.append(f"{source}, row {', '.join(names[:most])}{more}")
    return "; ".join(parts)


def _ends_of_scale(clean: CleanReadings) -> list[Remark]:
    used = clean.readings[clean.readings["flag"].isin(USED_FLAGS)]
    remarks = []
    for flag, end in (("full-scale", "full scale"), ("below-scale", "the start of the scale")):
        count = int((used["flag"] == flag).sum())
        if not count:
            continue
        share = count / len(used)
        sentence = f"{share:.0%} of the readings ({count}) stand at {end}"
        if share >= FULL_SCALE_SHARE:
            sentence += ": the map is blind beyond it. Use a coarser mode, if the meter has one"
        remarks.append(Remark("warning" if share >= FULL_SCALE_SHARE else "info", sentence + "."))
    return remarks
