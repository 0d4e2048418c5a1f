"""What a rule looks at in a test record. Each gives None where the record does not say."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from itertools import pairwise

from moisturemap.acceptance.correction import Checks, checks_around, hours
from moisturemap.acceptance.measure_timber import (
    below_balance,
    correction_size,
    off_meter_temperature,
    species_stated,
    uncorrected_temperature,
)
from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.result import result_of
from moisturemap.acceptance.rule import RuleBook
from moisturemap.acceptance.surface import strange_surface, surface_known
from moisturemap.survey import AmbientReading
from moisturemap.survey.placeholder import has_lapsed, names_certificate

Measure = Callable[[TestEntry], "float | bool | None"]

TIMES_IN_ORDER = ("drilled", "lined", "placed", "read", "second_read")

USUAL_SERVICE_C, USUAL_SERVICE_RH = 24.0, 50.0
"""Service conditions where the survey states none: 75 F and 50 %RH, as ASTM F1869 and F2170 have it
[C], [%RH]."""

LOGGED_OFF_C, LOGGED_OFF_RH = 5.5, 10.0
"""An entry of the log this far from service ends the time at service conditions [C], [%RH]; the
margins of the same documents."""

LOG_GAP_HOURS = 25.0
"""A log with a longer gap than this does not speak for the time in it [h]: an entry a day, and an
hour to spare; project choice."""


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
    made = [m for m in (entry.latest("drilled"), entry.latest("lined")) if m is not None]
    read = entry.moment("read")
    if not made or read is None:
        return None
    return hours(max(made), read)


def hours_placed(entry: TestEntry) -> float | None:
    """From placing probe, hood or dish to reading [h].

    Of a dish, whose exposure must not be too long either, not by days without a time of day.
    """
    if entry.method.key == "mver" and {"placed", "read"} & set(entry.text("day_only").split()):
        return None
    return _hours(entry, "placed", "read")


def heating_off_before_hood(entry: TestEntry) -> float | None:
    """From switching the heating off to placing the hood [h]; below zero where it came later."""
    off, under = entry.number("heating_off_hours"), _hours(entry, "placed", "read")
    return None if off is None or under is None else off - under


def second_hours(entry: TestEntry) -> float | None:
    """From the first to the second reading [h]."""
    return _hours(entry, "read", "second_read")


def _hours(entry: TestEntry, early: str, late: str) -> float | None:
    """Return the fewest hours that can lie between two times."""
    one, other = entry.latest(early), entry.moment(late)
    return None if one is None or other is None else hours(one, other)


def second_difference(entry: TestEntry) -> float | None:
    """Between first and second reading, as read."""
    first, second = entry.number("value"), entry.number("second_value")
    return None if first is None or second is None else abs(second - first)


def probe_slab_difference(entry: TestEntry) -> float | None:
    """Between probe and concrete, either way [C].

    The farthest apart of the probe as it went in, what it shows in the hole, and the slab.
    """
    names = ("temperature_c", "probe_temperature_c", "slab_temperature_c")
    stated = [value for value in map(entry.number, names) if value is not None]
    return max(stated) - min(stated) if len(stated) > 1 else None


def depth_share(entry: TestEntry) -> float | None:
    """Depth over thickness [%]."""
    depth, thickness = entry.number("depth_mm"), entry.thickness_mm
    return None if depth is None or not thickness else 100.0 * depth / thickness


def depth_share_thicker(entry: TestEntry) -> float | None:
    """Depth over the thicker of what the record and the plan state [%]."""
    depth = entry.number("depth_mm")
    stated = [entry.number("thickness_mm"), entry.slab.thickness_mm]
    thickest = max((one for one in stated if one), default=None)
    return None if depth is None or thickest is None else 100.0 * depth / thickest


def depth_share_of_plan(entry: TestEntry) -> float | None:
    """Depth over the thickness on the plan, where the record states a thinner one [%]."""
    depth, own, plan = (
        entry.number("depth_mm"),
        entry.number("thickness_mm"),
        entry.slab.thickness_mm,
    )
    if depth is None or not own or not plan or own >= plan:
        return None
    return 100.0 * depth / plan


def thickness_off(entry: TestEntry) -> float | None:
    """Thickness at the hole from that of the slab, either way [% of the slab]."""
    hole, slab = entry.number("thickness_mm"), entry.slab.thickness_mm
    return None if hole is None or not slab else 100.0 * abs(hole - slab) / slab


def below_scale(entry: TestEntry) -> bool | None:
    """Whether the result was written as below the scale; above it is kept as a bound."""
    return entry.text("censored") == "below"


def instrument_fits(entry: TestEntry) -> bool | None:
    """Whether the instrument is of a kind the method uses."""
    if entry.instrument is None:
        return None
    return entry.instrument.kind in entry.method.instrument_kinds


def days_since_calibration(entry: TestEntry) -> float | None:
    """From calibration to reading [days]; below zero where it was calibrated afterwards."""
    read = entry.moment("read")
    if entry.instrument is None or entry.instrument.calibrated is None or read is None:
        return None
    day = entry.instrument.calibrated
    day = day.date() if isinstance(day, datetime) else day
    return float((read.date() - day).days)


def certificate_stated(entry: TestEntry) -> bool:
    """Whether a certificate is named for the instrument, and one in force."""
    return entry.instrument is not None and names_certificate(entry.instrument.certificate)


def certificate_in_force(entry: TestEntry) -> bool:
    """Whether nothing is said of the certificate being expired, lost or withdrawn."""
    return entry.instrument is None or not has_lapsed(entry.instrument.certificate)


def certificate_uncertainty(entry: TestEntry) -> float | None:
    """Return the expanded uncertainty stated for the instrument, in its unit."""
    return None if entry.instrument is None else entry.instrument.uncertainty


def checks_of(entry: TestEntry, book: RuleBook | None = None) -> Checks:
    """Return the checks of its instrument around the reading."""
    stated = book.uncertainties.get("rh-check") if book is not None else None
    spread = stated.value / 2.0 if stated is not None else 0.4
    return checks_around(entry.instrument, entry.moment("read"), spread)


def check_deviation(entry: TestEntry) -> float | None:
    """Largest deviation at the checks around the reading, either way [%RH]."""
    deviation = checks_of(entry).deviation
    return None if deviation is None else abs(deviation)


def check_distance(entry: TestEntry) -> float | None:
    """How far the limit lies from what the probe was checked at [%RH]."""
    value = entry.limit_rh
    if value is None:
        value = result_of(entry).value
    return None if value is None else checks_of(entry).distance(value)


def air_off_service(entry: TestEntry) -> float | None:
    """Air temperature from that of service, either way [C]."""
    return _off(entry.number("air_temperature_c"), entry.service.temperature_c, USUAL_SERVICE_C)


def air_rh_off_service(entry: TestEntry) -> float | None:
    """Air humidity from that of service, either way [%RH]."""
    return _off(entry.number("air_rh_pct"), entry.service.rh_pct, USUAL_SERVICE_RH)


def slab_off_service(entry: TestEntry) -> float | None:
    """Temperature of the concrete from that of service, either way [C]."""
    return _off(entry.concrete_c, entry.service.temperature_c, USUAL_SERVICE_C)


def _off(value: float | None, service: float | None, usual: float) -> float | None:
    if value is None:
        return None
    return abs(value - (usual if service is None else service))


def conditioned_hours(entry: TestEntry) -> float | None:
    """Hours at service conditions before the reading: as stated, and no longer than the log says.

    A stated number that the log contradicts is not believed.
    """
    stated, logged = entry.number("conditioned_hours"), logged_hours(entry)
    contradicted = any(_away(one, entry) for one in entry.log)
    if stated is None:
        return logged
    return min(stated, logged) if contradicted and logged is not None else stated


def logged_hours(entry: TestEntry) -> float | None:
    """Hours before the reading over which the log shows service conditions; None without one."""
    read = entry.moment("read")
    if not entry.log or read is None:
        return None
    since = read
    for one in reversed(entry.log):
        if _away(one, entry) or hours(one.when, since) > LOG_GAP_HOURS:
            break
        since = one.when
    return hours(since, read)


def _away(one: AmbientReading, entry: TestEntry) -> bool:
    """Whether an entry of the log is away from service conditions."""
    warmth = entry.service.temperature_c
    off_c = [
        _off(value, warmth, USUAL_SERVICE_C)
        for value in (one.air_temperature_c, one.slab_temperature_c)
    ]
    off_rh = _off(one.air_rh_pct, entry.service.rh_pct, USUAL_SERVICE_RH)
    too_far = [value > LOGGED_OFF_C for value in off_c if value is not None]
    return any(too_far) or (off_rh is not None and off_rh > LOGGED_OFF_RH)


def tare_stated(entry: TestEntry) -> bool:
    """Whether the mass of the dish is stated, of a result that comes from masses; 0 is net."""
    masses = [entry.number(name) for name in ("wet_mass_g", "dry_mass_g")]
    return None in masses or entry.number("tare_g") is not None


def dry_sample(entry: TestEntry) -> float | None:
    """Mass of a dry sample without its dish [g]."""
    dry = entry.number("dry_mass_g")
    return None if dry is None else dry - (entry.number("tare_g") or 0.0)


def slab_air_difference(entry: TestEntry) -> float | None:
    """Between slab and air, either way [C]."""
    slab, air = entry.number("slab_temperature_c"), entry.number("air_temperature_c")
    return None if slab is None or air is None else abs(slab - air)


def below_air_rh(entry: TestEntry) -> float | None:
    """How far a humidity is below that of the air about it [%RH].

    As stated beside it, or as the log has it over the day before, whichever is damper.
    """
    read = entry.moment("read")
    logged = [
        one.air_rh_pct
        for one in entry.log
        if read is not None and hours(one.when, read) <= LOG_GAP_HOURS
    ]
    stated = [one for one in (entry.number("air_rh_pct"), *logged) if one is not None]
    air, value = max(stated, default=None), result_of(entry).value
    return None if air is None or value is None else air - value


def held_at_service(entry: TestEntry) -> bool | None:
    """Whether the room was held at service conditions during the test.

    Not where the log shows otherwise while the probe stood in the hole, whatever is stated.
    """
    stated = entry.flag("service_conditions")
    logged, placed = logged_hours(entry), entry.moment("placed")
    if placed is not None and any(_away(one, entry) for one in entry.log if one.when >= placed):
        return False
    if stated is None and logged is not None:
        return logged > 0.0
    return stated


def _number(name: str) -> Measure:
    return lambda entry: entry.number(name)


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
    "depth_share_of_plan_pct": depth_share_of_plan,
    "depth_share_thicker_pct": depth_share_thicker,
    "drift_pct": _number("drift_pct"),
    "conditioned_hours": conditioned_hours,
    "held_at_service": held_at_service,
    "heating_off_hours": _number("heating_off_hours"),
    "heating_off_before_hood_hours": heating_off_before_hood,
    "open_hours": _number("open_hours"),
    "air_temperature_c": _number("air_temperature_c"),
    "air_rh_pct": _number("air_rh_pct"),
    "air_off_service_c": air_off_service,
    "air_rh_off_service_pct": air_rh_off_service,
    "slab_off_service_c": slab_off_service,
    "slab_temperature_c": _number("slab_temperature_c"),
    "concrete_temperature_c": lambda entry: entry.concrete_c,
    "drying_temperature_c": _number("drying_temperature_c"),
    "sample_mass_g": _number("sample_mass_g"),
    "sample_temperature_c": _number("temperature_c"),
    "dry_sample_g": dry_sample,
    "dome_area_cm2": _number("dome_area_cm2"),
    "surface_bare": lambda entry: entry.flag("surface_bare"),
    "surface_stated": lambda entry: True if entry.text("surface").strip() else None,
    "surface_known": surface_known,
    "service_conditions": lambda entry: entry.flag("service_conditions"),
    "marked_point": lambda entry: entry.flag("marked_point"),
    "tare_stated": tare_stated,
    "lined_stated": lambda entry: entry.moment("lined") is not None,
    "off_meter_temperature_c": off_meter_temperature,
    "timber_temperature_c": _number("temperature_c"),
    "uncorrected_temperature_c": uncorrected_temperature,
    "species_stated": species_stated,
    "slab_air_difference_c": slab_air_difference,
    "below_air_rh_pct": below_air_rh,
    "correction_size": correction_size,
    "below_balance": below_balance,
    "on_plan": lambda entry: entry.room is not None,
    "thickness_off_pct": thickness_off,
    "instrument_known": lambda entry: entry.instrument is not None,
    "instrument_fits": instrument_fits,
    "certificate_stated": certificate_stated,
    "certificate_in_force": certificate_in_force,
    "certificate_uncertainty": certificate_uncertainty,
    "days_since_calibration": days_since_calibration,
    "days_since_check": lambda entry: checks_of(entry).days_since,
    "days_to_next_check": lambda entry: checks_of(entry).days_to_next,
    "check_deviation": check_deviation,
    "check_distance": check_distance,
}
"""What rules may look at."""

DETAILS: dict[str, Callable[[TestEntry], str]] = {
    "times_in_order": times_against_order,
    "surface_known": strange_surface,
}
"""What to add to the sentence on a measure that is yes or no."""
