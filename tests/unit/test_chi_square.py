"""The chi-square distribution against an independent implementation."""

from __future__ import annotations

import pytest
from scipy.special import chdtr, chdtri

from steamwright.room.chi_square import chi_square_cdf, chi_square_quantile


@pytest.mark.parametrize("dof", [1, 2, 3, 7, 20, 55, 150])
@pytest.mark.parametrize("probability", [0.001, 0.025, 0.5, 0.975, 0.999])
def test_quantile_agrees(dof: int, probability: float) -> None:
    assert chi_square_quantile(probability, dof) == pytest.approx(float(chdtri(dof, 1.0 - probability)), rel=1e-9)


@pytest.mark.parametrize("chi2", [0.0, 1e-4, 0.7, 5.0, 40.0, 300.0])
def test_cdf_agrees(chi2: float) -> None:
    assert chi_square_cdf(chi2, 5) == pytest.approx(float(chdtr(5, chi2)), abs=1e-13)


@pytest.mark.parametrize(("probability", "dof"), [(0.0, 1), (1.0, 1), (0.5, 0)])
def test_out_of_range(probability: float, dof: int) -> None:
    with pytest.raises(ValueError, match="quantile"):
        chi_square_quantile(probability, dof)
