"""Evaporation against the printed and tabled numbers of Uno (1998), Menzel (1954), Shah (2002) and Smith et al. (1998).

Menzel's column is the formula's; his table, from memory, lies within 8 % of it. Shah's table is coded in a public repository.
"""

from __future__ import annotations

import numpy as np
import pytest

from steamwright.errors import OutOfRangeError
from steamwright.physics.evaporation import carrier_kg_m2_h, flood_loss_mm, menzel_kg_m2_h, shah_kg_m2_h, uno_kg_m2_h

K, MPH, LB_FT2 = 273.15, 0.44704, 4.882428


def fahrenheit_k(value: float) -> float:
    return (value - 32.0) / 1.8 + K


@pytest.mark.parametrize(
    ("surface", "air", "humidity", "km_h", "printed"),
    [(23, 23, 0.5, 0, 0.108), (25, 25, 0.5, 0, 0.121), (30, 30, 0.4, 10, 0.670), (35, 35, 0.3, 15, 1.360)],
)
def test_uno(surface: float, air: float, humidity: float, km_h: float, printed: float) -> None:
    assert float(uno_kg_m2_h(surface + K, air + K, humidity, km_h / 3.6)) == pytest.approx(printed, abs=6e-4)


MENZEL = [
    (70, 70, 0.70, 10, 0.0582, 0.062), (70, 70, 0.50, 10, 0.0969, 0.100), (70, 70, 0.10, 10, 0.1745, 0.175),
    (70, 40, 0.50, 10, 0.1614, 0.162),
    (70, 40, 0.50, 25, 0.3530, 0.357), (90, 90, 0.10, 25, 0.7342, 0.740), (80, 40, 1.0, 10, 0.2058, 0.205),
]  # fmt: skip


@pytest.mark.parametrize(("surface", "air", "humidity", "mph", "formula", "tabled"), MENZEL)
def test_menzel(surface: float, air: float, humidity: float, mph: float, formula: float, tabled: float) -> None:
    got = float(menzel_kg_m2_h(fahrenheit_k(surface), fahrenheit_k(air), humidity, mph * MPH)) / LB_FT2
    assert got == pytest.approx(formula, abs=2.5e-4)
    assert got == pytest.approx(tabled, rel=0.08)


SHAH = [(28, 28, 0.1360), (28, 29, 0.1171), (28, 30, 0.0968), (29, 28, 0.1651), (29, 29, 0.1463), (30, 28, 0.1959), (30, 29, 0.1771)]


@pytest.mark.parametrize(("water", "air", "tabled"), SHAH)
def test_shah(water: float, air: float, tabled: float) -> None:
    assert float(shah_kg_m2_h(water + K, air + K, 0.5)) == pytest.approx(tabled, rel=0.002)


LOSS = [
    (15, 20, 0.50, 0.64, 1.24), (18, 20, 0.50, 1.07, 2.07), (20, 20, 0.50, 1.77, 2.71), (20, 25, 0.40, 1.29, 2.48),
    (25, 25, 0.50, 2.60, 3.69), (25, 20, 0.40, 4.94, 5.21),
]  # fmt: skip


@pytest.mark.parametrize(("water", "air", "humidity", "low", "high"), LOSS)
def test_a_flooded_pan_in_a_day(water: float, air: float, humidity: float, low: float, high: float) -> None:
    got = flood_loss_mm(water + K, air + K, humidity)
    assert [float(v) for v in got] == pytest.approx([low, high], abs=0.006)


def test_a_hot_fill_has_no_band() -> None:
    low, high = flood_loss_mm(40 + K, 20 + K, 0.5)
    assert float(low) == pytest.approx(19.2, abs=0.05)
    assert float(high) == float(low)


def test_humid_air_over_cold_water_takes_none() -> None:
    for formula in (shah_kg_m2_h, carrier_kg_m2_h, uno_kg_m2_h, menzel_kg_m2_h):
        assert float(formula(10 + K, 30 + K, 0.95)) == 0.0


def test_arrays_go_through_whole() -> None:
    assert uno_kg_m2_h(np.full((2, 3), 300.0), 295.0, np.array([0.3, 0.5, 0.7])).shape == (2, 3)


@pytest.mark.parametrize(
    ("surface", "air", "humidity"), [(400.0, 295.0, 0.5), (295.0, 295.0, 1.2), (295.0, 200.0, 0.5), (np.nan, 295.0, 0.5)]
)
def test_outside_its_range_it_refuses(surface: float, air: float, humidity: float) -> None:
    with pytest.raises(OutOfRangeError):
        uno_kg_m2_h(surface, air, humidity)
