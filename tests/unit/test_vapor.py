"""Vapor through build-ups and seams: hand reckoning, closed forms and planted changes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from steamwright.buildup.catalog import load_catalog
from steamwright.buildup.inputs import BuildUpChoice
from steamwright.buildup.model import BuildUp
from steamwright.buildup.stack import build_stacks
from steamwright.errors import InputError
from steamwright.physics.moist_air import saturation_pressure_pa
from steamwright.units import PERM_KG_PA_S_M2
from steamwright.vapor.case import Case, groups_of, is_open_bay
from steamwright.vapor.climate import Climate, climate_named, climates, hours_of, mean_day
from steamwright.vapor.inputs import SteamUse
from steamwright.vapor.monthly import completed, monthly, steam_share
from steamwright.vapor.report import limit_of, retarders_behind, sides_before, vapor_report
from steamwright.vapor.seams import seams
from steamwright.vapor.sides import side, sides_of
from tests.unit.test_steam_load import CATALOG, CEMENT, case_of

COLD = climate_named("cold humid")
STEADY = SteamUse(kind="continuous", continuous_h=24.0)


def build_up(layers: tuple[dict[str, str], ...] = CEMENT, **said: str) -> BuildUp:
    return build_stacks([BuildUpChoice.model_validate({"name": "b", "on": ("walls",), "layers": layers} | said)], load_catalog())[0]


def with_membrane(material: str) -> tuple[dict[str, str], ...]:
    return tuple({"material": material} if layer["material"].startswith("sheet") else layer for layer in CEMENT)


def test_steady_steam_gathers_what_the_membrane_lets_through() -> None:
    # A film behind lets next to nothing out, so all that passes membrane, board (factor 30) and wool (factor 1) stays.
    far = side("outdoors north", COLD)
    got = monthly(build_up(), far, STEADY, CATALOG.materials, retarder=True)
    coldest = float(saturation_pressure_pa(far.coldest_k + 2.0))
    resistance = 1.0 / (0.5 * PERM_KG_PA_S_M2) + (30 * 0.0127 + 0.0889) / 1.95e-10
    assert got.steaming_g_m2_h == pytest.approx((9160.0 - coldest) / resistance * 3.6e6, rel=0.03)
    assert got.steaming_behind == "mineral wool in the framing"
    assert not got.dries_out


def test_a_tighter_membrane_lets_a_fifth_through() -> None:
    far = side("outdoors north", COLD)
    half, tenth = (monthly(build_up(with_membrane(m)), far, STEADY, CATALOG.materials, retarder=True)
                   for m in ("sheet membrane 0.5 perm", "sheet membrane 0.1 perm"))
    assert tenth.steaming_g_m2_h == pytest.approx(0.2 * half.steaming_g_m2_h, rel=0.05)


def test_a_partition_to_the_house_gathers_nothing() -> None:
    got = monthly(build_up(), side("heated room", COLD), STEADY, CATALOG.materials)
    assert got.planes == ()
    assert got.dries_out
    assert got.steaming_g_m2_h == 0.0


def test_a_retarder_behind_keeps_water_in() -> None:
    far = side("heated room", COLD)
    without, behind = (monthly(build_up(), far, STEADY, CATALOG.materials, r) for r in (False, True))
    assert without.peak_kg_m2 == 0.0
    assert behind.peak_kg_m2 > 1.0
    assert not behind.dries_out
    assert behind.water_by_month_kg_m2[-1] > 0.0


def test_what_closes_an_open_bay_is_said() -> None:
    far = side("outdoors north", COLD)
    assert is_open_bay(build_up())
    assert monthly(build_up(), far, STEADY, CATALOG.materials).assumed == ("exterior-glue plywood, 1/2 in",)
    closed = build_up((*CEMENT, {"material": "gypsum board 1/2 in"}))
    assert not is_open_bay(closed)
    assert monthly(closed, far, STEADY, CATALOG.materials).assumed == ()


def test_the_surface_is_the_share_of_the_film() -> None:
    b = build_up()
    got = monthly(b, side("outdoors north", COLD), STEADY, CATALOG.materials)
    stack = b.r_m2k_w
    assert 0.80 < got.surface_factor < 0.97
    assert 318.15 - got.surface_at_steam_k < 0.05 * (318.15 - min(COLD.mean_k))
    assert stack > 1.0


@pytest.mark.parametrize(("use", "want"), [
    (SteamUse(), 40.0 / 60.0 / 24.0), (SteamUse(sessions_a_day=3.0, days_a_week=2), 3 * 40.0 / 60.0 * 2 / 168.0),
    (SteamUse(kind="continuous"), 0.5), (STEADY, 1.0),
])  # fmt: skip
def test_the_share_of_the_week_that_steams(use: SteamUse, want: float) -> None:
    assert steam_share(use) == pytest.approx(want)


def test_the_seams_of_half_a_perm_change_it_by_a_few_percent() -> None:
    case = case_of()
    got = seams(case)
    assert got is not None
    # A corner piece of the hand-made room is of another membrane of the same class.
    assert got.membrane_kg_pa_s_m2 == pytest.approx(0.5 * PERM_KG_PA_S_M2, rel=1e-6)
    assert got.low_kg_pa_s_m2 < got.high_kg_pa_s_m2
    # By hand: mortar of factor 6, 2 mm thick, 50.8 mm wide: 1.95e-10 / 6 x 0.002 / 0.0508.
    two_inches = next(r for r in got.laps if r.width_m == 0.0508)
    assert two_inches.as_area_m2_m == pytest.approx(1.95e-10 / 6.0 * 0.002 / 0.0508 / (0.5 * PERM_KG_PA_S_M2), rel=1e-6)
    assert two_inches.as_area_m2_m < 0.05
    # An open gap of 10 mm, 2 mm deep, passes as much as 34 square metres of membrane for every metre.
    assert got.gap_as_area_m2_m == pytest.approx(1.95e-10 * 0.010 / 0.002 / (0.5 * PERM_KG_PA_S_M2), rel=1e-6)
    assert got.gap_as_area_m2_m > 500.0 * two_inches.as_area_m2_m


def test_a_wider_lap_passes_less_and_a_tight_membrane_feels_it_more() -> None:
    case = case_of()
    planned = seams(case)
    narrow = seams(replace(case, covering=replace(case.covering, lap_planned_m=0.5 * case.covering.lap_planned_m)))
    assert planned is not None
    assert narrow is not None
    assert narrow.lap_m == pytest.approx(2.0 * planned.lap_m)
    assert narrow.high_kg_pa_s_m2 > planned.high_kg_pa_s_m2


def test_a_covering_of_unknown_permeance_is_not_judged() -> None:
    case = case_of()
    strange = {k: (replace(m, vapor=None) if k.startswith("sheet") else m) for k, m in CATALOG.materials.items()}
    assert seams(replace(case, materials=strange)) is None


def test_unknown_sides_and_retarders_are_run_both_ways() -> None:
    case: Case = case_of(beyond="unknown")
    (b,) = case.buildups
    assert {s.name for s in sides_before(b, case, groups_of(case))} == {"heated room", "outdoors north", "attic"}
    assert retarders_behind(b) == (False, True)
    assert retarders_behind(replace(b, retarder_behind="none")) == (False,)
    assert retarders_behind(replace(b, retarder_behind="retarder")) == (True,)
    (row,) = vapor_report(case).buildups
    assert len(row.monthly) == 6
    assert row.safety == pytest.approx(2.0)


def test_the_limit_goes_by_use() -> None:
    assert limit_of("continuous").permeance_kg_pa_s_m2 == pytest.approx(0.5 * PERM_KG_PA_S_M2)
    assert limit_of("intermittent").source == "common practice, no source"


def test_hours_keep_their_monthly_means_and_ranges() -> None:
    hours = hours_of(COLD)
    ends = np.cumsum(np.array((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)) * 24)
    months = np.split(hours.temperature_k, ends[:-1])
    assert [m.mean() for m in months] == pytest.approx(list(COLD.mean_k), abs=0.02)
    assert np.abs(np.diff(hours.temperature_k)).max() < 3.0
    july = months[6].reshape(31, 24)
    assert july.argmax(axis=1).tolist() == [14] * 31
    assert (july.max(axis=1) - july.min(axis=1)).mean() == pytest.approx(COLD.daily_range_k[6], rel=0.05)
    assert (hours.vapor_pa <= saturation_pressure_pa(hours.temperature_k) * (1 + 1e-12)).all()


def test_the_mean_day_sums_to_nothing() -> None:
    day = mean_day(12.0)
    assert day.sum() == pytest.approx(0.0, abs=0.02)
    assert np.ptp(day) == pytest.approx(12.0, rel=0.03)


def test_a_climate_without_a_month_is_refused() -> None:
    with pytest.raises(InputError, match="twelve"):
        Climate("x", COLD.mean_k[:11], COLD.vapor_pa, COLD.daily_range_k, "s", "text")
    with pytest.raises(InputError, match="one of"):
        climate_named("nowhere")
    assert len(climates()) == 7


def test_sides_are_what_they_say() -> None:
    assert [s.name for s in sides_of("unknown", COLD)] == ["heated room", "outdoors north"]
    garage, out = side("garage", COLD), side("outdoors south", COLD)
    assert out.coldest_k < garage.coldest_k < 293.15
    assert (np.array(garage.vapor_pa) <= saturation_pressure_pa(np.array(garage.temperature_k))).all()
    with pytest.raises(ValueError, match="unknown"):
        side("unknown", COLD)


def test_what_closes_the_bay_is_what_the_job_names() -> None:
    far = side("outdoors north", climate_named("cold humid"))
    found = {}
    for kind in ("none", "polyethylene", "foil", "paint", "retarder"):
        b = build_up(retarder_behind=kind)
        (behind,) = retarders_behind(b)
        names = [layer.material for layer in completed(b, far, CATALOG.materials, behind)[len(b.layers):]]
        found[kind] = (names, monthly(b, far, SteamUse(), CATALOG.materials, behind))
    assert found["none"][0] == ["plywood 1/2 in"]
    assert found["polyethylene"][0] == found["retarder"][0] == ["polyethylene film 6 mil", "plywood 1/2 in"]
    assert found["foil"][0] == ["aluminium foil", "plywood 1/2 in"]
    assert found["paint"][0] == ["plywood 1/2 in", "gloss paint"]
    assert found["foil"][1].peak_kg_m2 >= found["polyethylene"][1].peak_kg_m2 > found["none"][1].peak_kg_m2


def test_verdicts_of_the_months() -> None:
    far = side("outdoors north", climate_named("cold humid"))
    layers = tuple(x for x in CEMENT if "membrane" not in x["material"])
    for some, use, verdict in ((CEMENT, SteamUse(), "pass"), (layers, STEADY, "fail")):
        b = build_up(some, covering="none" if some is layers else "sheet membrane")
        assert monthly(b, far, use, CATALOG.materials).verdict == verdict
