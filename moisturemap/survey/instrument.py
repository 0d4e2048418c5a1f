"""Instruments and the checks that show they were right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated

from moisturemap.checked import NOT_NEGATIVE, ZONED, checked, one_of, within

INSTRUMENT_KINDS = ("relative", "pin", "rh-probe", "hood", "carbide", "mver", "oven-dry")


@dataclass(frozen=True, slots=True)
@checked
class InstrumentCheck:
    """One check of an instrument against a reference.

    Attributes
    ----------
    when : datetime
        Time of the check, with zone.
    reference : str
        What it was checked against: a saturated salt (``"NaCl"``), ``"humidity-chamber"`` (with
        `expected`), ``"check-block"``, ``"dry-reference"``. Only the first two check a probe of
        relative humidity.
    read : float
        Value read, in the instrument's unit.
    expected : float or None
        Value it should have read; None when it follows from the salt and the temperature.
    temperature_c : float or None
        Temperature at the check [C].
    uncertainty : float or None
        Expanded uncertainty (k = 2) of the reference, in the instrument's unit; that of a salt
        follows from its table.
    """

    when: Annotated[datetime, ZONED]
    reference: str
    read: float
    expected: float | None = None
    temperature_c: Annotated[float | None, within(-40, 90, "C")] = None
    uncertainty: Annotated[float | None, NOT_NEGATIVE] = None


@dataclass(frozen=True, slots=True)
@checked
class Instrument:
    """A meter or probe.

    Attributes
    ----------
    id : str
        Name used by readings and tests.
    kind : str
        One of ``INSTRUMENT_KINDS``.
    scale : (float, float) or None
        Lowest and highest value the instrument can show.
    step : float or None
        Smallest step of its display.
    serial, certificate : str
        As printed on the instrument and its certificate.
    uncertainty : float or None
        Expanded uncertainty (k = 2) from the certificate, in the instrument's unit.
    checks : tuple of InstrumentCheck
        In order of time.
    model : str
        Make and model, as printed on the instrument.
    calibrated : datetime.date or None
        Day of the last calibration.
    footprint_m : float or None
        Sd of its response across a thin thing [m], for a scanner; None where it is not known.
    """

    id: str
    kind: Annotated[str, one_of(*INSTRUMENT_KINDS)] = "relative"
    scale: tuple[float, float] | None = None
    step: Annotated[float | None, NOT_NEGATIVE] = None
    serial: str = ""
    certificate: str = ""
    uncertainty: Annotated[float | None, NOT_NEGATIVE] = None
    checks: tuple[InstrumentCheck, ...] = ()
    model: str = ""
    calibrated: date | None = None
    footprint_m: float | None = None
