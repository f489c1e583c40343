"""The two blocks of climate of DIN 4108-3 annex A: by hand, and beside twelve months of a climate."""

from __future__ import annotations

import numpy as np
import pytest

from steamwright.physics.moist_air import magnus_pressure_pa
from steamwright.physics.vapor_monthly import Stack, block_climate, interstitial_year


def test_block_climate_by_hand() -> None:
    wall = Stack((0.5, 2.0, 0.0), (1.0, 0.5, 20.0), 0.25, 0.04)
    outer_k = 293.15 - 25.0 * (0.25 + 2.5) / 2.79
    cap = float(magnus_pressure_pa(outer_k))
    by_hand = 2e-10 * ((1170.0 - cap) / 1.5 - (cap - 321.0) / 20.0) * 90 * 86400
    block = block_climate(wall)
    assert block.gathered_kg_m2 == pytest.approx(by_hand, rel=1e-6)
    assert block.drying_kg_m2 == pytest.approx(2e-10 * 500.0 * (1 / 1.5 + 1 / 20.0) * 90 * 86400, rel=1e-6)


def test_a_wall_that_never_meets_the_dew_point_gathers_nothing() -> None:
    block = block_climate(Stack((2.0, 0.1), (50.0, 0.1), 0.25, 0.04))
    assert (block.gathered_kg_m2, block.drying_kg_m2, block.dries) == (0.0, 0.0, True)


@pytest.mark.parametrize(("tight_inside_m", "gathers"), [(0.2, True), (500.0, False)])
def test_blocks_and_months_agree_on_what_gathers(tight_inside_m: float, gathers: bool) -> None:
    # A cold year with a dwelling inside: where the blocks find water the months do, and where they find none.
    wall = Stack((0.1, 2.0, 0.1), (tight_inside_m, 0.2, 20.0), 0.25, 0.04)
    outside = 273.15 + np.array([-5.0, -4.0, 0.0, 5.0, 10.0, 14.0, 16.0, 15.0, 11.0, 6.0, 1.0, -4.0])
    inside = np.full(12, 293.15)
    months = interstitial_year(wall, inside, np.full(12, 1170.0), outside, 0.8 * magnus_pressure_pa(outside))
    block = block_climate(wall)
    assert (block.gathered_kg_m2 > 0.0) is gathers
    assert (months.peak_kg_m2 > 0.0) is gathers
    assert block.dries is months.dries_out
