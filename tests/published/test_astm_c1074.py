"""Maturity after ASTM C1074 and Freiesleben Hansen and Pedersen (1977): vectors worked from the printed formulas."""

from __future__ import annotations

import pytest

from steamwright.errors import OutOfRangeError
from steamwright.physics.maturity import cold_activation_j_mol, equivalent_age_h, nurse_saul_k_h

K = 273.15
HOURS, HISTORY_K = (6.0, 6.0, 12.0), (12.0 + K, 16.0 + K, 20.0 + K)


def test_temperature_time_factor() -> None:
    assert nurse_saul_k_h(HOURS, HISTORY_K) == pytest.approx(408.0, abs=1e-9)
    assert nurse_saul_k_h(HOURS, HISTORY_K, K - 10.0) == pytest.approx(648.0, abs=1e-9)


def test_equivalent_age_of_the_same_history() -> None:
    assert equivalent_age_h(HOURS, HISTORY_K) == pytest.approx(17.42, abs=0.005)


@pytest.mark.parametrize(("celsius", "age"), [(5, 8.4), (10, 11.4), (15, 15.3), (20, 20.3), (30, 34.9), (35, 45.2)])
def test_a_day_at_one_temperature(celsius: float, age: float) -> None:
    assert equivalent_age_h(24.0, celsius + K) == pytest.approx(age, abs=0.05)


@pytest.mark.parametrize(("celsius", "age"), [(5, 7.0), (10, 11.9), (15, 17.9), (30, 37.8)])
def test_a_day_with_the_energy_of_cold(celsius: float, age: float) -> None:
    assert equivalent_age_h(24.0, celsius + K, cold_activation_j_mol, 20 + K) == pytest.approx(age, abs=0.05)


def test_nothing_is_gained_below_the_datum() -> None:
    assert nurse_saul_k_h([5.0, 5.0], [263.15, 283.15]) == pytest.approx(50.0)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(OutOfRangeError):
        nurse_saul_k_h(-1.0, 293.15)
    with pytest.raises(OutOfRangeError):
        equivalent_age_h(1.0, 20.0)
