"""Pieces and runs from a roll: inside, apart, the least length on all small ones, runs parted at their steps."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting import shape_cutting
from steamwright.cutting.roll_shapes import RollRun, RollShape, RunPart, ShapeRect, extent, patterns, slices_bound, slices_of
from steamwright.cutting.shape_cutting import ShapesCutting, _Best, _joined, _large, cut_shapes
from steamwright.cutting.shape_model import offsets_apart, part_sizes
from steamwright.cutting.shape_start import first_cutting
from steamwright.errors import InfeasibleError


def plain(length: int, width: int, turns: bool = False) -> RollShape:
    ways = [(ShapeRect(0, 0, length, width),)] + ([(ShapeRect(0, 0, width, length),)] if turns else [])
    return RollShape(tuple(ways))


def angle(length: int, width: int, leg: int) -> RollShape:
    """An L, and the same turned by half a turn."""
    return RollShape(((ShapeRect(0, 0, length, leg), ShapeRect(0, leg, leg, width - leg)),
                      (ShapeRect(0, width - leg, length, leg), ShapeRect(length - leg, 0, leg, width - leg))))


def sound(found: ShapesCutting, width: int, shapes: list[RollShape], runs: list[RollRun]) -> None:
    grid = np.zeros((found.length, width), dtype=int)
    ends = [0]
    for shape, p in zip(shapes, found.places, strict=True):
        for r in shape.ways[p.way]:
            assert min(p.x + r.x, p.y + r.y) >= 0
            ends.append(p.x + r.x + r.length)
            assert ends[-1] <= found.length
            assert p.y + r.y + r.width <= width
            grid[p.x + r.x:p.x + r.x + r.length, p.y + r.y:p.y + r.y + r.width] += 1
    for k, run in enumerate(runs):
        mine = [q for q in found.parts if q.run == k]
        assert sum(q.steps for q in mine) == run.steps
        assert len(mine) <= run.most_parts
        for q in mine:
            assert q.steps >= run.least_steps
            ends.append(q.x + q.steps * run.step)
            assert ends[-1] <= found.length
            assert min(q.x, q.y) >= 0
            assert q.y + run.width <= width
            grid[q.x:q.x + q.steps * run.step, q.y:q.y + run.width] += 1
    assert grid.max(initial=0) <= 1
    assert max(ends) == found.length
    assert found.lower_bound <= found.length


def least(width: int, shapes: list[RollShape]) -> int:
    """By trying every place of every piece, the roll one unit longer each time."""

    def fits(length: int) -> bool:
        def put(k: int, grid: np.ndarray) -> bool:
            if k == len(shapes):
                return True
            for way in shapes[k].ways:
                long, wide = extent(way)
                for x, y in product(range(length - long + 1), range(width - wide + 1)):
                    new = grid.copy()
                    for r in way:
                        new[x + r.x:x + r.x + r.length, y + r.y:y + r.y + r.width] += 1
                    if new.max() <= 1 and put(k + 1, new):
                        return True
            return False

        return put(0, np.zeros((length, width), dtype=int))

    length = 1
    while not fits(length):
        length += 1
    return length


PIECES = st.lists(st.one_of(st.builds(plain, st.integers(1, 4), st.integers(1, 3), st.booleans()),
                            st.builds(angle, st.integers(2, 4), st.integers(2, 3), st.just(1))), min_size=1, max_size=4)


@settings(max_examples=25, deadline=None)
@given(PIECES)
def test_the_least_length(shapes: list[RollShape]) -> None:
    found = cut_shapes(4, shapes, (), 20.0, 1, 1)
    sound(found, 4, shapes, [])
    assert slices_bound(4, shapes, ()) <= found.length == found.lower_bound == least(4, shapes)


@settings(max_examples=25, deadline=None)
@given(PIECES, st.sampled_from([0.0, 0.1]))
def test_the_largest_alone_prove_no_more_than_all(shapes: list[RollShape], soon: float) -> None:
    """From the first cutting, with no search of the whole before: the bound is what the largest take, and never too high.

    With no share to make them short at once, one length after the other is decided.
    """
    start = first_cutting(4, shapes, (), 3)
    sound(ShapesCutting(start.places, start.parts, start.length, 0, 0.0), 4, shapes, [])
    best = _Best(4, shapes, (), 1, start, 0)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(shape_cutting, "_SOON", soon)
        best.large(20.0)
    alone = [shapes[k] for k in _large(shapes)]
    sound(ShapesCutting(best.places, best.parts, best.length, best.bound, 0.0), 4, shapes, [])
    assert best.bound <= least(4, shapes) <= best.length <= start.length
    if len(alone) < len(shapes):
        assert best.bound == least(4, alone)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.builds(plain, st.integers(1, 3), st.integers(1, 2)), max_size=2), st.integers(1, 2), st.integers(2, 5),
       st.integers(1, 2), st.integers(1, 3))
def test_the_least_length_with_a_run(shapes: list[RollShape], step: int, steps: int, few: int, most: int) -> None:
    """Against every way to part the run."""

    def parted(left: int, most: int) -> list[list[int]]:
        if not left:
            return [[]]
        return [[n, *rest] for n in range(few, left + 1) if most for rest in parted(left - n, most - 1)]

    found = cut_shapes(3, shapes, [RollRun(step, 1, steps, few, most)], 20.0, 1, 1)
    sound(found, 3, shapes, [RollRun(step, 1, steps, few, most)])
    by_hand = {tuple(sorted(ns)) for ns in parted(steps, most)}
    assert found.length == found.lower_bound == min(least(3, [*shapes, *(plain(n * step, 1) for n in ns)]) for ns in by_hand)


@settings(max_examples=60, deadline=None)
@given(PIECES, st.integers(4, 6))
def test_offsets_of_two_pieces(shapes: list[RollShape], width: int) -> None:
    for one, two in product(shapes, shapes):
        a, b = one.ways[0], two.ways[-1]
        if max(extent(a)[1], extent(b)[1]) > width:
            continue
        apart = offsets_apart(width, a, b)
        for dx in range(-extent(b)[0] - 1, extent(a)[0] + 2):
            free = any(not any(r.x < s.x + dx + s.length and s.x + dx < r.x + r.length and y + r.y < z + s.y + s.width
                               and z + s.y < y + r.y + r.width for r in a for s in b)
                       for y in range(width - extent(a)[1] + 1) for z in range(width - extent(b)[1] + 1))
            past = dx < apart[0][0] or dx > apart[-1][1]
            assert (past or any(low <= dx <= high for low, high in apart)) == free


@settings(max_examples=20, deadline=None)
@given(PIECES, st.integers(1, 3), st.integers(1, 2), st.integers(2, 5))
def test_runs_are_parted_at_their_steps(shapes: list[RollShape], step: int, wide: int, steps: int) -> None:
    runs = [RollRun(step, wide, steps, 2, 2)]
    found = cut_shapes(5, shapes, runs, 20.0, 1, 1)
    sound(found, 5, shapes, runs)
    assert found.proven
    assert found.length <= cut_shapes(5, shapes, [RollRun(step, wide, steps, 2, 1)], 20.0, 1, 1).length


def test_the_same_twice() -> None:
    shapes = [plain(5, 3, True), plain(4, 4), angle(6, 4, 2), plain(3, 2, True), plain(7, 2), plain(2, 5, True)]
    found = [cut_shapes(7, shapes, [RollRun(2, 2, 4, 1, 3)], 4.0, 3, 4) for _ in range(2)]
    assert found[0] == found[1]
    sound(found[0], 7, shapes, [RollRun(2, 2, 4, 1, 3)])


def test_a_run_fills_what_is_left_beside() -> None:
    """Beside a piece that leaves a strip of 4 two parts of the run lie; whole, it is longer than the piece."""
    for most, length in ((1, 12), (2, 6)):
        assert cut_shapes(7, [plain(6, 3)], [RollRun(2, 2, 6, 3, most)], 20.0, 1, 1).length == length


def test_slices_and_patterns_by_hand() -> None:
    slices, kinds = slices_of(5, [plain(4, 3, True), angle(4, 3, 1)], [RollRun(2, 2, 3, 1, 2)])
    assert [(s.owner, s.length, s.width) for s in slices] == [(0, 4, 3), (0, 3, 4), (1, 3, 1), (1, 1, 3), (2, 6, 2)]
    assert kinds == [{0: 0, 1: 1}, {0: 2, 1: 2}]
    assert sorted(sorted(p.items()) for p in patterns(5, slices)) == [
        [(0, 1), (2, 1)], [(0, 1), (4, 1)], [(1, 1), (2, 1)], [(2, 1), (4, 2)], [(3, 1), (4, 1)]]
    assert patterns(5, slices, 2) == []
    # What is 3 or 4 wide comes after each other, what is 2 wide lies beside it.
    assert slices_bound(5, [plain(4, 3), plain(3, 2), plain(5, 4)], ()) == 9
    assert slices_bound(5, [plain(4, 3), plain(5, 2)], [RollRun(2, 3, 3, 1, 2)]) == 10


def test_a_piece_wider_than_the_roll_is_refused() -> None:
    with pytest.raises(InfeasibleError, match="piece 1"):
        cut_shapes(4, [plain(2, 2), plain(3, 5)])
    assert cut_shapes(4, [plain(3, 5, True)]).length == 5
    with pytest.raises(InfeasibleError, match="run 0"):
        cut_shapes(4, [], [RollRun(2, 5, 3, 1, 2)])
    assert cut_shapes(4, []).length == 0


def test_a_piece_that_fits_a_notch_lies_at_one_offset_only() -> None:
    notched = (ShapeRect(0, 0, 4, 1), ShapeRect(0, 1, 1, 2), ShapeRect(3, 1, 1, 2))
    assert offsets_apart(3, notched, (ShapeRect(0, 0, 2, 2),)) == [(-4, -2), (1, 1), (4, 8)]
    assert cut_shapes(3, [RollShape((notched,)), plain(2, 2)], (), 5.0, 1, 1).length == 4


def test_parts_are_no_longer_than_need_be_and_joined_where_they_meet() -> None:
    assert part_sizes(RollRun(5, 2, 11, 2, 7)) == range(2, 4)
    assert part_sizes(RollRun(5, 2, 11, 2, 4)) == range(2, 12)
    runs = [RollRun(5, 2, 9, 2, 4)]
    assert _joined([RunPart(0, 2, 10, 3), RunPart(0, 2, 0, 3), RunPart(0, 3, 20, 3), RunPart(0, 2, 10, 0)], runs) == (
        RunPart(0, 2, 10, 0), RunPart(0, 7, 0, 3))


def test_runs_without_pieces() -> None:
    runs = [RollRun(3, 3, 3, 1, 2)]
    best = _Best(5, [], runs, 1, first_cutting(5, [], runs), 0)
    best.large(1.0)
    assert best.bound == 0
    assert cut_shapes(5, [], runs, 1.0, 1, 1).length == 9
