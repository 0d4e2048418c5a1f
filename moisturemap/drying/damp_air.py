"""Room air in which a slab does not dry to the target, whatever the readings did before.

A slab gives off water while the vapour pressure at its surface, its equilibrium humidity times the
saturation pressure at its temperature, is above that of the room air. So it cannot come below the
break-even humidity 100 p_air / p_sat(T_slab) [%RH] (ASHRAE Handbook - Fundamentals 2017, chapter 1,
for both pressures).

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence

from moisturemap.psychrometrics import moist_air, saturation_pressure
from moisturemap.survey import Limit, Visit
from moisturemap.survey.usual import DEGREES, HUMIDITY

DRY_RH_PCT = 75.0
"""Equilibrium humidity a dry slab has come down to, where the job's limit is none in %RH or higher
[%RH] (the hood limit of BS 8203, from secondary sources)."""

DAMPER_PCT = 15.0
"""Rise of the break-even humidity over the mean of the visits before from which the fall seen in
that air tells nothing of the days to come [%RH] (our choice)."""


def break_even(visit: Visit) -> float | None:
    """Return the humidity below which a slab takes up water from the air of a visit [%RH].

    Where the slab's temperature is not recorded it is taken as that of the air. None where the air
    is not recorded.

    Parameters
    ----------
    visit : Visit
    """
    air_c, rh = visit.air_temperature_c, visit.air_rh_pct
    if air_c is None or rh is None or rh <= 0.0:
        return None
    slab_c = air_c if visit.slab_temperature_c is None else visit.slab_temperature_c
    pressure = moist_air(air_c, rh).vapour_pressure_pa
    return float(100.0 * pressure / saturation_pressure(slab_c))


def dry_humidity(limit: Limit | None) -> float:
    """Return the equilibrium humidity a slab has to come down to [%RH]."""
    if limit is None or limit.unit.replace(" ", "").casefold() not in ("%rh", "rh%", "rh"):
        return DRY_RH_PCT
    return min(limit.value, DRY_RH_PCT)


def no_room_air(visits: Sequence[Visit]) -> str:
    """Say that air or slab of a visit are hardly those of a room, "" where they may be.

    How fast a floor dries is told by its air: degrees Fahrenheit typed as Celsius, or a share of 1
    as per cent, bring a day forward that nobody saw coming.

    Parameters
    ----------
    visits : sequence of Visit
        Oldest first.
    """
    for visit in reversed(visits):
        for what, value, usual, unit in (
            ("air", visit.air_temperature_c, DEGREES, "°C"),
            ("slab", visit.slab_temperature_c, DEGREES, "°C"),
            ("air", visit.air_rh_pct, HUMIDITY, "%RH"),
        ):
            cold = usual is DEGREES and value is not None and value < usual.low
            if value is not None and not cold and not usual.holds(value):
                return (
                    f"the {what} of visit {visit.id} is recorded with {value:g} {unit}, and rooms "
                    f"have {usual.low:g} to {usual.high:g}: see its unit, and correct the entry."
                )
    return ""


def too_damp(visits: Sequence[Visit], limit: Limit | None) -> str:
    """Say that the slab does not dry to the target in the latest air known, "" where it may.

    Parameters
    ----------
    visits : sequence of Visit
        Oldest first.
    limit : Limit or None
        Of the room.
    """
    known = [(one, level) for one in visits if (level := break_even(one)) is not None]
    if not known:
        return ""
    latest, now = known[-1]
    wanted = dry_humidity(limit)
    slab_c = latest.slab_temperature_c
    slab = f"a slab at {slab_c:.1f} °C" if slab_c is not None else "a slab as warm as the air"
    if now >= 100.0:
        return f"in the air of visit {latest.id} {slab} takes up water, however wet it is."
    if now >= wanted:
        return (
            f"in the air of visit {latest.id} {slab} does not dry below {now:.0f} %RH, and "
            f"{wanted:g} %RH is wanted at most."
        )
    before = [level for _, level in known[:-1]]
    mean = sum(before) / len(before) if before else now
    if now - mean >= DAMPER_PCT:
        return (
            f"in the air of visit {latest.id} {slab} does not dry below {now:.0f} %RH, in that of "
            f"the visits before it did down to {mean:.0f} %RH on average: how fast it fell then "
            "tells nothing of what comes."
        )
    return ""
