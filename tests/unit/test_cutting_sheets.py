"""Sheets of several sizes: strips inside, pieces inside strips, demand met, the bound under the cost, small ones by hand."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting.sheets import Sheet, SheetPiece, SheetsCutting, cut_sheets
from steamwright.errors import InfeasibleError


def sound(found: SheetsCutting, sheets: list[Sheet], pieces: list[SheetPiece]) -> None:
    cut = [0] * len(pieces)
    for p in found.patterns:
        assert p.times > 0
        top = 0
        for s in p.strips:
            assert s.y >= top
            top, x = s.y + s.height, 0
            for q in s.pieces:
                piece = pieces[q.piece]
                assert piece.may_turn or not q.turned
                w, h = (piece.height, piece.width) if q.turned else (piece.width, piece.height)
                assert q.x >= x
                assert h <= s.height
                x = q.x + w
                cut[q.piece] += p.times
            assert x <= sheets[p.sheet].width
        assert top <= sheets[p.sheet].height
    assert all(n >= p.count for n, p in zip(cut, pieces, strict=True))
    assert found.cost == sum(p.times * sheets[p.sheet].cost for p in found.patterns)
    assert found.lower_bound <= found.cost


PIECES = st.lists(st.tuples(st.integers(2, 12), st.integers(2, 10), st.integers(1, 6), st.booleans()), min_size=1, max_size=6)


@settings(max_examples=40, deadline=None)
@given(PIECES)
def test_every_cutting_is_sound(sizes: list[tuple[int, int, int, bool]]) -> None:
    sheets, pieces = [Sheet(16, 12, 192), Sheet(12, 10, 130)], [SheetPiece(*s) for s in sizes]
    found = cut_sheets(sheets, pieces, 2, 50)
    sound(found, sheets, pieces)
    assert found == cut_sheets(sheets, pieces, 2, 50)


def fewest(pieces: tuple[tuple[int, int], ...], width: int, height: int) -> int:
    """Sheets needed by trying every way to put pieces, highest first, into open strips or new ones on open or new sheets."""

    @cache
    def best(k: int, state: tuple[tuple[int, tuple[tuple[int, int], ...]], ...]) -> int:
        if k == len(pieces):
            return len(state)
        (w, h), found = pieces[k], len(pieces)
        for s, (free, strips) in enumerate(state):
            others = state[:s] + state[s + 1:]
            for j, (high, left) in enumerate(strips):
                if h <= high and w <= left:
                    new = tuple(sorted((*strips[:j], (high, left - w), *strips[j + 1:])))
                    found = min(found, best(k + 1, tuple(sorted((*others, (free, new))))))
            if h <= free:
                found = min(found, best(k + 1, tuple(sorted((*others, (free - h, tuple(sorted((*strips, (h, width - w))))))))))
        return min(found, best(k + 1, tuple(sorted((*state, (height - h, ((h, width - w),)))))))

    return best(0, ())


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(2, 9), st.integers(2, 7)), min_size=1, max_size=7))
def test_the_bound_is_not_above_the_fewest_nor_the_cutting_below(sizes: list[tuple[int, int]]) -> None:
    kinds = sorted(set(sizes))
    found = cut_sheets([Sheet(10, 8, 1)], [SheetPiece(w, h, sizes.count((w, h))) for w, h in kinds])
    least = fewest(tuple(sorted(sizes, key=lambda s: -s[1])), 10, 8)
    assert found.lower_bound <= least <= found.cost
    assert found.cost == least or not found.proven


def test_the_cheaper_size_is_chosen() -> None:
    found = cut_sheets([Sheet(100, 100, 10), Sheet(100, 50, 6)], [SheetPiece(50, 50, 6)])
    assert (found.cost, found.proven) == (16, True)
    assert sorted((p.sheet, p.times) for p in found.patterns) == [(0, 1), (1, 1)]


def test_turning_saves_a_sheet() -> None:
    assert cut_sheets([Sheet(10, 6, 1)], [SheetPiece(5, 6, 1), SheetPiece(6, 5, 1)]).cost == 2
    assert cut_sheets([Sheet(10, 6, 1)], [SheetPiece(5, 6, 1), SheetPiece(6, 5, 1, True)]).cost == 1


def test_a_piece_that_fits_no_sheet_is_refused() -> None:
    with pytest.raises(InfeasibleError, match="piece 1"):
        cut_sheets([Sheet(10, 6, 1)], [SheetPiece(5, 6, 1), SheetPiece(11, 2, 1)])
