"""ISO 10211, validation cases 1 and 2 (2017 annex C; values as read or reproduced, see the data files)."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from steamwright.errors import InputError
from steamwright.physics.heat_plane import Block, Section, Surface, _field, linear_transmittance_w_mk, solve_section

DATA = Path(__file__).parent / "data"
K = 273.15


def column(points: tuple[tuple[float, float], ...] = ()) -> Section:
    """Half of a square column: warm above, cold below and outside, symmetric on the right."""
    held = (Surface("top", 0.0, 0.5, 20.0 + K, 0.0), Surface("left", 0.0, 1.0, K, 0.0), Surface("bottom", 0.0, 0.5, K, 0.0))
    return Section(0.5, 1.0, (Block(0.0, 0.5, 0.0, 1.0, 1.0),), held, points)


def rows() -> list[dict[str, float]]:
    with (DATA / "iso10211_case1.csv").open(encoding="utf-8") as f:
        return [{k: float(v) for k, v in r.items()} for r in csv.DictReader(f)]


def test_case_1_all_28_points() -> None:
    want = rows()
    at = tuple((r["x_over_side"], r["y_over_side_from_bottom"]) for r in want)
    field = solve_section(column(at), 6)
    got = [field.at(*p) - K for p in at]
    assert len(want) == 28
    assert np.abs(np.array(got) - [r["T_published_C"] for r in want]).max() <= 0.1  # the standard's tolerance
    assert np.abs(np.array(got) - [r["T_analytic_C"] for r in want]).max() < 0.005  # the series
    assert [round(v, 1) for v in got] == [r["T_published_C"] for r in want]


def test_the_error_falls_with_the_square_of_the_spacing() -> None:
    want = rows()
    at = tuple((r["x_over_side"], r["y_over_side_from_bottom"]) for r in want)
    # lines between the points only: every cell is cut into as many, so the grids are nested
    sizes, errors = np.array([1, 2, 4]), []
    for n in sizes:
        field = _field(column(at), 2, int(n))
        errors.append(np.sqrt(np.mean((np.array([field.at(*p) - K for p in at]) - [r["T_analytic_C"] for r in want]) ** 2)))
    order = -np.polyfit(np.log(sizes), np.log(errors), 1)[0]
    assert 1.7 < order < 2.6


def case_2(web: tuple[float, float] = (0.0, 0.0015)) -> tuple[Section, dict[str, tuple[float, float, float]]]:
    case = json.loads((DATA / "iso10211_case2.json").read_text(encoding="utf-8"))["case2"]
    blocks = [Block(0.0, 0.5, 0.0, 0.0475, 0.029)]
    for b in case["boxes_x0_x1_y0_y1_lambda"]:
        if b[0] != "rest":
            x0, x1 = web if "web" in b[5] else b[:2]
            blocks.append(Block(x0, x1, b[2], b[3], b[4]))
    points = {name: tuple(p) for name, p in case["points"].items()}
    surfaces = (Surface("top", 0.0, 0.5, K, 0.06), Surface("bottom", 0.0, 0.5, 20.0 + K, 0.11))
    return Section(0.5, 0.0475, tuple(blocks), surfaces, tuple(p[:2] for p in points.values())), points


def test_case_2_nine_points_and_heat() -> None:
    section, points = case_2()
    field = solve_section(section)
    for name, (x, y, printed) in points.items():
        assert field.at(x, y) - K == pytest.approx(printed, abs=0.1), name
    assert field.heat_w_m[1] == pytest.approx(9.5, abs=0.1)
    assert abs(field.residual_w_m) < 1e-7
    assert field.halved_heat_change < 0.01  # the standard asks for this much
    assert field.halved_temperature_change_k < 0.02


def test_a_web_on_the_other_edge_is_seen() -> None:
    section, points = case_2(web=(0.0135, 0.015))
    field = solve_section(section)
    off = [abs(field.at(x, y) - K - printed) for x, y, printed in points.values()]
    assert max(off) > 0.06


def test_plane_layers_come_out_by_hand() -> None:
    layers = (Block(0.0, 0.2, 0.0, 0.1, 1.0), Block(0.0, 0.2, 0.1, 0.2, 0.04))
    section = Section(0.2, 0.2, layers, (Surface("bottom", 0.0, 0.2, 293.15, 0.13), Surface("top", 0.0, 0.2, 263.15, 0.04)))
    field = solve_section(section)
    by_hand = 0.2 * 30.0 / (0.13 + 0.1 + 2.5 + 0.04)
    assert field.heat_w_m[0] == pytest.approx(by_hand, rel=1e-9)
    assert linear_transmittance_w_mk(field.heat_w_m[0], 30.0, by_hand / 30.0) == pytest.approx(0.0, abs=1e-9)


def test_round_an_axis_the_heat_of_a_pipe_is_logarithmic() -> None:
    inner, outer = 0.01, 0.05
    steel, foam = Block(0.0, inner, 0.0, 0.02, 1e4), Block(inner, outer, 0.0, 0.02, 0.03)
    hot = (Surface("bottom", 0.0, inner, 373.15, 0.0), Surface("right", 0.0, 0.02, 293.15, 0.0))
    field = solve_section(Section(outer, 0.02, (steel, foam), hot, round_axis=True), 24)
    assert field.heat_w_m[0] == pytest.approx(2 * np.pi * 0.03 * 0.02 * 80.0 / np.log(outer / inner), rel=2e-3)


def test_a_steel_stud_is_the_coldest_place_behind_the_board() -> None:
    board, wool = Block(0.0, 0.3, 0.0, 0.0125, 0.25), Block(0.0, 0.3, 0.0125, 0.1015, 0.037)
    web, flange = Block(0.15, 0.1512, 0.0125, 0.1015, 50.0), Block(0.15, 0.19, 0.0125, 0.0137, 50.0)
    sheathing = Block(0.0, 0.3, 0.1015, 0.1135, 0.13)
    air = (Surface("bottom", 0.0, 0.3, 318.15, 1 / 25), Surface("top", 0.0, 0.3, 263.15, 0.04))
    field = solve_section(Section(0.3, 0.1135, (board, wool, web, flange, sheathing), air))
    behind = field.coldest(0.0, 0.3, 0.0125, 0.0125)
    assert behind[1] == pytest.approx(0.15, abs=0.01)
    assert behind[0] < field.at(0.0, 0.0125) - 5.0


@pytest.mark.parametrize(
    ("blocks", "surfaces"),
    [
        ((Block(0.0, 0.5, 0.0, 0.0, 1.0),), (Surface("top", 0.0, 0.5, K, 0.1),)),
        ((Block(0.0, 0.5, 0.0, 0.5, 1.0),), (Surface("top", 0.0, 0.5, K, 0.1),)),
        ((Block(0.0, 0.5, 0.0, 1.0, -1.0),), (Surface("top", 0.0, 0.5, K, 0.1),)),
        ((Block(0.0, 0.5, 0.0, 1.0, 1.0),), ()),
    ],
    ids=["no height", "a hole", "negative", "no air"],
)
def test_a_section_that_cannot_be(blocks: tuple[Block, ...], surfaces: tuple[Surface, ...]) -> None:
    with pytest.raises(InputError):
        solve_section(Section(0.5, 1.0, blocks, surfaces))
