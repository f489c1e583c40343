"""Monthly vapor against an independent reckoning: every set of touched planes tried, and each month cut into many small steps."""

from __future__ import annotations

from itertools import chain, combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.physics.moist_air import magnus_pressure_pa
from steamwright.physics.vapor_monthly import MONTH_DAYS, Stack, block_climate, interstitial_year

AIR = 2.0e-10
MONTH = np.arange(12)


def tried(z: np.ndarray, cap: np.ndarray, wet: frozenset[int]) -> np.ndarray:
    """Net flow into every inner plane: the one set of touched planes under which no pressure is above saturation
    and no dry plane gives water. [kg/(m2 s)]"""
    free = [k for k in range(1, len(z) - 1) if k not in wet]
    for more in chain.from_iterable(combinations(free, n) for n in range(len(free) + 1)):
        at = sorted({0, len(z) - 1, *wet, *more})
        p = np.interp(z, z[at], cap[at])
        flux = -AIR * np.diff(p) / np.diff(z)
        net = flux[:-1] - flux[1:]
        if (p <= cap * (1.0 + 1e-12)).all() and all(net[k - 1] >= -1e-9 * np.abs(flux).max() for k in more):
            return np.where([k in wet or k in more for k in range(1, len(z) - 1)], net, 0.0)
    raise AssertionError("no set of planes fits")


class Peer:
    """A wall of layers too thin in heat resistance to be cut, marched in small steps."""

    def __init__(self, stack: Stack, inside_k: np.ndarray, inside_pa: np.ndarray, outside_k: np.ndarray, outside_pa: np.ndarray) -> None:
        r = np.array(stack.resistance_m2k_w)
        share = (stack.inside_m2k_w + np.cumsum(r)[:-1]) / (stack.inside_m2k_w + r.sum() + stack.outside_m2k_w)
        self.z = np.concatenate(([0.0], np.cumsum(stack.air_layer_m)))
        self.cap = [np.concatenate(([inside_pa[m]], magnus_pressure_pa(inside_k[m] + (outside_k[m] - inside_k[m]) * share),
                                    [outside_pa[m]])) for m in MONTH]  # fmt: skip
        self.known: dict[tuple[int, frozenset[int]], np.ndarray] = {}

    def flow(self, m: int, water: np.ndarray) -> np.ndarray:
        key = (m, frozenset((np.flatnonzero(water > 0.0) + 1).tolist()))
        if key not in self.known:
            self.known[key] = tried(self.z, self.cap[m], key[1])
        return self.known[key]

    def year(self, first: int, water: np.ndarray, steps: int) -> np.ndarray:
        """Water at the end of every month."""
        ends = []
        for m in (first + MONTH) % 12:
            for _ in range(steps):
                water = np.maximum(water + self.flow(int(m), water) * MONTH_DAYS[m] * 86400.0 / steps, 0.0)
            ends.append(water)
        return np.array(ends)


def climate(inside_humidity: np.ndarray | float, outside_humidity: np.ndarray | float = 0.8) -> tuple[np.ndarray, ...]:
    inside = np.full(12, 293.15)
    outside = 281.15 - 14.0 * np.cos(2.0 * np.pi * (MONTH - 0.5) / 12.0)
    return inside, magnus_pressure_pa(inside) * inside_humidity, outside, magnus_pressure_pa(outside) * outside_humidity


layer = st.tuples(st.floats(0.0, 0.25), st.floats(0.05, 30.0))
humidities = st.lists(st.floats(0.3, 0.98), min_size=12, max_size=12).map(np.array)


