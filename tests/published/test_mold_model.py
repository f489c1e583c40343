"""Hukka and Viitanen (1999) with the classes of ASHRAE 160: values worked from the printed equations (from memory)."""

from __future__ import annotations

import numpy as np
import pytest

from steamwright.errors import InputError
from steamwright.physics.mold import critical_humidity, mold_index, weeks_to_start

K = 273.15


def test_critical_humidity_on_its_polynomial() -> None:
    assert float(critical_humidity(K + 5.0)) == pytest.approx((-0.00267 * 125 + 0.160 * 25 - 3.13 * 5 + 100.0) / 100.0)
    assert critical_humidity([K - 1.0, K + 20.0, K + 35.0]).tolist() == [1.0, 0.8, 0.8]


def test_weeks_to_the_first_growth() -> None:
    # the authors' curves: about a week and a half at 97 %, over four weeks at 90 %, 20 °C, pine sapwood
    assert weeks_to_start(K + 20.0, 0.97) == pytest.approx(1.48, abs=0.01)
    assert weeks_to_start(K + 20.0, 0.90) == pytest.approx(4.20, abs=0.01)


def test_index_one_comes_when_the_equation_says() -> None:
    weeks = weeks_to_start(K + 22.0, 0.97)
    index = mold_index(np.full(3000, K + 22.0), np.full(3000, 0.97), "very_sensitive")
    assert np.argmax(index >= 1.0) / 168.0 == pytest.approx(weeks, rel=0.05)


@pytest.mark.parametrize(("sensitivity", "ceiling"), [("very_sensitive", 5.125), ("sensitive", 4.238), ("resistant", 1.556)])
def test_the_index_ends_under_its_ceiling(sensitivity: str, ceiling: float) -> None:
    index = mold_index(np.full(12 * 8760, K + 22.0), np.full(12 * 8760, 0.95), sensitivity)  # type: ignore[arg-type]
    assert 0.98 * ceiling < index[-1] <= ceiling + 5e-4
    assert (np.diff(index) >= 0.0).all()


def test_dry_and_cold_surfaces_stay_clean() -> None:
    assert mold_index(np.full(8760, K + 22.0), np.full(8760, 0.75)).max() == 0.0
    assert mold_index(np.full(8760, K - 3.0), np.full(8760, 1.0)).max() == 0.0


def test_it_falls_when_it_dries_and_falls_slower_on_board_than_on_wood() -> None:
    humid = np.concatenate((np.full(4000, 0.96), np.full(2000, 0.4)))
    warm = np.full(6000, K + 22.0)
    wood, board = mold_index(warm, humid, "very_sensitive"), mold_index(warm, humid, "sensitive")
    assert wood[3999] - wood[4005] == pytest.approx(0.00133 * 6, rel=1e-6)
    assert wood[4005] == wood[4023]  # it rests from the seventh hour to the end of the first day
    assert wood[4100] - wood[4200] == pytest.approx(0.000667 * 100, rel=1e-6)
    assert (wood[4100] - wood[4200]) == pytest.approx(4.0 * (board[4100] - board[4200]), rel=1e-6)


def test_steam_once_a_day_is_judged_by_its_hours() -> None:
    day = np.tile(np.where(np.arange(24) < 2, 0.98, 0.6), 365)
    always = mold_index(np.full(8760, K + 25.0), np.full(8760, 0.98)).max()
    assert 0.0 < mold_index(np.full(8760, K + 25.0), day).max() < 0.3 * always


def test_a_gap_is_refused() -> None:
    with pytest.raises(InputError):
        mold_index([290.0, np.nan], [0.5, 0.5])
