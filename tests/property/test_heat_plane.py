"""Plane heat: what must hold for any cross-section, whatever is in it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.errors import InputError
from steamwright.physics.heat_plane import Block, Section, Surface, linear_transmittance_w_mk, solve_section

WIDTH, HEIGHT = 0.4, 0.12
COLD, WARM = Surface("top", 0.0, WIDTH, 263.15, 0.04), Surface("bottom", 0.0, WIDTH, 318.15, 0.04)

place = st.integers(0, 8)
conductivity = st.sampled_from([0.025, 0.04, 0.13, 0.25, 1.0, 50.0])


@st.composite
def sections(draw: st.DrawFn) -> Section:
    blocks = [Block(0.0, WIDTH, 0.0, HEIGHT, draw(conductivity))]
    for _ in range(draw(st.integers(1, 3))):
        x, y, w, h = draw(place), draw(place), draw(st.integers(1, 4)), draw(st.integers(1, 4))
        blocks.append(Block(x * WIDTH / 12, (x + w) * WIDTH / 12, y * HEIGHT / 12, (y + h) * HEIGHT / 12, draw(conductivity)))
    return Section(WIDTH, HEIGHT, tuple(blocks), (WARM, COLD))


@settings(max_examples=25, deadline=None)
@given(sections())
def test_heat_in_is_heat_out_and_no_point_leaves_the_airs(section: Section) -> None:
    field = solve_section(section, 4, halved=False)
    assert field.heat_w_m[0] > 0.0
    assert abs(field.residual_w_m) < 1e-8 * field.heat_w_m[0]
    assert field.temperature_k.min() >= 263.15 - 1e-9
    assert field.temperature_k.max() <= 318.15 + 1e-9


@settings(max_examples=25, deadline=None)
@given(sections(), st.integers(0, 3), st.floats(1.05, 20.0))
def test_more_resistance_never_raises_the_heat(section: Section, which: int, factor: float) -> None:
    at = which % len(section.blocks)
    block = section.blocks[at]
    tighter = tuple(replace(b, conductivity_w_mk=b.conductivity_w_mk / factor) if b is block else b for b in section.blocks)
    before = solve_section(section, 4, halved=False).heat_w_m[0]
    assert solve_section(replace(section, blocks=tighter), 4, halved=False).heat_w_m[0] <= before * (1.0 + 1e-9)
    film = (replace(WARM, resistance_m2k_w=0.04 * factor), COLD)
    assert solve_section(replace(section, surfaces=film), 4, halved=False).heat_w_m[0] < before


@settings(max_examples=15, deadline=None)
@given(sections())
def test_a_mirror_and_a_turn_change_nothing(section: Section) -> None:
    mirrored = replace(section, blocks=tuple(replace(b, left_m=WIDTH - b.right_m, right_m=WIDTH - b.left_m) for b in section.blocks))
    turned = Section(
        HEIGHT, WIDTH, tuple(Block(b.bottom_m, b.top_m, b.left_m, b.right_m, b.conductivity_w_mk) for b in section.blocks),
        (replace(WARM, side="left"), replace(COLD, side="right")),
    )  # fmt: skip
    heat = solve_section(section, 4, halved=False).heat_w_m[0]
    assert solve_section(mirrored, 4, halved=False).heat_w_m[0] == pytest.approx(heat, rel=1e-6)
    assert solve_section(turned, 4, halved=False).heat_w_m[0] == pytest.approx(heat, rel=1e-6)


@settings(max_examples=15, deadline=None)
@given(sections())
def test_the_heat_lies_between_the_two_ways_of_cutting_it(section: Section) -> None:
    """Isothermal planes across the heat give an upper bound, walls without heat along it a lower one."""
    edges_x = np.unique(np.round([e for b in section.blocks for e in (b.left_m, min(b.right_m, WIDTH))], 9))
    edges_y = np.unique(np.round([e for b in section.blocks for e in (b.bottom_m, min(b.top_m, HEIGHT))], 9))
    k = np.zeros((len(edges_x) - 1, len(edges_y) - 1))
    mx, my = 0.5 * (edges_x[1:] + edges_x[:-1]), 0.5 * (edges_y[1:] + edges_y[:-1])
    for b in section.blocks:
        k[np.ix_((mx > b.left_m) & (mx < b.right_m), (my > b.bottom_m) & (my < b.top_m))] = b.conductivity_w_mk
    dx, dy = np.diff(edges_x), np.diff(edges_y)
    lower = 55.0 * (dx / (0.08 + (dy / k).sum(axis=1))).sum()
    upper = 55.0 / (0.08 / WIDTH + (dy / (k * dx[:, None]).sum(axis=0)).sum())
    heat = solve_section(section, 4, halved=False).heat_w_m[0]
    assert lower * (1 - 1e-9) <= heat <= upper * (1 + 1e-9)


def test_the_stud_passes_more_than_the_wool_and_the_halved_grid_says_how_sure_it_is() -> None:
    wool = Block(0.0, WIDTH, 0.0, HEIGHT, 0.037)
    stud = Block(0.2, 0.2012, 0.0, HEIGHT, 50.0)
    plain = WIDTH / (0.08 + HEIGHT / 0.037)
    changes, values = [], []
    for fineness in (2, 4, 8, 16):
        field = solve_section(Section(WIDTH, HEIGHT, (wool, stud), (WARM, COLD)), fineness)
        values.append(linear_transmittance_w_mk(field.heat_w_m[0], 55.0, plain))
        changes.append(field.halved_heat_change)
    assert values[-1] > 0.1 * plain
    assert changes == sorted(changes, reverse=True)
    assert changes[-1] < 0.01
    assert abs(values[-2] - values[-1]) * 55.0 < 2.0 * changes[-2] * (values[-1] + plain) * 55.0


def test_along_an_axis_the_heat_of_a_rod_in_its_sleeve_is_by_area() -> None:
    rod, sleeve, length = 0.01, 0.03, 0.2
    blocks = (Block(0.0, rod, 0.0, length, 2.0), Block(rod, sleeve, 0.0, length, 0.5))
    ends = (Surface("bottom", 0.0, sleeve, 303.15, 0.0), Surface("top", 0.0, sleeve, 293.15, 0.0))
    field = solve_section(Section(sleeve, length, blocks, ends, round_axis=True), 4, halved=False)
    by_hand = 10.0 / length * np.pi * (2.0 * rod**2 + 0.5 * (sleeve**2 - rod**2))
    assert field.heat_w_m[0] == pytest.approx(by_hand, rel=1e-9)


WOOL = (Block(0.0, WIDTH, 0.0, HEIGHT, 0.037),)


@pytest.mark.parametrize(
    ("section", "words"),
    [
        (Section(WIDTH, HEIGHT, WOOL, (WARM, replace(COLD, end_m=0.5))), "reaches past the top side"),
        (Section(WIDTH, HEIGHT, WOOL, (WARM, replace(COLD, start_m=0.5, end_m=0.9))), "reaches past the top side"),
        (Section(WIDTH, HEIGHT, WOOL, (WARM, COLD, replace(COLD, start_m=0.2))), "lies over surfaces"),
        (Section(WIDTH, HEIGHT, WOOL, (WARM, replace(COLD, air_k=float("nan")))), "no air temperature"),
        (Section(0.0, HEIGHT, WOOL, (WARM, COLD)), "no width"),
        (Section(WIDTH, HEIGHT, WOOL, (WARM, COLD), ((0.5, 0.0),)), "outside the section"),
    ],
    ids=["past the end", "beside it", "twice", "no number", "no width", "a point outside"],
)
def test_an_outline_that_cannot_be(section: Section, words: str) -> None:
    with pytest.raises(InputError, match=words):
        solve_section(section)
