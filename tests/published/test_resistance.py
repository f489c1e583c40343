"""ISO 6946: surface and air-layer resistances as its tables print them, and its combined method by hand."""

from __future__ import annotations

import pytest

from steamwright.buildup.catalog import load_catalog
from steamwright.buildup.inputs import BuildUpChoice
from steamwright.buildup.stack import AIR_PERMEABILITY_KG_M_S_PA, build_stacks
from steamwright.buildup.thermal import RSE_M2K_W, air_space_r_m2k_w, combined_r_m2k_w, heat_flow_of, surface_r_m2k_w
from steamwright.errors import OutOfRangeError
from steamwright.units import PERM_KG_PA_S_M2


@pytest.mark.parametrize(("flow", "rsi"), [("up", 0.10), ("horizontal", 0.13), ("down", 0.17)])
def test_surface_resistances(flow: str, rsi: float) -> None:
    assert surface_r_m2k_w(flow) == rsi
    assert RSE_M2K_W == 0.04


# ISO 6946 table 8: thickness mm, upward, horizontal, downward
TABLE_8 = [(0, 0.00, 0.00, 0.00), (5, 0.11, 0.11, 0.11), (7, 0.13, 0.13, 0.13), (10, 0.15, 0.15, 0.15), (15, 0.16, 0.17, 0.17),
           (25, 0.16, 0.18, 0.19), (50, 0.16, 0.18, 0.21), (100, 0.16, 0.18, 0.22), (300, 0.16, 0.18, 0.23)]


@pytest.mark.parametrize("row", TABLE_8)
def test_air_layers(row: tuple[float, ...]) -> None:
    for flow, expected in zip(("up", "horizontal", "down"), row[1:], strict=True):
        assert air_space_r_m2k_w(row[0] / 1000, flow) == pytest.approx(expected, abs=1e-12)


def test_air_layers_between_rows_and_beyond() -> None:
    assert air_space_r_m2k_w(0.075, "down") == pytest.approx(0.215)
    with pytest.raises(OutOfRangeError):
        air_space_r_m2k_w(0.301, "up")


def test_combined_method_by_hand() -> None:
    # surfaces and boards 0.3, insulation 2.5, timber 0.75, 15 % timber:
    # upper 1/(0.85/2.8 + 0.15/1.05) = 2.2400, lower 0.3 + 1/(0.85/2.5 + 0.15/0.75) = 2.1519
    assert combined_r_m2k_w(0.3, 2.5, 0.75, 0.15) == pytest.approx((2.2400 + 2.1519) / 2, abs=1e-4)
    assert combined_r_m2k_w(0.3, 2.5, 0.75, 0.0) == pytest.approx(2.8)


def test_a_wall_by_hand() -> None:
    layers = [{"material": "sheet membrane 0.5 perm"}, {"material": "cement board 1/2 in"}, {"material": "concrete", "thickness": "200 mm"}]
    said = {"name": "w", "on": ["walls"], "layers": layers, "framing": {"kind": "concrete"}}
    (b,) = build_stacks([BuildUpChoice.model_validate(said, context={"typed": True})], load_catalog())
    assert b.r_m2k_w == pytest.approx(0.13 + 0.0005 / 0.3 + 0.0127 / 0.25 + 0.2 / 1.95 + 0.04)
    # air permeability over mu times thickness, wet cup: cement board 30, concrete 70
    parts = [0.5 * PERM_KG_PA_S_M2, AIR_PERMEABILITY_KG_M_S_PA / (30 * 0.0127), AIR_PERMEABILITY_KG_M_S_PA / (70 * 0.2)]
    assert b.permeance_kg_pa_s_m2 == pytest.approx(1 / sum(1 / p for p in parts), rel=1e-6)


def test_one_perm_is_an_air_layer_of_3_41_m() -> None:
    sd_m = AIR_PERMEABILITY_KG_M_S_PA / PERM_KG_PA_S_M2
    assert sd_m == pytest.approx(3.408, abs=5e-4)


@pytest.mark.parametrize(("on", "flow"), [
    (("ceiling",), "up"), (("floor",), "down"), (("walls", "ceiling"), "horizontal"), (("soffits", "ceiling"), "up"),
])
def test_direction_of_the_heat(on: tuple[str, ...], flow: str) -> None:
    assert heat_flow_of(on) == flow
