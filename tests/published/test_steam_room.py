"""Steam rooms against an independent program (``data/independent_run.json``, not published): two rooms of 4 m³.

No measured heat-up could be found, so this verifies the arithmetic and does not validate the transfer of heat in a real room.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from steamwright.errors import InfeasibleError, InputError
from steamwright.physics.moist_air import saturation_pressure_pa, vapor_density_kg_m3
from steamwright.physics.steam_room import Panel, Session, door_flow_m3_s, steam
from steamwright.physics.steam_size import next_room_hours, power_for_w, rule_of_thumb_w, size

VALUES = json.loads((Path(__file__).parent / "data" / "independent_run.json").read_text(encoding="utf-8"))["steam_load"]
K = 273.15
MATERIAL = {
    "tile": (1.3, 2300 * 840.0), "mortar": (1.0, 1800 * 1000.0), "foam": (0.03, 32 * 1450.0), "wool": (0.037, 60 * 1030.0),
    "gypsum": (0.16, 640 * 1150.0), "glass": (1.0, 2500 * 750.0),
    "strand board": (0.13, 650 * 1700.0), "cement board": (0.25, 1150 * 840.0),
}  # fmt: skip
TILED = (("tile", 0.008), ("mortar", 0.004))


def panel(area: float, lie: str, length: float, layers: tuple[tuple[str, float], ...], back_c: float = 20.0, film: float = 8.0) -> Panel:
    kinds = [MATERIAL[name] for name, _ in layers]
    return Panel(area, lie, length, tuple(d for _, d in layers), tuple(k for k, _ in kinds), tuple(c for _, c in kinds), back_c + K, film)


FLOOR = panel(1.8, "floor", 1.8 / 5.4, (("tile", 0.008), ("mortar", 0.04), ("strand board", 0.019)), 20.0, 6.0)
GLASS = panel(2.0, "wall", 2.3, (("glass", 0.01),))


def foam_room() -> tuple[Panel, ...]:
    layers = (*TILED, ("foam", 0.0125), ("wool", 0.089), ("gypsum", 0.0127))
    return panel(10.42, "wall", 2.3, layers), GLASS, panel(1.8, "ceiling", 1.8 / 5.4, layers), FLOOR


def board_room() -> tuple[Panel, ...]:
    board = (*TILED, ("cement board", 0.0125))
    return (panel(6.97, "wall", 2.3, (*board, ("wool", 0.089), ("gypsum", 0.0127))),
            panel(3.45, "wall", 2.3, (*board, ("wool", 0.089), ("strand board", 0.012)), -10.0, 23.0),
            GLASS, panel(1.8, "ceiling", 1.8 / 5.4, (*board, ("wool", 0.2)), 0.0), FLOOR)  # fmt: skip


SESSION = Session(45.0 + K, 2700.0, 1.0)


@pytest.mark.parametrize(("room", "kw", "key"), [(foam_room, 6.0, "R1"), (board_room, 7.5, "R2")])
def test_a_session_of_45_minutes(room: object, kw: float, key: str) -> None:
    want = VALUES[key]["given_kW_45min"]
    got = steam(room(), 4.14, kw * 1e3, SESSION)  # type: ignore[operator]
    assert got.hit_s[0] / 60 == pytest.approx(want["t_hit_min"], rel=0.01)
    assert got.steam_kg[0] == pytest.approx(want["steam_kg"], rel=0.01)
    assert got.electricity_j[0] / 3.6e6 == pytest.approx(want["elec_kWh"], rel=0.01)
    assert got.panel_j.sum() / 1e6 == pytest.approx(want["wall_heat_MJ"], rel=0.01)
    assert got.ventilated_j[0] / 1e6 == pytest.approx(want["vent_MJ"], rel=0.01)
    assert got.air_store_j[0] / 1e6 == pytest.approx(want["air_store_MJ"], rel=0.01)
    assert got.condensate_kg.sum() == pytest.approx(want["cond_kg"], rel=0.01)
    assert got.fog_kg[0] == pytest.approx(want["fog_kg"], rel=0.02)
    assert got.hold_w[0] / 1e3 == pytest.approx(want["hold_kW"], rel=0.03)
    assert (got.surface_k[-1, 0] - K).tolist() == pytest.approx(list(want["ts_end"].values()), abs=0.15)


def test_the_energy_of_the_steam_is_accounted_for() -> None:
    doors = replace(SESSION, people=2, people_from_s=1200.0, doors_s=((1200.0, 15.0), (2400.0, 15.0)), off_s=2500.0)
    assert np.abs(steam(foam_room(), 4.14, [4e3, 6e3, 9e3], doors).residual).max() < 1e-7


def test_a_smaller_step_and_finer_layers_change_little() -> None:
    usual = steam(foam_room(), 4.14, 6e3, SESSION)
    fine = steam(foam_room(), 4.14, 6e3, SESSION, step_s=1.0, per_layer=24)
    assert usual.hit_s[0] == pytest.approx(fine.hit_s[0], rel=0.005)
    assert usual.steam_kg[0] == pytest.approx(fine.steam_kg[0], rel=0.002)


def test_doors_and_people_cost_what_they_cost() -> None:
    plain = steam(foam_room(), 4.14, 5479.0, SESSION)
    busy = steam(foam_room(), 4.14, 5479.0, replace(SESSION, people=2, people_from_s=1200.0, doors_s=((1200.0, 15.0), (2400.0, 15.0))))
    assert plain.hit_s[0] / 60 == pytest.approx(20.0, abs=0.3)
    assert busy.hit_s[0] / 60 == pytest.approx(24.3, abs=0.4)
    assert (busy.ventilated_j - plain.ventilated_j)[0] / 2e6 == pytest.approx(0.6, abs=0.07)


def test_door_flows() -> None:
    steam_pa, room_pa = float(saturation_pressure_pa(318.15)), 0.5 * float(saturation_pressure_pa(293.15))
    inside, outside = 1.06982, (101325 - room_pa) / (287.042 * 293.15) + float(vapor_density_kg_m3(293.15, room_pa))
    assert steam_pa > room_pa
    assert float(door_flow_m3_s(0.7, 2.0, inside, outside)) == pytest.approx(0.4183, rel=0.002)
    assert float(door_flow_m3_s(0.9, 2.1, inside, outside)) == pytest.approx(0.5787, rel=0.002)


@pytest.mark.parametrize(("minutes", "key"), [(15, "kW_for_15min"), (20, "kW_for_20min"), (30, "kW_for_30min")])
def test_sizes_for_a_time(minutes: int, key: str) -> None:
    assert power_for_w(foam_room(), 4.14, SESSION, minutes * 60.0) / 1e3 == pytest.approx(VALUES["R1"][key], rel=0.01)


def test_the_band_and_the_rule() -> None:
    both = size(foam_room(), 4.14, SESSION, 1200.0)
    assert both.still_w / 1e3 == pytest.approx(5.479, rel=0.01)
    assert both.stirred_w / 1e3 == pytest.approx(6.772, rel=0.01)
    assert rule_of_thumb_w(4.14, (0.1,)) == pytest.approx(4554.0)


def test_no_time_is_no_size() -> None:
    with pytest.raises(InfeasibleError):
        power_for_w(foam_room(), 4.14, SESSION, 5.0)
    with pytest.raises(InputError):
        power_for_w(foam_room(), 4.14, SESSION, 0.0)


def test_the_room_cools_when_it_is_off() -> None:
    got = steam(foam_room(), 4.14, 6e3, replace(SESSION, length_s=5400.0, off_s=2700.0, after_air_changes_1_h=6.0))
    assert got.air_k[-1, 0] < got.air_k[675, 0] - 5.0
    assert got.steam_kg[0] == pytest.approx(steam(foam_room(), 4.14, 6e3, SESSION).steam_kg[0], rel=1e-9)


def test_the_next_room_dries_by_its_exhaust() -> None:
    full = float(vapor_density_kg_m3(293.15, saturation_pressure_pa(293.15)))
    hours = next_room_hours(0.05, 15.0, 90.0)
    left = 0.5 * full + (0.05 / 15.0) * np.exp(-90.0 * hours / 15.0)
    assert left == pytest.approx(0.6 * full, rel=1e-9)
    assert next_room_hours(0.001, 15.0, 90.0) == 0.0
    assert next_room_hours(0.05, 15.0, 90.0, supply=0.65) == float("inf")


@pytest.mark.parametrize("fault", [{"area_m2": 0.0}, {"thickness_m": (0.0,)}, {"heat_j_m3k": (1.0, 1.0)}])
def test_a_panel_that_cannot_be(fault: dict[str, object]) -> None:
    with pytest.raises(InputError):
        steam((replace(GLASS, **fault),), 4.14, 6e3, SESSION)  # type: ignore[arg-type]
