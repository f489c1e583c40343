"""Blanks on rolls: inside, apart, parted edge to edge, none forgotten."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting.rolls import Blank, Cutting, cut_rolls
from steamwright.errors import InfeasibleError
from tests.property.test_covering import parts_edge_to_edge

SIZES = st.tuples(st.floats(0.05, 5.0), st.floats(0.05, 1.0), st.booleans())


def rects(blanks: list[Blank], cutting: Cutting) -> dict[int, list[tuple[float, float, float, float]]]:
    size = {b.id: (b.length_m, b.width_m) for b in blanks}
    on: dict[int, list[tuple[float, float, float, float]]] = {}
    for s in cutting.spots:
        a, b = size[s.blank][::-1] if s.turned else size[s.blank]
        on.setdefault(s.roll, []).append((s.x_m, s.y_m, a, b))
    return on


@settings(max_examples=120, deadline=None)
@given(st.lists(SIZES, min_size=1, max_size=25))
def test_blanks_lie_inside_apart_and_can_be_parted(sizes: list[tuple[float, float, bool]]) -> None:
    blanks = [Blank(f"b{k}", a, b, turn) for k, (a, b, turn) in enumerate(sizes)]
    cutting = cut_rolls(blanks, 1.0, 12.0)
    assert sorted(s.blank for s in cutting.spots) == sorted(b.id for b in blanks)
    for roll, placed in rects(blanks, cutting).items():
        assert cutting.used_length_m[roll] <= 12.0 + 1e-9
        for i, (x, y, a, b) in enumerate(placed):
            assert x >= -1e-9
            assert y >= -1e-9
            assert x + a <= cutting.used_length_m[roll] + 1e-9
            assert y + b <= 1.0 + 1e-9
            for u, v, c, d in placed[i + 1:]:
                assert min(x + a, u + c) - max(x, u) < 1e-9 or min(y + b, v + d) - max(y, v) < 1e-9
        assert parts_edge_to_edge(placed)
    need = sum(b.length_m * b.width_m for b in blanks)
    assert cutting.waste_ratio == pytest.approx(1.0 - need / sum(cutting.used_length_m), abs=1e-9)


def test_four_halves_share_two_lengths() -> None:
    cutting = cut_rolls([Blank(f"b{k}", 2.0, 0.5) for k in range(4)], 1.0, 30.0)
    assert cutting.used_length_m == (4.0,)
    assert cutting.waste_ratio == pytest.approx(0.0)


def test_a_remnant_is_reported_where_it_lies() -> None:
    cutting = cut_rolls([Blank("wide", 2.0, 0.6)], 1.0, 30.0)
    (remnant,) = cutting.remnants
    assert (remnant.x_m, remnant.y_m, remnant.length_m) == (0.0, 0.6, 2.0)
    assert remnant.width_m == pytest.approx(0.4)


def test_a_blank_wider_than_the_roll_is_refused_by_name() -> None:
    with pytest.raises(InfeasibleError, match="b7"):
        cut_rolls([Blank("b7", 2.0, 1.2)], 1.0, 30.0)


def test_a_second_roll_is_begun_when_the_first_is_used_up() -> None:
    cutting = cut_rolls([Blank(f"b{k}", 4.0, 1.0) for k in range(4)], 1.0, 10.0)
    assert cutting.used_length_m == (8.0, 8.0)
