"""What the program answers where the page relies on each name: described, and checked on its way.

Answers that carry a map or a table of results stay open records; they are drawn as they come.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel


class Answer(BaseModel):
    """Base of what is answered."""


class AmbientAnswer(Answer):
    """The air of a room [°C, %RH], and its slab [°C], at a time."""

    when: str
    air_temperature_c: float | None
    air_rh_pct: float | None
    slab_temperature_c: float | None
    room: str
    note: str


class VisitAnswer(Answer):
    """A visit and how many readings it has."""

    id: str
    started: str | None
    operator: str
    air_temperature_c: float | None
    air_rh_pct: float | None
    slab_temperature_c: float | None
    service_temperature_c: float | None
    service_rh_pct: float | None
    dry_reference: list[float]
    acclimation: list[AmbientAnswer]
    note: str | None
    readings: int


class CheckAnswer(Answer):
    """A check of an instrument against a reference."""

    id: int
    when: str
    reference: str
    read: float
    expected: float | None
    temperature_c: float | None
    uncertainty: float | None


class InstrumentAnswer(Answer):
    """A meter or probe with its checks."""

    id: str
    kind: str
    scale: tuple[float, float] | None
    step: float | None
    model: str | None
    serial: str | None
    certificate: str | None
    calibrated: str | None
    uncertainty: float | None
    footprint_m: float | None
    checks: list[CheckAnswer]


class JobAnswer(Answer):
    """What the head of the page shows about a job."""

    id: str
    name: str
    file: str
    units: Literal["metric", "us"]
    rooms: list[str]
    visits: list[VisitAnswer]
    instruments: list[InstrumentAnswer]
    readings: int
    tests: int
    machines: int
    read_only: bool


class ReadingAnswer(Answer):
    """A reading as it was taken; ``value`` is on the scale of its meter."""

    reading: int
    repeat: int
    x: float
    y: float
    value: float | None
    raw: str
    censored: str
    room: str
    label: str
    instrument: str
    time: str | None
    note: str


class ReadingsAnswer(Answer):
    """The readings of a visit."""

    readings: list[ReadingAnswer]


class StepAnswer(Answer):
    """A change of the job that can be taken back or made again."""

    change: int
    layers: list[str]
    why: str
    who: str
    made: str
    what: str


class StepsAnswer(Answer):
    """What an undo would take back and a redo make again."""

    undo: StepAnswer | None
    redo: StepAnswer | None
