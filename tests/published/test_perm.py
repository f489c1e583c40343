"""The perm from its definition, against the printed factors of ASTM E96, table 1 (MEM-06, MEM-07 of the rule notes)."""

from __future__ import annotations

import pytest

from steamwright.units import FOOT_M, GRAIN_KG, INCH_M, INCH_OF_MERCURY_0C_PA, PERM_KG_PA_S_M2, parse_permeance


def test_perm_from_grain_square_foot_and_inch_of_mercury() -> None:
    grain_kg, hour_s, square_foot_m2, inch_of_mercury_pa = 64.79891e-6, 3600.0, 0.09290304, 3386.389
    derived = grain_kg / (hour_s * square_foot_m2 * inch_of_mercury_pa)
    assert derived == pytest.approx(5.721349e-11, rel=2e-7)
    assert pytest.approx(derived, rel=2e-7) == PERM_KG_PA_S_M2


def test_printed_factor_of_permeance() -> None:
    assert round(PERM_KG_PA_S_M2 * 1e3 * 1e8, 2) == 5.72  # 5.72e-8 g/(Pa s m2)


def test_printed_factor_of_permeability() -> None:
    assert round(PERM_KG_PA_S_M2 * INCH_M * 1e3 * 1e9, 2) == 1.45  # 1 perm inch = 1.45e-9 g/(Pa s m)


def test_printed_factor_of_transmission() -> None:
    assert round(GRAIN_KG * 1e3 / FOOT_M**2, 3) == 0.697  # 1 grain/(h ft2) = 0.697 g/(h m2)


def test_inch_of_mercury() -> None:
    assert pytest.approx(3386.389, abs=0.001) == INCH_OF_MERCURY_0C_PA


def test_half_a_perm() -> None:
    assert parse_permeance("0.5 perm") == pytest.approx(28.6e-12, abs=0.05e-12)
    assert parse_permeance("28.6 ng/(Pa s m2)") == pytest.approx(28.6e-12)
