"""The result of a test in the first unit of its method, from its masses where they are given."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.acceptance.record import TestEntry
from moisturemap.quantities import MVER_GRAMS_PER_LB, spoken_figures

BOTTLE_GRAMS_PER_BAR = 1.0
"""Water per pressure of the usual 0.65 l carbide bottle at 20 C [g/bar]; from memory, and close to
the ideal gas law (1.04 bar for 1 g of water). The table of the bottle itself goes first."""

DISAGREE = 0.02
"""Stated and computed result differing by more than this share are told apart."""


SAME_GAIN_G = 0.1
"""Stated and weighed gain of a dish within this are one [g]: a balance reads 0.1 g (ASTM F1869)."""


@dataclass(frozen=True, slots=True)
class Result:
    """The result of a test.

    Attributes
    ----------
    value : float or None
        In the first unit of the method; None when there is none.
    how : str
        How it came about, in words; "" when simply stated.
    remarks : tuple of str
    """

    value: float | None
    how: str = ""
    remarks: tuple[str, ...] = ()


def result_of(entry: TestEntry) -> Result:
    """Return the result of a test; masses go before a stated value, unless it is the higher.

    Parameters
    ----------
    entry : TestEntry
        The test as it was recorded.
    """
    stated = _stated(entry)
    computed = _COMPUTED.get(entry.method.key, _nothing)(entry)
    if computed.value is None:
        return Result(stated, "" if stated is not None else "no result", computed.remarks)
    remarks = list(computed.remarks)
    margin = DISAGREE * max(abs(computed.value), 1e-9)
    if stated is not None and abs(stated - computed.value) > margin:
        remarks.append(
            f"the stated result {stated:g} does not follow from the masses, which give"
            f" {spoken_figures(computed.value, stated)}; the higher is used"
        )
        if stated > computed.value:
            return Result(stated, "as stated", tuple(remarks))
    return Result(computed.value, computed.how, tuple(remarks))


def _stated(entry: TestEntry) -> float | None:
    """Return the result as read; of two readings to show a steady state the higher."""
    value, second = entry.number("value"), entry.number("second_value")
    if value is not None and second is not None:
        value = max(value, second)
    if value is not None and entry.method.key == "mver" and entry.text("unit").startswith("g/m"):
        return value / MVER_GRAMS_PER_LB
    return value


def emission_rate(gain_g: float, area_cm2: float, hours: float) -> float:
    """Moisture vapour emission rate [lb/1000 ft2/24 h] from the gain of a dish.

    Parameters
    ----------
    gain_g : float
        Gain of mass [g].
    area_cm2 : float
        Floor exposed inside the dome, less the dish [cm2].
    hours : float
        Exposure [h].

    References
    ----------
    ASTM F1869: 52.91 x gain / (area in ft2 x hours); here from exact pounds and feet.
    """
    grams_per_m2_day = gain_g / (area_cm2 * 1e-4) * 24.0 / hours
    return grams_per_m2_day / MVER_GRAMS_PER_LB


def _emission(entry: TestEntry) -> Result:
    stated, area = entry.number("mass_gain_g"), entry.number("dome_area_cm2")
    start, end = entry.number("mass_start_g"), entry.number("mass_end_g")
    weighed = end - start if start is not None and end is not None else None
    gain = max((one for one in (stated, weighed) if one is not None), default=None)
    remarks: tuple[str, ...] = ()
    if stated is not None and weighed is not None and abs(stated - weighed) > SAME_GAIN_G:
        remarks = (
            f"a gain of {stated:g} g is stated and the masses give {weighed:g} g: the higher"
            " counts until it is settled which is right",
        )
    placed, read = entry.moment("placed"), entry.moment("read")
    if gain is None or not area or placed is None or read is None or read <= placed:
        return Result(None)
    hours = (read - placed).total_seconds() / 3600.0
    return Result(
        emission_rate(gain, area, hours),
        f"{gain:g} g in {hours:.1f} h through {area:g} cm2 (ASTM F1869)",
        remarks,
    )


UNLIKE_WATER = 2.0
"""Water by pressure so many times that stated is no matter of the bottle; project choice."""


def _carbide(entry: TestEntry) -> Result:
    sample, water = entry.number("sample_mass_g"), entry.number("water_mass_g")
    pressure = entry.number("pressure_bar")
    remarks: tuple[str, ...] = ()
    if water is None and pressure is not None:
        water = pressure * BOTTLE_GRAMS_PER_BAR
        remarks = (
            "water taken as 1.0 g for each bar of a usual bottle at 20 °C (from memory); the"
            " table of the bottle itself goes first",
        )
    elif water is not None and pressure is not None:
        usual = pressure * BOTTLE_GRAMS_PER_BAR
        if usual > UNLIKE_WATER * water:
            remarks = (
                f"{water:g} g of water is stated and {pressure:g} bar means some {usual:.2g} g in a"
                " usual bottle: the higher counts until it is settled which is right",
            )
            water = usual
    if not sample or water is None:
        return Result(None)
    return Result(100.0 * water / sample, f"{water:g} g of water in {sample:g} g", remarks)


def _oven(entry: TestEntry) -> Result:
    wet, dry = entry.number("wet_mass_g"), entry.number("dry_mass_g")
    tare = entry.number("tare_g") or 0.0
    if wet is None or dry is None or dry <= tare:
        return Result(None)
    value = 100.0 * (wet - dry) / (dry - tare)
    return Result(value, f"{wet - dry:g} g of water in {dry - tare:g} g dry")


def _nothing(entry: TestEntry) -> Result:
    return Result(None)


_COMPUTED = {"mver": _emission, "carbide": _carbide, "oven-dry": _oven}
