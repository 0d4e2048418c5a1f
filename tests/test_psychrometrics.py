"""Moist air as the rest of the package uses it."""

import numpy as np
import psychrolib
import pytest

from moisturemap import psychrometrics as air
from moisturemap.errors import InputError


def test_units_set_by_other_code_do_not_leak_in():
    """The unit switch of the shared psychrolib module changes nothing here, nor the reverse."""
    before = air.saturation_pressure(20.0)
    psychrolib.SetUnitSystem(psychrolib.IP)
    try:
        assert air.saturation_pressure(20.0) == before
        assert air.dew_point(20.0, 50.0) == pytest.approx(9.272, abs=0.01)
        assert psychrolib.PSYCHROLIB_UNITS == psychrolib.IP
    finally:
        psychrolib.SetUnitSystem(psychrolib.SI)


def test_arrays_keep_their_shape():
    """Arrays go in and come out, and agree with single values."""
    temperature = np.array([[5.0, 20.0], [25.0, 30.0]])
    for function in (air.vapour_pressure, air.dew_point, air.humidity_ratio, air.absolute_humidity):
        result = function(temperature, 60.0)
        assert result.shape == (2, 2)
        assert result[1, 0] == pytest.approx(function(25.0, 60.0))


@pytest.mark.parametrize("humidity", [104.0, -1.0, float("nan")])
def test_impossible_humidity_is_refused_with_what_is_allowed(humidity):
    """A humidity outside 0 to 100% is named together with the allowed range."""
    with pytest.raises(InputError, match="0 to 100 %RH"):
        air.vapour_pressure(20.0, humidity)


def test_impossible_temperature_is_refused():
    """A temperature outside the formulas is named together with the allowed range."""
    with pytest.raises(InputError, match="-100 to 200 C"):
        air.saturation_pressure(250.0)


def test_air_that_wets_the_slab_is_warned_of():
    """Air at 20 C and 60% wets a slab at 10 C and 85% although the room feels dry."""
    drive = air.drying_drive(10.0, 85.0, 20.0, 60.0)
    assert drive.difference_pa == pytest.approx(-359.5, abs=0.5)
    assert drive.direction == "wets"
    assert any("wetting the slab" in sentence for sentence in drive.warnings)


def test_air_that_dries_the_slab_raises_no_warning():
    """Air at 22 C and 45% dries a slab at 18 C and 90%."""
    drive = air.drying_drive(18.0, 90.0, 22.0, 45.0)
    assert drive.difference_pa == pytest.approx(667.7, abs=0.5)
    assert (drive.direction, drive.warnings) == ("dries", ())


def test_slab_in_balance_with_the_air_has_no_drive():
    """Equal vapour pressures are reported as still."""
    assert air.drying_drive(20.0, 60.0, 20.0, 60.0).direction == "still"


def test_surface_below_the_dew_point_is_warned_of():
    """Water condenses on a surface below the dew point, and a near miss is said too."""
    assert "condenses" in air.condensation_warnings(8.0, 20.0, 50.0)[0]
    assert "less than 3 K" in air.condensation_warnings(11.0, 20.0, 50.0)[0]
    assert air.condensation_warnings(16.0, 20.0, 50.0) == ()


def test_a_probe_one_degree_warm_reads_several_percent_low():
    """The same vapour at 21 C instead of 20 C reads 70.5 for 75 %RH."""
    assert air.humidity_at(75.0, 20.0, 21.0) == pytest.approx(70.5, abs=0.1)
    assert air.humidity_at(75.0, 20.0, 19.0) > 79.5
    assert air.humidity_at(75.0, 20.0, 20.0) == 75.0
