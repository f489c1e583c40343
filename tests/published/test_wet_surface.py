"""Condensing steam, ceilings, seams, burns and people against an independent computation and what could be read.

``data/independent_run.json`` was computed by a separate program with other property sets; it is no published table.
Published are the saturated-air core temperatures of 60 people (1976, abstract) and the burn lines read in a later paper.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from steamwright.errors import OutOfRangeError
from steamwright.physics.ceiling import RETENTION, drop_slope, film_limit_m, film_m, film_slope, largest_drop
from steamwright.physics.moist_air import density_kg_m3, saturation_pressure_pa, vapor_density_kg_m3
from steamwright.physics.people import burn_seconds, session_limit_minutes, steam_exposure, touch_limit_k
from steamwright.physics.seam import (
    air_leak_kg_s,
    capillary_lap_kg_m_s,
    collar_kg_pa_s,
    enclosure_permeance_kg_pa_s_m2,
    hole_kg_pa_s,
    lap_kg_pa_s_m,
)
from steamwright.physics.wet_surface import condensation

VALUES = json.loads((Path(__file__).parent / "data" / "independent_run.json").read_text(encoding="utf-8"))
K, PERM = 273.15, 5.721349e-11


def test_condensation_on_walls_and_ceilings() -> None:
    for row in VALUES["condensation_saturated_air"]:
        got = condensation(row["t_air"] + K, 1.0, row["t_s"] + K, row["L"], row["kind"])
        assert float(got.water_kg_m2_s) * 3600 == pytest.approx(row["m_kg_m2h"], rel=0.01)
        assert float(got.heat_w_m2) == pytest.approx(row["q_wall"], rel=0.01)


def test_the_worked_example_with_full_properties() -> None:
    got = condensation(45 + K, 1.0, 35 + K, 2.3)
    assert float(got.film_w_m2k) == pytest.approx(3.321, rel=0.015)
    assert float(got.water_kg_m2_s) * 3600 == pytest.approx(0.3508, rel=0.01)
    assert float(got.heat_w_m2) == pytest.approx(268.8, rel=0.01)


def test_a_warm_surface_gets_no_water() -> None:
    got = condensation(40 + K, 0.9, 45 + K, 2.3)
    assert float(got.water_kg_m2_s) == 0.0
    assert float(got.heat_w_m2) < 0.0


def test_no_surface_hangs_otherwise() -> None:
    with pytest.raises(OutOfRangeError):
        condensation(318.15, 1.0, 300.0, 2.0, "roof")


def test_sixty_people_in_steam_of_45_to_50_degrees() -> None:
    for celsius in (45.0, 48.0):
        run = steam_exposure(celsius + K, minutes=25.0)
        assert float(np.interp(20.0, run.minute, run.core_k)) - K == pytest.approx(38.5, abs=0.7)
        assert float(np.interp(20.0, run.minute, run.skin_k)) - K == pytest.approx(40.4, abs=1.0)


@pytest.mark.parametrize(("celsius", "still", "stirred"), [(40, 31.7, 24.1), (43, 19.4, 13.4), (45, 14.9, 10.1), (50, 9.1, 6.1)])
def test_minutes_to_the_notice(celsius: float, still: float, stirred: float) -> None:
    assert steam_exposure(celsius + K).minutes_to_notice == pytest.approx(still, abs=0.2)
    assert steam_exposure(celsius + K, stirring=2.0).minutes_to_notice == pytest.approx(stirred, abs=0.2)
    assert session_limit_minutes(steam_exposure(celsius + K)) <= 15.0


@pytest.mark.parametrize(
    ("celsius", "middle", "safe"), [(45, 5834, 290), (48, 939, 46.8), (50, 296, 14.7), (55, 19.9, 0.99), (60, 1.70, 0.085)]
)
def test_burns(celsius: float, middle: float, safe: float) -> None:
    assert float(burn_seconds(celsius + K, safe=False)) == pytest.approx(middle, rel=0.005)
    assert float(burn_seconds(celsius + K)) == pytest.approx(safe, rel=0.01)


def test_touch_limits() -> None:
    assert touch_limit_k(0.5, metal=True) == pytest.approx(343.15)
    assert touch_limit_k(300.0, metal=False) == pytest.approx(321.15)
    with pytest.raises(OutOfRangeError):
        touch_limit_k(3600.0, metal=True)


def test_films_on_a_slope() -> None:
    for inches, limit_mm in VALUES["film"]["H_crit_mm"].items():
        assert float(film_limit_m(float(inches) / 12.0)) * 1e3 == pytest.approx(limit_mm, rel=1e-4)
    for row in VALUES["film"]["alpha_c_deg"]:
        assert np.degrees(np.arctan(film_slope(row["m_kg_m2h"] / 3600.0, row["L"]))) == pytest.approx(row["deg"], rel=1e-3)
    # two inches in a foot carry a film ten times thinner than their limit
    assert float(film_m(0.5 / 3600.0, 1.5, 2 / 12)) < 0.1 * float(film_limit_m(2 / 12))
    with pytest.raises(OutOfRangeError):
        film_m(1e-4, 1.5, 0.0)


@pytest.mark.parametrize("angle", [20, 60, 90, 110])
def test_largest_drops(angle: int) -> None:
    row = next(r for r in VALUES["pendant"] if r["theta_a"] == angle)
    volume, foot = largest_drop(angle)
    assert volume == pytest.approx(row["V_lc3"], rel=1e-3)
    assert foot == pytest.approx(row["R_lc"], rel=2e-3)


@pytest.mark.parametrize(
    ("advancing", "receding", "degrees"), [(80, 50, (7.67, 9.47, 12.1)), (110, 90, (7.71, 9.53, 12.2)), (60, 20, (6.02, 7.44, 9.48))]
)
def test_slopes_at_which_drops_run(advancing: float, receding: float, degrees: tuple[float, ...]) -> None:
    got = [np.degrees(np.arctan(drop_slope(advancing, receding, k))) for k in RETENTION]
    assert got == pytest.approx(degrees, abs=0.06)


def test_laps() -> None:
    for row in VALUES["seam"]:
        if "Gprime" in row:
            assert float(lap_kg_pa_s_m(row["b"], row["d"], 1.95e-10 / row["mu"])) == pytest.approx(row["Gprime"], rel=1e-9)
    fin = [float(lap_kg_pa_s_m(0.05, 0.002, 1.95e-11, w * PERM)) for w in (0.0, 0.1, 0.5)]
    assert fin == pytest.approx([7.8000e-13, 9.7014e-13, 1.72015e-12], rel=1e-4)
    assert capillary_lap_kg_m_s(0.05, 0.002, 0.02, 230.0) * 86400e3 == pytest.approx(3.30, rel=0.01)


def test_a_whole_covering() -> None:
    """15 m² with 14 m of laps and 20 m of band with two edges each: 0.1 perm becomes 0.143, and 0.5 becomes 0.518."""
    for perm, effective in ((0.1, 0.143), (0.19, 0.228), (0.5, 0.518)):
        w = perm * PERM
        lap = float(lap_kg_pa_s_m(0.05, 0.002, 1.95e-11, w))
        collars = 3 * float(collar_kg_pa_s(0.03, 0.13, 0.002, 1.95e-11))
        got = enclosure_permeance_kg_pa_s_m2([15.0], [w], [54.0], [lap], [w * 0.05], [collars])
        assert got / PERM == pytest.approx(effective, abs=0.002)


def test_holes_and_leaks() -> None:
    assert float(hole_kg_pa_s(0.002, 0.0005)) * 8423.8 * 86400e3 == pytest.approx(0.17, rel=0.35)  # sheet thickness of the source unknown
    steam_pa = float(saturation_pressure_pa(318.15))
    room_pa = 0.5 * float(saturation_pressure_pa(293.15))
    lost = air_leak_kg_s(1e-4, 1.0, density_kg_m3(318.15, steam_pa), density_kg_m3(293.15, room_pa), steam_pa, 318.15,
                         vapor_density_kg_m3(293.15, room_pa))  # fmt: skip
    assert float(lost) * 86400e3 == pytest.approx(452.0, rel=0.02)