@settings(max_examples=60, deadline=None)
@given(st.lists(layer, min_size=2, max_size=5), humidities, humidities)
def test_a_month_is_the_one_answer_without_vapor_over_saturation(
    layers: list[tuple[float, float]], inside: np.ndarray, outside: np.ndarray
) -> None:
    stack = Stack(tuple(r for r, _ in layers), tuple(s for _, s in layers))
    air = climate(inside, outside)
    year = interstitial_year(stack, *air)
    peer = Peer(stack, *air)
    dry = np.zeros(len(layers) - 1)
    came = [peer.flow(m, dry).sum() for m in range(12)]
    if not len(year.planes):
        assert max(came) <= 1e-17
        return
    assert year.flow_kg_m2[0].sum() == pytest.approx(came[year.first_month] * MONTH_DAYS[year.first_month] * 86400.0, rel=1e-6, abs=1e-12)
    assert came[year.first_month] > 0.0


@settings(max_examples=80, deadline=None)
@given(st.lists(layer, min_size=2, max_size=5), humidities, humidities)
def test_water_is_never_negative_and_comes_only_by_flow(
    layers: list[tuple[float, float]], inside: np.ndarray, outside: np.ndarray
) -> None:
    year = interstitial_year(Stack(tuple(r for r, _ in layers), tuple(s for _, s in layers)), *climate(inside, outside))
    assert (year.water_kg_m2 >= 0.0).all()
    before = np.vstack((np.zeros(len(year.planes)), year.water_kg_m2[:-1]))
    assert year.water_kg_m2 == pytest.approx(np.maximum(before + year.flow_kg_m2, 0.0), rel=1e-9, abs=1e-12)
    assert year.peak_kg_m2 == pytest.approx(year.water_kg_m2.sum(axis=1).max(initial=0.0))


@settings(max_examples=60, deadline=None)
@given(st.lists(layer, min_size=2, max_size=4), st.floats(0.5, 20.0), st.floats(0.1, 50.0))
def test_more_resistance_inside_never_gathers_more(layers: list[tuple[float, float]], tight: float, more: float) -> None:
    def gathered(first: float) -> float:
        return block_climate(Stack((0.0, *(r for r, _ in layers)), (first, *(s for _, s in layers)), 0.25, 0.04)).gathered_kg_m2

    assert gathered(tight + more) <= gathered(tight) * (1.0 + 1e-9) + 1e-12


# Wet in April from a humid month, wet again from October on: what October brings is still there in April, and gone in summer.
TWICE = Stack((0.1, 0.2, 0.2), (0.5, 10.0, 20.0))
TWO_SEASONS = np.array([0.40, 0.40, 0.40, 0.85, 0.35, 0.30, 0.30, 0.30, 0.30, 0.95, 0.95, 0.95])


def test_the_year_begins_where_it_ends_dry() -> None:
    air = climate(TWO_SEASONS, 0.7)
    year = interstitial_year(TWICE, *air)
    peer = Peer(TWICE, *air)
    dry = np.zeros(2)
    wet = [bool(peer.flow(m, dry).sum() > 0.0) for m in range(12)]
    begins = [m for m in range(12) if wet[m] and not wet[m - 1]]
    assert len(begins) == 2
    ends = {m: float(peer.year(m, dry, 400)[-1].sum()) for m in begins}
    assert ends[begins[0]] > 0.0  # the first month of the calendar that is wet would call it a wall that never dries
    assert ends[begins[1]] == 0.0
    assert year.first_month == begins[1]
    assert year.dries_out


def test_a_plane_that_runs_dry_within_a_month_gives_no_more_than_it_held() -> None:
    stack = Stack((0.20, 0.25, 0.25, 0.05), (0.3, 0.6, 2.0, 30.0))
    humid = np.where(np.isin(MONTH, (10, 11, 0)), 0.9, 0.45)
    air = climate(humid, 0.8)
    year = interstitial_year(stack, *air)
    fine = Peer(stack, *air).year(year.first_month, np.zeros(3), 4000)
    assert len(year.planes) >= 2
    assert year.water_kg_m2.sum(axis=1) == pytest.approx(fine.sum(axis=1), rel=2e-3, abs=2e-4)
