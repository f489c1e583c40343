"""Sheets cut in three stages: inside, apart, parted by the cuts told, bounded, and the fewest on all small ones."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting.bins import BinPiece, BinsCutting, bins_bound, cut_bins
from steamwright.errors import InfeasibleError

W, H = 12, 9
Rect = tuple[int, int, int, int]
PIECES = st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9), st.booleans()), min_size=1, max_size=18)


def parted(rects: list[Rect], axis: int) -> list[list[Rect]]:
    groups: list[list[Rect]] = []
    end = 0
    for r in sorted(rects, key=lambda r: r[axis]):
        if not groups or r[axis] >= end:
            groups.append([])
        groups[-1].append(r)
        end = max(end, r[axis] + r[axis + 2])
    return groups


def sound(found: BinsCutting, pieces: list[BinPiece], width: int, height: int) -> None:
    on: dict[int, list[Rect]] = {}
    for p, s in zip(pieces, found.spots, strict=True):
        assert p.may_turn or not s.turned
        w, h = (p.height, p.width) if s.turned else (p.width, p.height)
        on.setdefault(s.sheet, []).append((s.x, s.y, w, h))
    assert sorted(on) == list(range(found.sheets))
    for rects in on.values():
        grid = np.zeros((height, width), dtype=int)
        for x, y, w, h in rects:
            assert min(x, y) >= 0
            assert x + w <= width
            assert y + h <= height
            grid[y:y + h, x:x + w] += 1
        assert grid.max() == 1
        assert all(len(parted(stack, 1)) == len(stack) for shelf in parted(rects, 1) for stack in parted(shelf, 0))
    assert found.lower_bound <= found.sheets


@settings(max_examples=60, deadline=None)
@given(PIECES)
def test_every_cutting_is_sound(sizes: list[tuple[int, int, bool]]) -> None:
    pieces = [BinPiece(*s) for s in sizes]
    found = cut_bins(W, H, pieces, 300)
    sound(found, pieces, W, H)
    assert found == cut_bins(W, H, pieces, 300)


def groupings(items: tuple[int, ...]) -> Iterator[list[tuple[int, ...]]]:
    if not items:
        yield []
        return
    for rest in groupings(items[1:]):
        yield [(items[0],), *rest]
        for k, group in enumerate(rest):
            yield [*rest[:k], (items[0], *group), *rest[k + 1:]]


def fewest(pieces: list[BinPiece], width: int, height: int) -> int:
    """Every way to make stacks, shelves and sheets."""
    n = len(pieces)

    @cache
    def fits(chosen: tuple[int, ...]) -> bool:
        for turned in product(*((False, True)[:1 + pieces[i].may_turn] for i in chosen)):
            size = {i: (pieces[i].height, pieces[i].width) if t else (pieces[i].width, pieces[i].height)
                    for i, t in zip(chosen, turned, strict=True)}
            for stacks in groupings(chosen):
                wide, high = [max(size[i][0] for i in s) for s in stacks], [sum(size[i][1] for i in s) for s in stacks]
                for shelves in groupings(tuple(range(len(stacks)))):
                    if all(sum(wide[s] for s in f) <= width for f in shelves) and sum(max(high[s] for s in f) for f in shelves) <= height:
                        return True
        return False

    return min(len(bins) for bins in groupings(tuple(range(n))) if all(fits(b) for b in bins))


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(2, 7), st.integers(2, 6), st.booleans()), min_size=1, max_size=5))
def test_the_fewest_sheets(sizes: list[tuple[int, int, bool]]) -> None:
    pieces = [BinPiece(*s) for s in sizes]
    found = cut_bins(8, 7, pieces, 2000)
    assert found.lower_bound <= fewest(pieces, 8, 7) == found.sheets


def sawn(count: int, seed: int) -> list[BinPiece]:
    """A sheet sawn into shelves, these into stacks, these into pieces."""
    rng, out = np.random.default_rng(seed), []

    def parts(side: int) -> list[int]:
        at = sorted({0, side, *rng.integers(side // 5, side - side // 5, count).tolist()})
        return [int(b - a) for a, b in pairwise(at)]

    for shelf in parts(90):
        for wide in parts(120):
            out += [BinPiece(wide, high) for high in parts(shelf)]
    return out


@pytest.mark.parametrize("seed", range(3))
def test_sawn_sheets_are_laid_again(seed: int) -> None:
    pieces = [p for k in range(4) for p in sawn(1, 10 * seed + k)]
    found = cut_bins(120, 90, pieces, 40_000)
    sound(found, pieces, 120, 90)
    assert (found.sheets, found.proven, found.method) == (4, True, "area")


def test_bounds_by_hand() -> None:
    """Two halves and a bit do not lie on one sheet whichever way; what may turn counts the better way."""
    w, h = np.array([7, 7]), np.array([5, 5])
    assert bins_bound(12, 9, w, h, np.array([0, 0]))[0] == 2
    assert bins_bound(12, 9, w, h, np.array([1, 1]))[0] == 1
    assert cut_bins(12, 9, [BinPiece(7, 5, True)] * 2).sheets == 1
    assert cut_bins(12, 9, [BinPiece(7, 5)] * 2).sheets == 2
    assert cut_bins(5, 9, [BinPiece(7, 5, True)] * 2).sheets == 2


def test_one_larger_than_the_sheet_is_refused() -> None:
    with pytest.raises(InfeasibleError, match="piece 1"):
        cut_bins(10, 6, [BinPiece(2, 2), BinPiece(11, 2, True)])
    with pytest.raises(InfeasibleError, match="piece 0"):
        cut_bins(10, 6, [BinPiece(6, 10)])
    assert cut_bins(10, 6, [BinPiece(6, 10, True)]).sheets == 1
    assert cut_bins(10, 6, []).sheets == 0
