"""Leftovers: each of the three values against trying everything, and cuts that add up."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting.leftovers import LeftoverCutting, LengthDemand, cut_keeping_leftovers
from steamwright.errors import InfeasibleError


def adds_up(cutting: LeftoverCutting, demands: list[LengthDemand], new: list[int], remnants: list[int], least: int) -> None:
    cut = sorted(p for c in cutting.cuts for p in c.pieces)
    assert cut == sorted(d.length for d in demands for _ in range(d.count))
    from_stock = [c.remnant for c in cutting.cuts if c.remnant is not None]
    assert len(set(from_stock)) == len(from_stock)
    for c in cutting.cuts:
        assert c.length == sum(c.pieces) + c.rest
        assert c.rest >= 0
        assert c.length == remnants[c.remnant] if c.remnant is not None else c.length in new
    assert cutting.new_length == sum(c.length for c in cutting.cuts if c.remnant is None)
    assert cutting.scrap == sum(c.rest for c in cutting.cuts if c.rest < least)
    assert cutting.kept == sum(1 for c in cutting.cuts if c.rest >= least)


def everything(pieces: tuple[int, ...], new: tuple[int, ...], remnants: tuple[int, ...], least: int) -> tuple[int, int, int]:
    """Least value over all ways to put pieces into open rests, whole remnants or new rolls."""

    @cache
    def best(k: int, open_: tuple[int, ...], whole: tuple[int, ...], bought: int) -> tuple[int, int, int]:
        if k == len(pieces):
            return bought, sum(r for r in open_ if r < least), sum(1 for r in open_ if r >= least)
        p, found = pieces[k], (10**9, 0, 0)
        for r in set(open_):
            if r >= p:
                rest = list(open_)
                rest.remove(r)
                found = min(found, best(k + 1, tuple(sorted((*rest, r - p))), whole, bought))
        for r in set(whole):
            if r >= p:
                left = list(whole)
                left.remove(r)
                found = min(found, best(k + 1, tuple(sorted((*open_, r - p))), tuple(left), bought))
        for r in set(new):
            if r >= p:
                found = min(found, best(k + 1, tuple(sorted((*open_, r - p))), whole, bought + r))
        return found

    return best(0, (), tuple(sorted(remnants)), 0)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(2, 12), min_size=1, max_size=6), st.lists(st.integers(12, 24), min_size=1, max_size=2, unique=True),
       st.lists(st.integers(3, 15), max_size=3), st.integers(1, 8))  # fmt: skip
def test_the_least_of_everything(pieces: list[int], new: list[int], remnants: list[int], least: int) -> None:
    demands = [LengthDemand(p, pieces.count(p)) for p in sorted(set(pieces), reverse=True)]
    cutting = cut_keeping_leftovers(demands, new, remnants, least)
    adds_up(cutting, demands, new, remnants, least)
    assert cutting.proven == (True, True, True)
    assert (cutting.new_length, cutting.scrap, cutting.kept) == everything(tuple(sorted(pieces, reverse=True)), tuple(new), tuple(remnants),
                                                                           least)  # fmt: skip


def test_a_remnant_is_used_before_a_roll_is_bought() -> None:
    cutting = cut_keeping_leftovers([LengthDemand(4, 2)], [20], [5, 9], 6)
    assert (cutting.new_length, cutting.scrap, cutting.kept) == (0, 1, 0)
    assert [c.remnant for c in cutting.cuts] == [1]


def test_remnants_alone_that_do_not_suffice() -> None:
    with pytest.raises(InfeasibleError, match="on hand"):
        cut_keeping_leftovers([LengthDemand(4, 3)], [], [5, 5], 1)


def test_a_piece_longer_than_all_is_refused() -> None:
    with pytest.raises(InfeasibleError, match="30"):
        cut_keeping_leftovers([LengthDemand(30, 1)], [20], [], 1)


def test_the_same_twice() -> None:
    demands = [LengthDemand(7, 3), LengthDemand(5, 4), LengthDemand(3, 2)]
    assert cut_keeping_leftovers(demands, [20], [9], 4) == cut_keeping_leftovers(demands, [20], [9], 4)
