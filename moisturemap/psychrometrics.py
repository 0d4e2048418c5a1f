"""Moist air, thin over psychrolib: temperatures in C, relative humidity in %, pressures in Pa.

The formulas are those of the ASHRAE Handbook - Fundamentals (2017), chapter 1 (Hyland and Wexler
1983 for saturation pressure), as psychrolib implements them. Every function takes numbers or
arrays and returns the shape it was given.

psychrolib keeps its system of units in a module-wide switch. This module therefore runs a private
copy of it, set to SI once: whatever other code does with psychrolib, neither can disturb the other.
"""

from __future__ import annotations

import builtins
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from types import ModuleType
from typing import Any, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.errors import InputError

Array = NDArray[np.float64]

STANDARD_PRESSURE_PA = 101325.0
"""Standard atmosphere at sea level [Pa] (ASHRAE 2017 ch. 1, eq. 3)."""

VAPOUR_GAS_CONSTANT = 461.524
"""Specific gas constant of water vapour [J/(kg K)] (ASHRAE 2017 ch. 1: 8314.472 / 18.015268)."""

ZERO_CELSIUS_K = 273.15
"""0 C in kelvin [K]."""

TEMPERATURE_RANGE_C = (-100.0, 200.0)
"""Range of the saturation formulas [C] (ASHRAE 2017 ch. 1, eqs. 5 and 6)."""

DEW_POINT_MARGIN_K = 3.0
"""Least distance of a surface from the dew point before a caution [K]; common practice."""

DRIVE_THRESHOLD_PA = 50.0
"""Difference below which the drive is called nearly nil [Pa]; our choice, about 2 %RH at 20 C."""


def _import_without_numba(name: str, *args: Any, **kwargs: Any) -> Any:
    if name == "numba":
        raise ImportError(name)
    return builtins.__import__(name, *args, **kwargs)


@cache
def _formulas() -> ModuleType:
    """Return a private copy of psychrolib in SI units.

    The copy does not see numba: with it, psychrolib compiles each function at its first call
    (0.7 s), and reading its switch back crashes the interpreter (psychrolib 2.5, numba 0.68).
    """
    spec = find_spec("psychrolib")
    if spec is None or spec.loader is None:
        message = "psychrolib is not installed"
        raise ImportError(message)
    private = ModuleType("moisturemap_psychrolib")
    private.__dict__["__builtins__"] = {**vars(builtins), "__import__": _import_without_numba}
    exec(spec.loader.get_code("psychrolib"), private.__dict__)  # type: ignore[attr-defined]
    private.SetUnitSystem(private.SI)
    return private


def _within(name: str, values: ArrayLike, low: float, high: float, unit: str) -> Array:
    array = np.asarray(values, dtype=float)
    bad = ~((array >= low) & (array <= high))
    if bad.any():
        message = f"{name} is outside what moist air formulas cover"
        raise InputError(
            message, value=float(array[bad].flat[0]), allowed=f"{low:g} to {high:g} {unit}"
        )
    return array


def _temperature(values: ArrayLike) -> Array:
    return _within("temperature", values, *TEMPERATURE_RANGE_C, "C")


def _humidity(values: ArrayLike) -> Array:
    return _within("relative humidity", values, 0.0, 100.0, "%RH")


def _each(function: str, *arguments: ArrayLike) -> Any:
    result = np.vectorize(getattr(_formulas(), function), otypes=[float])(*arguments)
    return result if result.ndim else float(result)


@overload
def saturation_pressure(temperature_c: float) -> float: ...
@overload
def saturation_pressure(temperature_c: Array) -> Array: ...
def saturation_pressure(temperature_c: Any) -> Any:
    """Saturation vapour pressure over water, over ice below the triple point [Pa].

    Parameters
    ----------
    temperature_c : float or array
        Temperature [C], -100 to 200.

    References
    ----------
    ASHRAE Handbook - Fundamentals (2017) ch. 1, eqs. 5 and 6.

    Examples
    --------
    >>> round(saturation_pressure(20.0), 1)
    2338.8
    """
    return _each("GetSatVapPres", _temperature(temperature_c))


@overload
def vapour_pressure(temperature_c: float, rh_pct: float) -> float: ...
@overload
def vapour_pressure(temperature_c: Array, rh_pct: Any) -> Array: ...
@overload
def vapour_pressure(temperature_c: Any, rh_pct: Array) -> Array: ...
def vapour_pressure(temperature_c: Any, rh_pct: Any) -> Any:
    """Partial pressure of water vapour [Pa] at a temperature [C] and relative humidity [%].

    References
    ----------
    ASHRAE Handbook - Fundamentals (2017) ch. 1, eq. 22.
    """
    result = _humidity(rh_pct) / 100.0 * saturation_pressure(temperature_c)
    return result if np.ndim(result) else float(result)


def dew_point(temperature_c: Any, rh_pct: Any) -> Any:
    """Dew point [C] of air at a temperature [C] and relative humidity [%, above 0].

    Inverts the saturation formula to 0.001 K (ASHRAE 2017 ch. 1, eqs. 5 and 6).

    Examples
    --------
    >>> round(dew_point(20.0, 50.0), 2)
    9.27
    """
    humidity = _within("relative humidity", rh_pct, 0.01, 100.0, "%RH")
    return _each("GetTDewPointFromRelHum", _temperature(temperature_c), humidity / 100.0)


def humidity_ratio(
    temperature_c: Any, rh_pct: Any, pressure_pa: float = STANDARD_PRESSURE_PA
) -> Any:
    """Mass of water vapour to mass of dry air [g/kg] (ASHRAE 2017 ch. 1, eq. 20)."""
    humidity = _humidity(rh_pct) / 100.0
    pressure = _within("air pressure", pressure_pa, 50_000.0, 120_000.0, "Pa")
    result = 1000.0 * np.asarray(
        _each("GetHumRatioFromRelHum", _temperature(temperature_c), humidity, pressure)
    )
    return result if result.ndim else float(result)


