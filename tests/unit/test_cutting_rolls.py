"""The cut that is carried out, and remnants on hand: inside, apart, parted, never worse, bounds that hold, ids used once."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting.best_cut import best_cut
from steamwright.cutting.inventory import Inventory, StockRemnant, cut_from_stock
from steamwright.cutting.roll_bounds import roll_bound
from steamwright.cutting.rolls import Blank, Cutting, cut_rolls
from steamwright.errors import InfeasibleError, InputError
from tests.property.test_covering import parts_edge_to_edge

SIZES = st.lists(st.tuples(st.integers(5, 300), st.integers(5, 100), st.booleans()), min_size=1, max_size=14)
Rect = tuple[float, float, float, float]


def blanks_of(sizes: list[tuple[int, int, bool]]) -> list[Blank]:
    return [Blank(f"b{k}", a / 100, b / 100, turn) for k, (a, b, turn) in enumerate(sizes)]


def sound(rects: list[Rect], length_m: float, width_m: float) -> None:
    for i, (x, y, a, b) in enumerate(rects):
        assert min(x, y) >= -1e-9
        assert x + a <= length_m + 1e-8
        assert y + b <= width_m + 1e-8
        for u, v, c, d in rects[i + 1:]:
            assert min(x + a, u + c) - max(x, u) < 1e-8 or min(y + b, v + d) - max(y, v) < 1e-8
    assert parts_edge_to_edge(rects)


def on_rolls(blanks: list[Blank], cutting: Cutting, width_m: float, length_m: float) -> None:
    size = {b.id: (b.length_m, b.width_m, b.may_turn) for b in blanks}
    assert sorted(s.blank for s in cutting.spots) == sorted(size)
    for roll, used in enumerate(cutting.used_length_m):
        assert used <= length_m + 1e-8
        rects = []
        for s in cutting.spots:
            if s.roll == roll:
                a, b, may_turn = size[s.blank]
                assert may_turn or not s.turned
                rects.append((s.x_m, s.y_m, *((b, a) if s.turned else (a, b))))
        # Remnants are part of the same cuts: they too lie apart and can be parted.
        rects += [(r.x_m, r.y_m, r.length_m, r.width_m) for r in cutting.remnants if r.roll == roll]
        sound(rects, used, width_m)


@settings(max_examples=80, deadline=None)
@given(SIZES, st.sampled_from([4.0, 12.0]))
def test_blanks_lie_inside_apart_and_can_be_parted(sizes: list[tuple[int, int, bool]], length_m: float) -> None:
    blanks = blanks_of(sizes)
    simple, best = cut_rolls(blanks, 1.0, length_m), best_cut(blanks, 1.0, length_m, work=60)
    on_rolls(blanks, best.cutting, 1.0, length_m)
    mine = (len(best.cutting.used_length_m), sum(best.cutting.used_length_m))
    assert mine[0] <= len(simple.used_length_m)
    assert mine <= (len(simple.used_length_m), sum(simple.used_length_m) + 1e-8)
    assert best.bound.length_m <= mine[1] + 1e-9
    assert best.bound.rolls <= mine[0]
    assert best.work <= 60
    assert best_cut(blanks, 1.0, length_m, work=60) == best


def least_by_hand(blanks: list[Blank], width_cm: int) -> int:
    """Least length in centimetres over all placings on a grid, cuttable or not: a bound must not be above it."""
    best = sum(max(round(b.length_m * 100), round(b.width_m * 100)) for b in blanks)
    grid: list[tuple[int, int, int, int]] = []

    def place(k: int) -> None:
        nonlocal best
        if k == len(blanks):
            best = min(best, max(x + a for x, _, a, _ in grid))
            return
        b = blanks[k]
        ways = {(round(b.length_m * 100), round(b.width_m * 100))} | (
            {(round(b.width_m * 100), round(b.length_m * 100))} if b.may_turn else set())
        # Left and bottom: every placing can be pushed so that edges touch those of others or of the roll.
        for a, c in sorted(ways):
            for x in range(best - a):
                for y in range(width_cm - c + 1):
                    if all(min(x + a, u + e) <= max(x, u) or min(y + c, v + f) <= max(y, v) for u, v, e, f in grid):
                        grid.append((x, y, a, c))
                        place(k + 1)
                        grid.pop()

    place(0)
    return best


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 5), st.integers(1, 5), st.booleans()), min_size=1, max_size=3))
def test_the_bound_is_not_above_the_least(sizes: list[tuple[int, int, bool]]) -> None:
    blanks = blanks_of(sizes)
    least = least_by_hand(blanks, 5)
    assert roll_bound(blanks, 0.05, 10.0).length_m <= least / 100 + 1e-9
    assert sum(best_cut(blanks, 0.05, 10.0).cutting.used_length_m) >= least / 100 - 1e-9


def test_wide_blanks_cannot_lie_side_by_side() -> None:
    blanks = [Blank(f"b{k}", 2.0, 0.55) for k in range(4)]
    best = best_cut(blanks, 1.0, 30.0)
    assert (best.bound.length_m, best.proven, best.gap_ratio) == (pytest.approx(8.0), True, pytest.approx(0.0))
    assert "whole" in best.bound.method


def test_a_better_order_is_found() -> None:
    """Three narrow ones beside a long one and behind each other; decreasing length alone opens stretches for them."""
    blanks = [Blank("a", 3.0, 0.6), Blank("b", 1.6, 0.4), Blank("c", 1.4, 0.4), Blank("d", 2.0, 0.5), Blank("e", 2.0, 0.5)]
    assert sum(best_cut(blanks, 1.0, 30.0).cutting.used_length_m) == pytest.approx(5.0)


def test_rolls_are_bounded_by_both_sides() -> None:
    blanks = [Blank(f"b{k}", 3.0, 0.6) for k in range(3)]
    assert roll_bound(blanks, 1.0, 5.0).rolls == 3
    assert best_cut(blanks, 1.0, 5.0).proven


@settings(max_examples=40, deadline=None)
@given(SIZES, st.lists(st.tuples(st.integers(30, 250), st.integers(30, 100)), max_size=4))
def test_remnants_save_roll_and_none_is_drawn_twice(sizes: list[tuple[int, int, bool]], stock: list[tuple[int, int]]) -> None:
    blanks = blanks_of(sizes)
    on_hand = Inventory(tuple(StockRemnant(f"M{k + 1}", "sheet", a / 100, b / 100) for k, (a, b) in enumerate(stock)), len(stock))
    cutting = cut_from_stock(blanks, "sheet", on_hand, 1.0, 12.0, work=40)
    on_remnants = {s.blank for s in cutting.drawn}
    assert len(on_remnants) == len(cutting.drawn)
    left = [b for b in blanks if b.id not in on_remnants]
    on_rolls(left, cutting.rolls.cutting, 1.0, 12.0)
    size = {b.id: (b.length_m, b.width_m) for b in blanks}
    for r in on_hand.remnants:
        here = [(s.x_m, s.y_m, *(size[s.blank][::-1] if s.turned else size[s.blank])) for s in cutting.drawn if s.remnant == r.id]
        sound(here, r.length_m, r.width_m)
        assert (r in cutting.after.remnants) == (not here)
    ids = [r.id for r in cutting.after.remnants]
    assert len(set(ids)) == len(ids)
    fresh = [r for r in cutting.after.remnants if r not in on_hand.remnants]
    assert not {r.id for r in fresh} & {r.id for r in on_hand.remnants}
    plain = best_cut(blanks, 1.0, 12.0, work=40).cutting
    assert (len(cutting.rolls.cutting.used_length_m), sum(cutting.rolls.cutting.used_length_m)) <= (
        len(plain.used_length_m), sum(plain.used_length_m) + 1e-8)  # fmt: skip
    assert cutting.saved_length_m == pytest.approx(sum(plain.used_length_m) - sum(cutting.rolls.cutting.used_length_m))
    area = {b.id: b.length_m * b.width_m for b in blanks}
    of_rolls = [r for r in fresh if r.origin.startswith("roll")]
    spare_m2 = sum(cutting.rolls.cutting.used_length_m) - sum(area[b.id] for b in left)
    assert sum(r.length_m * r.width_m for r in of_rolls) <= spare_m2 + 1e-6
    for old in on_hand.remnants:
        spare_m2 = old.length_m * old.width_m - sum(area[s.blank] for s in cutting.drawn if s.remnant == old.id)
        assert sum(r.length_m * r.width_m for r in fresh if r.origin == old.id) <= spare_m2 + 1e-6


def test_a_remnant_serves_and_leaves_a_smaller_one() -> None:
    on_hand = Inventory((StockRemnant("M1", "sheet", 2.0, 1.0), StockRemnant("M2", "band", 9.0, 1.0)), 2)
    cutting = cut_from_stock([Blank("a", 1.2, 1.0), Blank("b", 5.0, 1.0)], "sheet", on_hand, 1.0, 30.0)
    assert [(s.blank, s.remnant) for s in cutting.drawn] == [("a", "M1")]
    assert cutting.rolls.cutting.used_length_m == (5.0,)
    after = [(r.id, r.material, round(r.length_m, 9), r.origin) for r in cutting.after.remnants]
    assert after == [("M2", "band", 9.0, ""), ("M3", "sheet", 0.8, "M1")]
    assert cutting.saved_length_m == pytest.approx(1.2)


def test_a_remnant_that_saves_nothing_is_left_alone() -> None:
    on_hand = Inventory((StockRemnant("M1", "sheet", 2.0, 0.4),), 1)
    cutting = cut_from_stock([Blank("a", 2.0, 0.6), Blank("b", 2.0, 0.4)], "sheet", on_hand, 1.0, 30.0)
    assert (cutting.drawn, cutting.after.remnants[0].id, cutting.saved_length_m) == ((), "M1", 0.0)


def test_a_blank_that_only_a_remnant_holds() -> None:
    on_hand = Inventory((StockRemnant("M1", "sheet", 2.0, 1.5),), 1)
    assert [s.blank for s in cut_from_stock([Blank("a", 2.0, 1.5)], "sheet", on_hand, 1.0, 30.0).drawn] == ["a"]
    with pytest.raises(InfeasibleError, match="a of"):
        cut_from_stock([Blank("a", 2.0, 1.5)], "band", on_hand, 1.0, 30.0)


def test_a_remnant_listed_twice_is_refused() -> None:
    with pytest.raises(InputError, match="M1"):
        Inventory((StockRemnant("M1", "sheet", 2.0, 0.4), StockRemnant("M1", "sheet", 1.0, 0.4)), 1)
