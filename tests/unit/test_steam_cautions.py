"""Cautions for people and the film on a ceiling: printed rows, hand reckoning, ends of ranges."""

from __future__ import annotations

import numpy as np
import pytest

from steamwright.errors import OutOfRangeError
from steamwright.physics.ceiling import WARM, film_limit_m, film_m, film_on_its_way, largest_drop, level_film_kg_m2
from steamwright.physics.moist_air import saturation_pressure_pa
from steamwright.physics.people import burn_seconds, indices_that_reach, scald_seconds, touch_limit_k

HOUR = 3600.0


def fahrenheit_k(value: float) -> float:
    return (value - 32.0) / 1.8 + 273.15


@pytest.mark.parametrize(("fahrenheit", "seconds"), [(120, 300.0), (125, 90.0), (130, 30.0), (135, 10.0), (140, 5.0), (150, 1.5)])
def test_scald_times_as_printed(fahrenheit: float, seconds: float) -> None:
    assert scald_seconds(fahrenheit_k(fahrenheit)) == seconds
    assert scald_seconds(fahrenheit_k(fahrenheit - 1.0)) == seconds  # between rows the hotter one holds


def test_scald_times_lie_over_the_line_without_burns() -> None:
    for fahrenheit in (120, 125, 130, 135, 140, 150):
        assert scald_seconds(fahrenheit_k(fahrenheit)) > float(burn_seconds(fahrenheit_k(fahrenheit)))


def test_scald_times_end() -> None:
    assert scald_seconds(fahrenheit_k(95)) == float("inf")
    with pytest.raises(OutOfRangeError):
        scald_seconds(fahrenheit_k(160))


def test_no_index_reaches_steam() -> None:
    for celsius in (40.0, 43.0, 46.0):
        assert indices_that_reach(celsius + 273.15, float(saturation_pressure_pa(celsius + 273.15)), 0.5) == ()
    room = 0.5 * float(saturation_pressure_pa(303.15))
    assert indices_that_reach(303.15, room, 0.5) == ("predicted heat strain", "universal thermal climate index")
    assert indices_that_reach(303.15, room, 0.1) == ("predicted heat strain",)
    # saturated air leaves the range of the first between 31 and 32 °C
    ends = [indices_that_reach(c + 273.15, float(saturation_pressure_pa(c + 273.15))) for c in (31.0, 32.0)]
    assert ends == [("predicted heat strain",), ()]


def test_touch_limits_fall_with_time() -> None:
    for metal in (True, False):
        limits = [touch_limit_k(s, metal) for s in (0.5, 5.0, 30.0, 300.0)]
        assert limits == sorted(limits, reverse=True)
    assert touch_limit_k(30.0, True) == pytest.approx(324.15)
    with pytest.raises(OutOfRangeError):
        touch_limit_k(3600.0, True)


@pytest.mark.parametrize(("inches", "growth"), [(0.5, 31.6), (1.0, 12.5), (2.0, 4.9), (3.0, 2.8)])
def test_growth_of_waves_down_a_ceiling(inches: float, growth: float) -> None:
    assert film_on_its_way(0.5 / HOUR, 1.5, inches / 12.0).growth == pytest.approx(growth, abs=0.06)


@pytest.mark.parametrize(("kg_m2_h", "minutes", "grams"), [(0.5, 22.7, 47.0), (0.1, 66.0, 28.0)])
def test_a_film_takes_its_time(kg_m2_h: float, minutes: float, grams: float) -> None:
    way = film_on_its_way(kg_m2_h / HOUR, 1.5, 2.0 / 12.0)
    assert way.transit_s / 60.0 == pytest.approx(minutes, rel=0.02)
    assert way.standing_kg_m2 * 1e3 == pytest.approx(grams, rel=0.02)


def test_transit_and_water_are_integrals_of_the_film() -> None:
    rate, run, slope = 0.3 / HOUR, 2.0, 1.5 / 12.0
    u = (np.arange(2000) + 0.5) / 2000
    x, share = run * u**3, 3.0 * u**2  # even steps of the film's thickness: the start of the way is slow
    film = film_m(rate, x, slope)
    way = film_on_its_way(rate, run, slope)
    assert way.standing_kg_m2 == pytest.approx(float((film * share).mean()) * WARM.density_kg_m3, rel=1e-4)
    speed = rate * x / (WARM.density_kg_m3 * film)
    assert way.transit_s == pytest.approx(float((share / speed).mean()) * run, rel=1e-4)


def test_a_level_ceiling_holds_a_while() -> None:
    assert level_film_kg_m2() == pytest.approx(0.735, abs=0.006)
    wetted = [largest_drop(c)[0] for c in (5.0, 10.0)]
    assert wetted[1] < wetted[0] < 18.964  # what a drop of no contact angle at all would hold


def test_more_condensate_asks_for_more_slope() -> None:
    films = film_m(np.array([0.05, 0.1, 0.5, 1.0]) / HOUR, 1.5, 2.0 / 12.0)
    assert (np.diff(films) > 0.0).all()
    assert float(films[-1]) < 0.1 * float(film_limit_m(2.0 / 12.0))
    with pytest.raises(OutOfRangeError):
        film_on_its_way(0.0, 1.5, 0.1)
    with pytest.raises(OutOfRangeError):
        film_on_its_way(0.1 / HOUR, 1.5, 0.0)
