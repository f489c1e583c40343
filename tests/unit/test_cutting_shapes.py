"""Pieces and runs from a roll: inside, apart, the least length on all small ones, runs parted at their steps."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting.roll_shapes import RollRun, RollShape, ShapeRect, extent, patterns, slices_bound, slices_of
from steamwright.cutting.shape_cutting import ShapesCutting, cut_shapes
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
