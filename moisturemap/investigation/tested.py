"""Places where humidity was read at depth, over all visits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from moisturemap.acceptance import JudgedTest
from moisturemap.floorplan import Room

AT_DEPTH = ("in-situ-rh", "sleeve-rh")
"""Methods that read the humidity at a depth."""

SAME_PLACE_M = 0.5
"""Holes this near are one place [m]; our choice, a little more than the clearance of holes."""

VISIT_DAYS = 5
"""Readings within this of each other belong to one visit [days]; our choice."""


@dataclass(frozen=True, slots=True)
class DatedReading:
    """A humidity at depth on a day.

    Attributes
    ----------
    day : date
        Of the visit it belongs to.
    depth_mm, rh_pct, sd_pct : float
        [mm], [%RH], standard uncertainty [%RH].
    probe, hole : str
    temperature_c : float or None
        In the hole.
    """

    day: date
    depth_mm: float
    rh_pct: float
    sd_pct: float
    probe: str = ""
    hole: str = ""
    temperature_c: float | None = None


@dataclass(frozen=True)
class TestedPlace:
    """A place with its readings at depth over all visits.

    Attributes
    ----------
    name : str
        Names of its holes.
    room : Room
    x, y : float
        [m]
    thickness_mm : float
    readings : tuple of DatedReading
    """

    __test__ = False

    name: str
    room: Room
    x: float
    y: float
    thickness_mm: float
    readings: tuple[DatedReading, ...]

    @property
    def last_day(self) -> date:
        """Day of the latest reading."""
        return max(one.day for one in self.readings)

    def latest(self) -> tuple[DatedReading, ...]:
        """Return the readings of the latest day."""
        return tuple(one for one in self.readings if one.day == self.last_day)

    def wettest(self) -> float:
        """Highest latest reading [%RH]."""
        return max(one.rh_pct for one in self.latest())

    def mean_pct(self) -> float | None:
        """Mean over depth of the latest readings [%RH]; None with one depth."""
        last = sorted(self.latest(), key=lambda one: one.depth_mm)
        depth = np.array([one.depth_mm for one in last])
        if np.unique(depth).size < 2:
            return None
        value = np.array([one.rh_pct for one in last])
        z = np.linspace(0.0, self.thickness_mm, 101)
        return float(np.interp(z, depth, value).mean())


def tested_places(tests: Sequence[JudgedTest]) -> tuple[TestedPlace, ...]:
    """Group the valid readings at depth by place, those replaced by later ones included."""
    usable = [test for test in tests if _usable(test)]
    groups: list[list[JudgedTest]] = []
    for test in usable:
        for group in groups:
            if _near(test, group[0]):
                group.append(test)
                break
        else:
            groups.append([test])
    return tuple(_place(group) for group in groups)


def _usable(test: JudgedTest) -> bool:
    entry = test.entry
    return (
        test.standing != "invalid"
        and entry.method.key in AT_DEPTH
        and test.result.value is not None
        and not entry.text("censored")
        and entry.place is not None
        and entry.room is not None
        and entry.number("depth_mm") is not None
        and entry.moment("read") is not None
    )


def _near(test: JudgedTest, first: JudgedTest) -> bool:
    assert test.entry.place is not None
    assert first.entry.place is not None
    gap = np.subtract(test.entry.place, first.entry.place)
    return test.entry.room is first.entry.room and float(np.hypot(*gap)) <= SAME_PLACE_M


def _place(group: Sequence[JudgedTest]) -> TestedPlace:
    room = group[0].entry.room
    assert room is not None
    x, y = np.mean([test.entry.place for test in group if test.entry.place], axis=0)
    names = ", ".join(dict.fromkeys(test.entry.hole or test.entry.key for test in group))
    thickness = next((t.entry.thickness_mm for t in group if t.entry.thickness_mm), 0.0)
    readings = _by_visit([_reading(test) for test in group])
    return TestedPlace(names, room, float(x), float(y), float(thickness or 0.0), readings)


def _reading(test: JudgedTest) -> DatedReading:
    entry = test.entry
    read, depth, value = entry.moment("read"), entry.number("depth_mm"), test.result.value
    assert read is not None
    assert depth is not None
    assert value is not None
    return DatedReading(
        read.date(),
        depth,
        value,
        test.spread.expanded / 2.0,
        entry.text("instrument"),
        entry.hole,
        entry.number("temperature_c"),
    )


def _by_visit(readings: Sequence[DatedReading]) -> tuple[DatedReading, ...]:
    """Give readings a few days apart the day of their visit."""
    ordered = sorted(readings, key=lambda one: (one.day, one.depth_mm))
    found: list[DatedReading] = []
    start = ordered[0].day
    for one in ordered:
        if (one.day - start).days > VISIT_DAYS:
            start = one.day
        found.append(
            DatedReading(
                start,
                one.depth_mm,
                one.rh_pct,
                one.sd_pct,
                one.probe,
                one.hole,
                one.temperature_c,
            )
        )
    return tuple(found)