def absolute_humidity(temperature_c: Any, rh_pct: Any) -> Any:
    """Mass of water vapour in the volume of air [g/m3], by the ideal gas law."""
    kelvin = _temperature(temperature_c) + ZERO_CELSIUS_K
    result = 1000.0 * np.asarray(vapour_pressure(temperature_c, rh_pct))
    result = result / (VAPOUR_GAS_CONSTANT * kelvin)
    return result if result.ndim else float(result)


def saturation_slope(temperature_c: float) -> float:
    """Relative change of saturation pressure with temperature, d ln ps / dT [1/K]."""
    step = 0.05
    above = saturation_pressure(float(temperature_c) + step)
    below = saturation_pressure(float(temperature_c) - step)
    return float(np.log(above / below) / (2.0 * step))


def humidity_at(rh_pct: Any, temperature_c: Any, other_temperature_c: Any) -> Any:
    """Relative humidity [%] the same vapour shows at another temperature [C].

    What a probe reads when it is warmer or colder than the concrete whose vapour fills its hole;
    may exceed 100 where the other place is below the dew point. This is NOT how the humidity in the
    pores of a sealed slab follows its temperature: that one rises with temperature.

    Examples
    --------
    >>> round(humidity_at(75.0, 20.0, 21.0), 1)
    70.5
    """
    ratio = saturation_pressure(temperature_c) / np.asarray(
        saturation_pressure(other_temperature_c)
    )
    result = _humidity(rh_pct) * ratio
    return result if np.ndim(result) else float(result)


@dataclass(frozen=True, slots=True)
class MoistAir:
    """Air in its usual terms.

    Attributes
    ----------
    temperature_c, rh_pct : float
        As given [C], [%].
    dew_point_c : float
        [C]
    vapour_pressure_pa : float
        [Pa]
    humidity_ratio_g_kg : float
        Water vapour to dry air [g/kg].
    absolute_humidity_g_m3 : float
        Water vapour in the volume [g/m3].
    """

    temperature_c: float
    rh_pct: float
    dew_point_c: float
    vapour_pressure_pa: float
    humidity_ratio_g_kg: float
    absolute_humidity_g_m3: float


def moist_air(
    temperature_c: float, rh_pct: float, pressure_pa: float = STANDARD_PRESSURE_PA
) -> MoistAir:
    """Return the state of air at a temperature [C] and relative humidity [%]."""
    return MoistAir(
        float(temperature_c),
        float(rh_pct),
        float(dew_point(temperature_c, rh_pct)),
        float(vapour_pressure(temperature_c, rh_pct)),
        float(humidity_ratio(temperature_c, rh_pct, pressure_pa)),
        float(absolute_humidity(temperature_c, rh_pct)),
    )


@dataclass(frozen=True, slots=True)
class DryingDrive:
    """What drives vapour between a slab and the air of the room.

    Attributes
    ----------
    slab_pa, air_pa : float
        Vapour pressures [Pa].
    difference_pa : float
        Slab minus air [Pa]; positive dries the slab.
    direction : str
        ``"dries"``, ``"wets"`` or ``"still"``.
    warnings : tuple of str
        Sentences for the reader; empty when nothing is amiss.
    """

    slab_pa: float
    air_pa: float
    difference_pa: float
    direction: str
    warnings: tuple[str, ...]


def drying_drive(slab_c: float, slab_rh_pct: float, air_c: float, air_rh_pct: float) -> DryingDrive:
    """Compare the vapour pressures of slab and air.

    Parameters
    ----------
    slab_c, slab_rh_pct : float
        Temperature [C] and equilibrium relative humidity [%] of the slab.
    air_c, air_rh_pct : float
        Temperature [C] and relative humidity [%] of the room air.

    Examples
    --------
    >>> drying_drive(10.0, 85.0, 20.0, 60.0).direction
    'wets'
    """
    slab = float(vapour_pressure(slab_c, slab_rh_pct))
    air = float(vapour_pressure(air_c, air_rh_pct))
    difference = slab - air
    warnings = list(condensation_warnings(slab_c, air_c, air_rh_pct))
    direction = "dries" if difference > 0 else "wets"
    if difference < -DRIVE_THRESHOLD_PA:
        warnings.append(
            f"the air holds {-difference:.0f} Pa more vapour than the slab: the room is wetting the"
            " slab, although it may feel dry; warm the slab or dry the air"
        )
    elif abs(difference) <= DRIVE_THRESHOLD_PA:
        direction = "still"
        warnings.append(
            f"slab and air differ by only {abs(difference):.0f} Pa: next to nothing drives drying"
        )
    return DryingDrive(slab, air, difference, direction, tuple(warnings))


def condensation_warnings(surface_c: float, air_c: float, air_rh_pct: float) -> tuple[str, ...]:
    """Sentences about a surface [C] that is below, or close to, the dew point of the air."""
    if air_rh_pct <= 0:
        return ()
    dew = float(dew_point(air_c, air_rh_pct))
    if surface_c <= dew:
        return (
            f"the surface at {surface_c:.1f} °C is below the dew point of the air, {dew:.1f} °C:"
            " water condenses on it, and surface readings show that water",
        )
    if surface_c < dew + DEW_POINT_MARGIN_K:
        return (
            f"the surface at {surface_c:.1f} °C is less than {DEW_POINT_MARGIN_K:g} K above the dew"
            f" point of the air, {dew:.1f} °C",
        )
    return ()
