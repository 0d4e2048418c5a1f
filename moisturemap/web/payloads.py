"""What the page sends, checked for shape; its meaning is checked by the use cases."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=120)]
Short = Annotated[str, StringConstraints(max_length=200)]
Long = Annotated[str, StringConstraints(max_length=2000)]
Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e9, le=1e9)]
Place = tuple[Number, Number]


class Payload(BaseModel):
    """Base: unknown fields are refused, so that a slip of a name is not lost in silence."""

    model_config = ConfigDict(extra="forbid")


class SlabIn(Payload):
    """Build-up of a room."""

    base: Short = "concrete"
    thickness_mm: Number | None = None
    drying_faces: int = 1
    heated: bool | None = None
    placed: Short | None = None
    pour: Short = ""
    on: Literal["", "ground", "below-ground", "suspended"] = ""
    service_temperature_c: Annotated[float, Field(ge=-40, le=60)] | None = None
    service_rh_pct: Annotated[float, Field(ge=0, le=100)] | None = None
    covered: Short | None = None
    lifted: Short | None = None
    first_fault: Short | None = None
    membrane: Short = ""
    build_up: Short = ""


class StoreyIn(Payload):
    """The storey a room is on."""

    name: Short
    level: Annotated[int | None, Field(ge=-20, le=200)] = None
    origin: Place = (0.0, 0.0)


class RoomIn(Payload):
    """A room: outline first, then holes."""

    name: Short
    rings: Annotated[list[Annotated[list[Place], Field(max_length=20_000)]], Field(min_length=1)]
    slab: SlabIn = SlabIn()
    storey: StoreyIn | None = None


class LineIn(Payload):
    """A wall, joint, service, door, keep-clear area or power point."""

    kind: Short
    name: Short = ""
    shape: Literal["point", "line", "area"]
    places: Annotated[list[Place], Field(min_length=1, max_length=20_000)]


class PlanContent(Payload):
    """A plan as drawn."""

    rooms: Annotated[list[RoomIn], Field(max_length=2000)]
    lines: Annotated[list[LineIn], Field(max_length=5000)] = []


Rows = Annotated[tuple[int, ...], Field(max_length=1_000_000)]
Names = Annotated[tuple[Short, ...], Field(max_length=10_000)]


class CarriedIn(Payload):
    """What moves with a part of the plan, as ``moisturemap.entry.carried`` names it."""

    by: Place
    readings: Rows = ()
    tests: Rows = ()
    equipment: Rows = ()
    holes: Names = ()
    loggers: Names = ()
    decisions: Names = ()


class PlanIn(Payload):
    """A plan to store; ``revision`` is that of the plan it was made from.

    ``carried`` moves with it, one after the other, in the same change.
    """

    plan: PlanContent
    revision: Short
    who: Name
    carried: Annotated[list[CarriedIn], Field(max_length=100)] = []


class BeyondIn(Payload):
    """A line across the floor: further than ``least`` from ``start`` in ``direction`` [m]."""

    start: Place
    direction: Place
    least: Number


class RectangleIn(Payload):
    """Four corners of a rectangle in a picture [pixels], and its first two sides [m]."""

    corners: Annotated[list[Place], Field(min_length=4, max_length=4)]
    sides: tuple[
        Annotated[float, Field(ge=0.01, le=2000)], Annotated[float, Field(ge=0.01, le=2000)]
    ]


class BackdropContent(Payload):
    """A picture under the plan and where it lies: x = x0 + a u + b v, y = y0 + b u - a v [m]."""

    photo: int
    name: Short
    width: Annotated[int, Field(ge=1, le=100_000)]
    height: Annotated[int, Field(ge=1, le=100_000)]
    placed: tuple[Number, Number, Number, Number]
    opacity: Annotated[float, Field(ge=0.05, le=1)] = 0.6
    scaled: bool = False
    sheet_mm_per_pixel: Annotated[float, Field(gt=0, le=1000)] | None = None
    rectangle: RectangleIn | None = None


class BackdropIn(Payload):
    """The picture to trace over, or none."""

    backdrop: BackdropContent | None
    who: Name


class JobIn(Payload):
    """A new job; ``units`` of its reports, ``timezone`` of the device."""

    name: Name
    who: Short = ""
    units: Literal["metric", "us"] = "metric"
    timezone: Short = ""


class AmbientIn(Payload):
    """The air of a room, and its slab, at a time."""

    when: datetime
    air_temperature_c: Annotated[float, Field(ge=-40, le=90)] | None = None
    air_rh_pct: Annotated[float, Field(ge=0, le=100)] | None = None
    slab_temperature_c: Annotated[float, Field(ge=-40, le=90)] | None = None
    room: Short = ""
    note: Short = ""


class VisitIn(Payload):
    """A visit."""

    id: Name
    started: datetime | None = None
    operator: Short = ""
    air_temperature_c: Annotated[float, Field(ge=-40, le=90)] | None = None
    air_rh_pct: Annotated[float, Field(ge=0, le=100)] | None = None
    slab_temperature_c: Annotated[float, Field(ge=-40, le=90)] | None = None
    dry_reference: Annotated[list[Number], Field(max_length=200)] = []
    service_temperature_c: Annotated[float, Field(ge=-40, le=60)] | None = None
    service_rh_pct: Annotated[float, Field(ge=0, le=100)] | None = None
    acclimation: Annotated[list[AmbientIn], Field(max_length=500)] = []
    note: Long = ""
    who: Name


class InstrumentIn(Payload):
    """A meter or probe."""

    id: Name
    kind: Short = "relative"
    scale: tuple[Number, Number] | None = None
    step: Annotated[float, Field(gt=0, le=1e6)] | None = None
    model: Short = ""
    serial: Short = ""
    certificate: Short = ""
    calibrated: date | None = None
    uncertainty: Annotated[float, Field(ge=0, le=1e6)] | None = None
    footprint_m: Annotated[float, Field(ge=0.01, le=0.5)] | None = None
    who: Name


class CheckIn(Payload):
    """A check of an instrument against a reference."""

    when: datetime
    reference: Name
    read: Number
    expected: Number | None = None
    temperature_c: Annotated[float, Field(ge=-40, le=90)] | None = None
    uncertainty: Annotated[float, Field(ge=0, le=1e6)] | None = None
    who: Name


class TypedReading(Payload):
    """What was typed at a place."""

    x: Number
    y: Number
    raw: Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=40)]
    label: Short = ""
    room: Short = ""
    repeat: Annotated[int, Field(ge=0, le=1000)] = 0
    time: datetime | None = None
    note: Short = ""


class WalkIn(Payload):
    """How a walk was laid out, so that another device can join it."""

    spacing: Annotated[float, Field(allow_inf_nan=False, gt=0, le=100)]
    room: Short = ""
    start: Annotated[str, StringConstraints(max_length=20)] = "bottom-left"
    rows: Annotated[str, StringConstraints(max_length=10)] = "long"


class ReadingsIn(Payload):
    """Typed readings; ``instead_of`` replaces what stands at those places on this visit."""

    visit: Name
    instrument: Name
    readings: Annotated[list[TypedReading], Field(min_length=1, max_length=5000)]
    instead_of: bool = False
    walk: WalkIn | None = None
    who: Name


class CorrectionIn(Payload):
    """A corrected reading, or a row taken out; ``seen`` is what it is about.

    Of a reading the value as shown, of a test what came with it under that name.
    """

    raw: Short = ""
    seen: Short | None = None
    why: Name
    who: Name


class SignedIn(Payload):
    """Who does it."""

    who: Name


class StepIn(SignedIn):
    """A change to take back or make again; refused when another one is the next by now."""

    change: Annotated[int | None, Field(ge=1)] = None


class LogRemovalIn(SignedIn):
    """A logger or the log of a machine to take out, by its name."""

    kind: Literal["logger", "machine"]
    id: Name
    why: Name


class AnomalyIn(Payload):
    """A decision about an anomaly, or a mark."""

    verdict: Literal["accepted", "dismissed", "marked"]
    kind: Literal["line", "spot", "mesh", "stray"]
    places: Annotated[list[Place], Field(min_length=1, max_length=500)]
    why: Short = ""
    who: Name


class HoleIn(Payload):
    """A hole pinned, rejected, or moved to another place."""

    verdict: Literal["pinned", "rejected", "moved"]
    x: Number
    y: Number
    to: Place | None = None
    why: Short = ""
    who: Name


class WithdrawIn(Payload):
    """A decision to take back, by its place in the list."""

    index: Annotated[int, Field(ge=0)]
    who: Name


class HoleWithdrawnIn(Payload):
    """An issued hole that shall not be drilled after all."""

    hole: Name
    why: Name
    who: Name


class CautionIn(Payload):
    """A caution, by its key, cleared by a named person on the strength of a document."""

    caution: Short
    by: Name
    on: Short
    document: Short = ""
    who: Name


class TestIn(Payload):
    """A calibrated test; fields by method."""

    visit: Name
    fields: dict[Short, Short | Number | bool | None]
    who: Name


class LimitIn(Payload):
    """A limit and the document that sets it."""

    method: Short
    value: Annotated[float, Field(gt=0, le=1e6, allow_inf_nan=False)]
    unit: Short
    source: Name
    room: Short | None = None
    who: Name


class MachineIn(Payload):
    """A drying machine placed or moved."""

    machine: Name
    kind: Literal["dehumidifier", "air-mover"]
    visit: Name
    x: Number
    y: Number
    direction_deg: Number | None = None
    capacity: Number | None = None
    unit: Short = ""
    who: Name


class ReportIn(Payload):
    """What the report shall be like; without ``units``, in those of the job."""

    format: Literal["pdf", "docx", "html"] = "pdf"
    paper: Literal["A4", "Letter"] = "A4"
    units: Literal["", "metric", "us"] = ""
    language: Literal["en", "de"] = "en"
    title: Short = ""
    title_block: Annotated[dict[Short, Short], Field(max_length=20)] = {}
    issue: bool = False
    who: Name
