"""ISO 13788:2012, example B.1 (least surface temperature factor) and C.2 (warm roof with vapor check), as read in open test code."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from steamwright.errors import InputError
from steamwright.physics.moist_air import magnus_pressure_pa, saturation_pressure_pa
from steamwright.physics.vapor_monthly import Plane, Stack, interstitial_year, surface_factor, surface_factor_needed

DATA = json.loads((Path(__file__).parent / "data" / "iso13788.json").read_text(encoding="utf-8"))
ROOF = Stack((0.075, 0.0, 3.0, 0.05), (0.12, 1000.0, 15.0, 5000.0), 0.10, 0.04)


def climate(example: dict[str, list[float]]) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    inside, outside = np.array(example["ti"]) + 273.15, np.array(example["te"]) + 273.15
    humid_out = np.array(example.get("RHe", [80.0] * 12)) / 100.0
    return inside, magnus_pressure_pa(inside) * np.array(example["RHi"]) / 100.0, outside, magnus_pressure_pa(outside) * humid_out


def test_every_number_of_example_b1() -> None:
    b1 = DATA["example_B1"]
    inside, vapor, outside, _ = climate(b1)
    surface, factor = surface_factor_needed(outside, inside, vapor)
    assert np.round(vapor).tolist() == b1["pi"]
    assert np.round(vapor / 0.8).tolist() == b1["psat_si_min"]
    assert np.round(surface - 273.15, 1).tolist() == b1["theta_si_min"]
    assert np.round(factor, 3).tolist() == b1["fRsi_min"]


def test_flows_of_example_c2() -> None:
    c2 = DATA["example_C2"]
    year = interstitial_year(ROOF, *climate(c2))
    flow = dict(zip(year.months, year.flow_kg_m2.sum(axis=1), strict=True))
    # the source cuts two of its digits off, so a unit of the last digit is allowed
    assert [flow[m] for m in range(12)] == pytest.approx(c2["gc_published_kg_m2"], abs=1e-5)
    assert year.planes == (Plane(2, 1.0),)
    assert year.first_month == 10
    assert year.dries_out
    assert year.peak_kg_m2 == pytest.approx(0.000567, abs=2e-6)


def test_the_roof_without_its_vapor_check_gathers_more() -> None:
    bare = Stack((0.075, 3.0, 0.05), (0.12, 15.0, 5000.0), 0.10, 0.04)
    assert interstitial_year(bare, *climate(DATA["example_C2"])).peak_kg_m2 > 20.0 * 0.000567


def test_a_wall_steamed_without_end_never_dries() -> None:
    perm = 5.721349e-11
    wall = Stack((0.012, 0.0, 0.05, 2.4, 0.12), (1.2, 2e-10 / (0.5 * perm), 2e-10 / 740e-12, 0.13, 2e-10 / (2.0 * perm)), 1 / 30, 1 / 23)
    cold = np.full(12, 263.15)
    year = interstitial_year(wall, np.full(12, 318.15), saturation_pressure_pa(np.full(12, 318.15)), cold,
                             0.8 * saturation_pressure_pa(cold), saturation_pressure_pa)  # fmt: skip
    assert not year.dries_out
    # 17.38 g/(m2 day) by an independent run of the same step with slightly other heat resistances
    assert year.flow_kg_m2[0].sum() / 31.0 * 1e3 == pytest.approx(17.38, rel=0.03)


def test_two_tight_layers_are_answered_and_not_refused() -> None:
    trap = Stack((0.1, 0.0, 2.0, 0.0), (0.5, 500.0, 0.1, 500.0), 0.13, 0.04)
    year = interstitial_year(trap, *climate(DATA["example_C2"]))
    assert len(year.planes) >= 1


def test_planes_in_one_wall_may_be_several() -> None:
    layers = Stack((2.0, 0.0, 2.0, 0.0), (0.2, 20.0, 0.2, 50.0), 0.13, 0.04)
    inside, _, outside, vapor_out = climate(DATA["example_C2"])
    year = interstitial_year(layers, inside, magnus_pressure_pa(inside) * 0.8, outside, vapor_out)
    assert {p.layer for p in year.planes} >= {0, 2}


def test_surface_factor_of_a_wall() -> None:
    assert surface_factor(2.5) == pytest.approx(0.9)


@pytest.mark.parametrize("stack", [((0.1, 0.0), (1.0, 0.0)), ((0.1,), (1.0, 2.0)), ((), ()), ((-0.1,), (1.0,))])
def test_a_stack_that_cannot_be(stack: tuple[tuple[float, ...], tuple[float, ...]]) -> None:
    with pytest.raises(InputError):
        Stack(*stack)


def test_a_month_is_missing() -> None:
    inside, vapor, outside, vapor_out = climate(DATA["example_C2"])
    outside[3] = np.nan
    with pytest.raises(InputError, match="twelve"):
        interstitial_year(ROOF, inside, vapor, outside, vapor_out)


def test_thick_insulation_is_cut_so_that_water_is_found_inside_it() -> None:
    inside, outside = np.full(12, 293.15), np.full(12, 263.15)
    vapor, vapor_out = 0.8 * magnus_pressure_pa(inside), 0.8 * magnus_pressure_pa(outside)
    year = interstitial_year(Stack((4.0,), (1.0,), 0.13, 0.04), inside, vapor, outside, vapor_out)
    assert year.planes
    assert all(0.0 < p.share < 1.0 for p in year.planes)
