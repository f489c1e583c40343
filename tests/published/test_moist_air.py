"""Moist air against IAPWS-IF97 and ASHRAE tables, and against independent libraries."""

from __future__ import annotations

import numpy as np
import pytest

from steamwright.errors import OutOfRangeError
from steamwright.physics.moist_air import density_kg_m3, enthalpy_j_kg, humidity_ratio, saturation_pressure_pa, saturation_temperature_k

# ASHRAE Handbook Fundamentals, chapter 1, table 3 (water at saturation), as quoted in public test suites; IF97 agrees from 5 °C up.
ASHRAE_PA = {-20.0: 103.24, -5.0: 401.74, 5.0: 872.6, 25.0: 3169.7, 50.0: 12351.3, 100.0: 101418.0}


@pytest.mark.parametrize(("celsius", "printed_pa"), ASHRAE_PA.items())
def test_saturation_pressure_is_the_tables(celsius: float, printed_pa: float) -> None:
    assert float(saturation_pressure_pa(celsius + 273.15)) == pytest.approx(printed_pa, rel=4e-4)


def test_saturation_pressure_agrees_with_an_equation_of_state_to_two_parts_in_ten_thousand() -> None:
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    for celsius in np.arange(1.0, 100.0, 7.0):
        kelvin = float(celsius + 273.15)
        assert float(saturation_pressure_pa(kelvin)) == pytest.approx(coolprop.PropsSI("P", "T", kelvin, "Q", 0, "Water"), rel=2e-4)


def test_the_short_formula_would_not_be_good_enough_at_steam_temperatures() -> None:
    short = 610.5 * np.exp(17.269 * 45.0 / (237.3 + 45.0))
    assert abs(short / float(saturation_pressure_pa(318.15)) - 1.0) > 1e-3


def test_humidity_ratio_enthalpy_and_density_agree_with_an_independent_library() -> None:
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    for celsius, humidity in ((20.0, 0.5), (30.0, 0.5), (43.0, 0.7), (45.0, 1.0)):
        pressure = humidity * float(saturation_pressure_pa(celsius + 273.15))
        ratio = float(humidity_ratio(pressure))
        assert ratio == pytest.approx(psychrolib.GetHumRatioFromRelHum(celsius, humidity, 101325.0), rel=5e-4)
        assert float(enthalpy_j_kg(celsius + 273.15, ratio)) == pytest.approx(psychrolib.GetMoistAirEnthalpy(celsius, ratio), rel=1e-3)
        expected = psychrolib.GetMoistAirDensity(celsius, ratio, 101325.0)
        assert float(density_kg_m3(celsius + 273.15, pressure)) == pytest.approx(expected, rel=1e-3)


def test_the_dew_point_undoes_the_saturation_pressure() -> None:
    kelvin = np.linspace(235.0, 372.0, 40)
    assert np.abs(saturation_temperature_k(saturation_pressure_pa(kelvin)) - kelvin).max() < 1e-6


def test_outside_its_range_it_refuses() -> None:
    with pytest.raises(OutOfRangeError):
        saturation_pressure_pa(100.0)


def test_printed_check_values_of_the_formulations() -> None:
    assert float(saturation_pressure_pa(300.0)) == pytest.approx(3536.58941, rel=1e-8)  # IF97 table 35
    assert float(saturation_temperature_k(1e5)) == pytest.approx(372.755919, abs=1e-6)  # IF97 table 36
    assert float(saturation_temperature_k(1e6)) == pytest.approx(453.035632, abs=1e-6)
    assert float(saturation_pressure_pa(230.0)) == pytest.approx(8.94735, abs=5e-6)  # R14-08, sublimation


def test_over_ice_it_agrees_with_an_independent_library() -> None:
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    for celsius in np.arange(-40.0, 0.0, 5.0):  # that library fits over ice to three parts in ten thousand
        assert float(saturation_pressure_pa(celsius + 273.15)) == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=3.5e-4)
