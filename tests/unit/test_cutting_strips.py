"""Strip packing: inside, apart, bounded, the least by hand, and puzzles without waste solved."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting.strip_packing import StripPacking, StripRect, height_bound, pack_strip
from steamwright.errors import InfeasibleError

RECTS = st.lists(st.tuples(st.integers(1, 10), st.integers(1, 12)), min_size=1, max_size=16)


def sound(found: StripPacking, rects: list[StripRect], width: int) -> None:
    grid = np.zeros((found.height, width), dtype=int)
    for p, r in zip(found.places, rects, strict=True):
        assert min(p.x, p.y) >= 0
        assert p.x + r.width <= width
        assert p.y + r.height <= found.height
        grid[p.y:p.y + r.height, p.x:p.x + r.width] += 1
    assert grid.max() == 1
    assert found.height == max(p.y + r.height for p, r in zip(found.places, rects, strict=True))
    assert found.lower_bound <= found.height


@settings(max_examples=80, deadline=None)
@given(RECTS)
def test_inside_apart_and_bounded(sizes: list[tuple[int, int]]) -> None:
    rects = [StripRect(*s) for s in sizes]
    found = pack_strip(10, rects, 1e5)
    sound(found, rects, 10)
    assert found == pack_strip(10, rects, 1e5)


def least(width: int, sizes: list[tuple[int, int]]) -> int:
    """The least height of all: the lowest, leftmost free cell is either covered by one of the rectangles or stays empty."""

    def fits(height: int) -> bool:
        grid = np.zeros((height, width), dtype=bool)

        def fill(left: tuple[tuple[int, int], ...], cell: int) -> bool:
            if not left:
                return True
            while cell < height * width and grid[divmod(cell, width)]:
                cell += 1
            if cell == height * width:
                return False
            y, x = divmod(cell, width)
            for k, (w, h) in enumerate(left):
                if (w, h) not in left[:k] and x + w <= width and y + h <= height and not grid[y:y + h, x:x + w].any():
                    grid[y:y + h, x:x + w] = True
                    if fill((*left[:k], *left[k + 1:]), cell):
                        return True
                    grid[y:y + h, x:x + w] = False
            return fill(left, cell + 1)

        return fill(tuple(sizes), 0)

    height = max(max(h for _, h in sizes), -(-sum(w * h for w, h in sizes) // width))
    while not fits(height):
        height += 1
    return height


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 4), st.integers(1, 4)), min_size=1, max_size=5))
def test_the_bound_is_not_above_the_least_height(sizes: list[tuple[int, int]]) -> None:
    best = least(5, sizes)
    w, h = (np.array(x) for x in zip(*sizes, strict=True))
    assert height_bound(5, w, h)[0] <= best <= pack_strip(5, [StripRect(*s) for s in sizes], 1e5).height


def test_the_least_height_is_found_nearly_always() -> None:
    """The lowest gap is always filled at the taller wall, so that a few packings cannot be reached by any order."""
    rng, met = np.random.default_rng(2), 0
    for _ in range(60):
        sizes = [(int(a), int(b)) for a, b in rng.integers(1, 5, (5, 2))]
        met += pack_strip(5, [StripRect(*s) for s in sizes], 1e5).height == least(5, sizes)
    assert met >= 57


def sawn(width: int, height: int, count: int, seed: int) -> list[StripRect]:
    """A plate sawn into pieces by through cuts: it can be laid again without waste."""
    rng, parts = np.random.default_rng(seed), [(width, height)]
    while len(parts) < count:
        parts.sort(key=lambda p: p[0] * p[1])
        w, h = parts.pop()
        if w > h:
            c = int(rng.integers(w // 4, 3 * w // 4 + 1))
            parts += [(c, h), (w - c, h)]
        else:
            c = int(rng.integers(h // 4, 3 * h // 4 + 1))
            parts += [(w, c), (w, h - c)]
    return [StripRect(*p) for p in parts]


@pytest.mark.parametrize("seed", range(4))
def test_a_sawn_plate_is_laid_again(seed: int) -> None:
    rects = sawn(60, 60, 16, seed)
    found = pack_strip(60, rects, 3e7)
    sound(found, rects, 60)
    assert (found.height, found.proven, found.method) == (60, True, "area")


def test_wide_ones_stand_on_each_other() -> None:
    found = pack_strip(10, [StripRect(6, 3), StripRect(7, 2), StripRect(6, 2), StripRect(3, 1)], 1e5)
    assert (found.height, found.proven) == (7, True)
    assert height_bound(10, np.array([6, 7, 6]), np.array([3, 2, 2]))[0] == 7


def test_one_wider_than_the_strip_is_refused() -> None:
    with pytest.raises(InfeasibleError, match="rectangle 1"):
        pack_strip(10, [StripRect(2, 2), StripRect(11, 1)])
