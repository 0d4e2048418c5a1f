"""What a rule looks at in a test record. Each gives None where the record does not say."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from moisturemap.acceptance.check import checks_around
from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.result import result_of

Measure = Callable[[TestEntry], "float | bool | None"]

TIMES_IN_ORDER = ("drilled", "lined", "placed", "read", "second_read")


def times_in_order(entry: TestEntry) -> bool | None:
    """Whether the stated times run forwards."""
    times = [entry.moment(name) for name in TIMES_IN_ORDER]
    stated = [moment for moment in times if moment is not None]
    if len(stated) < 2:
        return None
    return all(early <= late for early, late in pairwise(stated))


def times_against_order(entry: TestEntry) -> str:
    """Say which two times run backwards."""
    stated = [(name, entry.moment(name)) for name in TIMES_IN_ORDER]
    known = [(name, moment) for name, moment in stated if moment is not None]
    for (one, early), (other, late) in pairwise(known):
        if early > late:
            shown = f"{late:%Y-%m-%d %H:%M} comes before {_spoken(one)} {early:%Y-%m-%d %H:%M}"
            return f": {_spoken(other)} {shown}"
    return ""


def _spoken(name: str) -> str:
    return "read again" if name == "second_read" else name


def hours_since_hole(entry: TestEntry) -> float | None:
    """From the later of drilling and lining to reading [h]."""
    made = [m for m in (entry.moment("drilled"), entry.moment("lined")) if m is not None]
    read = entry.moment("read")
    if not made or read is None:
        return None
    return (read - max(made)).total_seconds() / 3600.0


def hours_placed(entry: TestEntry) -> float | None:
    """From placing probe, hood or dish to reading [h]."""
    return _hours(entry, "placed", "read")


def second_hours(entry: TestEntry) -> float | None:
    """From the first to the second reading [h]."""
    return _hours(entry, "read", "second_read")


def _hours(entry: TestEntry, early: str, late: str) -> float | None:
    one, other = entry.moment(early), entry.moment(late)
    return None if one is None or other is None else (other - one).total_seconds() / 3600.0


def second_difference(entry: TestEntry) -> float | None:
    """Between first and second reading, as read."""
    first, second = entry.number("value"), entry.number("second_value")
    return None if first is None or second is None else abs(second - first)


def probe_slab_difference(entry: TestEntry) -> float | None:
    """Between probe and concrete, either way [C].

    The probe as it went in against the hole, else what it shows in the hole against the slab.
    """
    hole, probe = entry.number("temperature_c"), entry.number("probe_temperature_c")
    slab = entry.number("slab_temperature_c")
    concrete = hole if hole is not None else slab
    if probe is not None and concrete is not None:
        return abs(probe - concrete)
    return None if hole is None or slab is None else abs(hole - slab)


def depth_share(entry: TestEntry) -> float | None:
    """Depth over thickness [%]."""
    depth, thickness = entry.number("depth_mm"), entry.thickness_mm
    return None if depth is None or not thickness else 100.0 * depth / thickness


def below_scale(entry: TestEntry) -> bool | None:
    """Whether the result was written as below the scale; above it is kept as a bound."""
    return entry.text("censored") == "below"


def instrument_fits(entry: TestEntry) -> bool | None:
    """Whether the instrument is of a kind the method uses."""
    if entry.instrument is None:
        return None
    return entry.instrument.kind in entry.method.instrument_kinds


def days_since_calibration(entry: TestEntry) -> float | None:
    """From calibration to reading [days]."""
    read = entry.moment("read")
    if entry.instrument is None or entry.instrument.calibrated is None or read is None:
        return None
    return float((read.date() - entry.instrument.calibrated).days)


def _deviation(entry: TestEntry) -> float | None:
    deviation = checks_around(entry.instrument, entry.moment("read")).deviation
    return None if deviation is None else abs(deviation)


MEASURES: dict[str, Measure] = {
    "always": lambda entry: False,
    "value": lambda entry: result_of(entry).value,
    "times_in_order": times_in_order,
    "below_scale": below_scale,
    "hours_since_hole": hours_since_hole,
    "hours_placed": hours_placed,
    "second_hours": second_hours,
    "second_difference": second_difference,
    "probe_slab_difference_c": probe_slab_difference,
    "depth_share_pct": depth_share,
    "drift_pct": lambda entry: entry.number("drift_pct"),
    "conditioned_hours": lambda entry: entry.number("conditioned_hours"),
    "heating_off_hours": lambda entry: entry.number("heating_off_hours"),
    "open_hours": lambda entry: entry.number("open_hours"),
    "air_temperature_c": lambda entry: entry.number("air_temperature_c"),
    "air_rh_pct": lambda entry: entry.number("air_rh_pct"),
    "slab_temperature_c": lambda entry: entry.number("slab_temperature_c"),
    "drying_temperature_c": lambda entry: entry.number("drying_temperature_c"),
    "sample_mass_g": lambda entry: entry.number("sample_mass_g"),
    "surface_bare": lambda entry: entry.flag("surface_bare"),
    "service_conditions": lambda entry: entry.flag("service_conditions"),
    "species_stated": lambda entry: bool(entry.text("species")),
    "instrument_known": lambda entry: entry.instrument is not None,
    "instrument_fits": instrument_fits,
    "certificate_stated": lambda entry: bool(entry.instrument and entry.instrument.certificate),
    "uncertainty_stated": lambda entry: (
        entry.instrument is not None and entry.instrument.uncertainty is not None
    ),
    "days_since_calibration": days_since_calibration,
    "days_since_check": lambda entry: (
        checks_around(entry.instrument, entry.moment("read")).days_since
    ),
    "days_to_next_check": lambda entry: (
        checks_around(entry.instrument, entry.moment("read")).days_to_next
    ),
    "check_deviation": _deviation,
}
"""What rules may look at."""

DETAILS: dict[str, Callable[[TestEntry], str]] = {"times_in_order": times_against_order}
"""What to add to the sentence on a measure that is yes or no."""
