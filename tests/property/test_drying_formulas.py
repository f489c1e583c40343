"""Evaporation, maturity and mold: what must hold for any weather."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.physics.evaporation import carrier_kg_m2_h, flood_loss_mm, menzel_kg_m2_h, shah_kg_m2_h, uno_kg_m2_h
from steamwright.physics.maturity import cold_activation_j_mol, equivalent_age_h, nurse_saul_k_h
from steamwright.physics.mold import CLASSES, Class, critical_humidity, mold_index, weeks_to_start

FORMULAS = [shah_kg_m2_h, carrier_kg_m2_h, uno_kg_m2_h, menzel_kg_m2_h]
warm = st.floats(281.0, 320.0)
humid = st.floats(0.05, 0.95)


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f.__name__)
@settings(max_examples=50, deadline=None)
@given(warm, warm, humid, st.floats(0.0, 0.05), st.floats(0.0, 1.0))
def test_damper_air_never_takes_more_and_warmer_water_never_less(
    formula: Callable[..., np.ndarray], water: float, air: float, humidity: float, damper: float, warmer: float
) -> None:
    rate = float(formula(water, air, humidity))
    assert 0.0 <= float(formula(water, air, humidity + damper)) <= rate * (1.0 + 1e-12) + 1e-15
    assert float(formula(water + warmer, air, humidity)) >= rate * (1.0 - 1e-12)


@settings(max_examples=50, deadline=None)
@given(warm, warm, humid, st.floats(1.0, 48.0))
def test_the_band_of_a_flooded_pan_is_a_band_and_grows_with_time(water: float, air: float, humidity: float, hours: float) -> None:
    low, high = (float(v) for v in flood_loss_mm(water, air, humidity, hours))
    assert 0.0 <= low <= high
    twice = [float(v) for v in flood_loss_mm(water, air, humidity, 2.0 * hours)]
    assert twice == pytest.approx([2.0 * low, 2.0 * high])


stretches = st.lists(st.tuples(st.floats(0.1, 48.0), st.floats(270.0, 320.0)), min_size=1, max_size=6)


@settings(max_examples=50, deadline=None)
@given(stretches, stretches)
def test_maturity_adds_up_and_a_warmer_history_is_older(first: list[tuple[float, float]], second: list[tuple[float, float]]) -> None:
    for measure in (nurse_saul_k_h, equivalent_age_h, lambda h, t: equivalent_age_h(h, t, cold_activation_j_mol)):
        a, b, both = ([h for h, _ in s] for s in (first, second, first + second))
        at, bt, botht = ([t for _, t in s] for s in (first, second, first + second))
        assert measure(both, botht) == pytest.approx(measure(a, at) + measure(b, bt))
        assert measure(a, [t + 1.0 for t in at]) >= measure(a, at)


def test_at_the_reference_temperature_a_day_is_a_day() -> None:
    for reference in (293.15, 296.15):
        assert equivalent_age_h(24.0, reference, 33_500.0, reference) == pytest.approx(24.0)


weather = st.lists(st.tuples(st.floats(263.0, 318.0), st.floats(0.3, 1.2)), min_size=24, max_size=200)


@settings(max_examples=40, deadline=None)
@given(weather, st.sampled_from(sorted(CLASSES)))
def test_the_index_stays_in_its_range_and_grows_only_where_it_is_damp(hours: list[tuple[float, float]], kind: Class) -> None:
    temperature, humidity = np.array(hours).T
    index = mold_index(temperature, humidity, kind, 24.0)
    most = max(CLASSES[kind].a + CLASSES[kind].b * s - CLASSES[kind].c * s * s for s in np.linspace(0.0, 1.0, 101))
    assert (index >= 0.0).all()
    assert index.max() <= most + 0.5  # a step of a day may overshoot where the ceiling has just fallen
    grew = np.diff(index, prepend=0.0) > 0.0
    assert (humidity[grew] > critical_humidity(temperature[grew], CLASSES[kind].least_humidity)).all()


def test_the_error_of_the_index_falls_with_the_step() -> None:
    """At a steady climate under index 1 the equation has an answer in closed form."""
    hours, kind = 1.2e4, CLASSES["resistant"]
    share = (kind.least_humidity - 0.90) / (kind.least_humidity - 1.0)
    ceiling = kind.b * share - kind.c * share**2
    assert ceiling < 1.0
    pace = kind.early / (168.0 * weeks_to_start(298.15, 0.90))
    held = np.exp(-2.3 * ceiling)
    exact = -np.log(held + (1.0 - held) * np.exp(-2.3 * pace * hours)) / 2.3
    assert 0.2 < exact < 0.9 * ceiling  # on its way, not at its end
    steps = np.array([400.0, 200.0, 100.0, 50.0])
    errors = []
    for step in steps:
        n = int(hours / step)
        errors.append(abs(mold_index(np.full(n, 298.15), np.full(n, 0.90), "resistant", float(step))[-1] - exact))
    order = np.polyfit(np.log(steps), np.log(errors), 1)[0]
    assert 0.9 < order < 1.2
