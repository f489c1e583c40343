"""Stock lengths: against trying everything, bounds that hold, patterns that fit, knapsacks that are the best."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting.knapsack import best_pattern
from steamwright.cutting.leftovers import LengthDemand
from steamwright.cutting.length_bounds import length_bound
from steamwright.cutting.lengths import LengthsCutting, cut_lengths, fit
from steamwright.errors import InfeasibleError


def demands_of(pieces: list[int]) -> list[LengthDemand]:
    return [LengthDemand(p, pieces.count(p)) for p in sorted(set(pieces), reverse=True)]


def serves(cutting: LengthsCutting, pieces: list[int], capacity: int) -> None:
    assert all(sum(p.pieces) <= capacity for p in cutting.patterns)
    assert cutting.stocks == sum(p.times for p in cutting.patterns)
    cut = [x for p in cutting.patterns for _ in range(p.times) for x in p.pieces]
    assert all(cut.count(x) >= pieces.count(x) for x in set(pieces))
    assert cutting.lower_bound <= cutting.stocks


def everything(pieces: tuple[int, ...], capacity: int) -> int:
    @cache
    def fewest(k: int, rests: tuple[int, ...]) -> int:
        if k == len(pieces):
            return len(rests)
        p, found = pieces[k], len(pieces)
        for j, r in enumerate(rests):
            if r >= p and r not in rests[:j]:
                found = min(found, fewest(k + 1, tuple(sorted((*rests[:j], r - p, *rests[j + 1:])))))
        return min(found, fewest(k + 1, tuple(sorted((*rests, capacity - p)))))

    return fewest(0, ())


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(3, 20), min_size=1, max_size=9))
def test_the_fewest_of_everything(pieces: list[int]) -> None:
    cutting = cut_lengths(20, demands_of(pieces))
    serves(cutting, pieces, 20)
    assert cutting.proven
    assert cutting.stocks == everything(tuple(sorted(pieces, reverse=True)), 20)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(40, 700), min_size=20, max_size=60), st.integers(700, 1000))
def test_larger_ones_are_cut_and_bounded(pieces: list[int], capacity: int) -> None:
    cutting = cut_lengths(capacity, demands_of(pieces), 300)
    serves(cutting, pieces, capacity)
    assert cutting.stocks <= cutting.lower_bound + 1


def test_triplets_without_waste_are_found() -> None:
    """Ten stocks filled to the last unit by three pieces each: first fit takes more."""
    rng = np.random.default_rng(3)
    pieces: list[int] = []
    for _ in range(20):
        a, b = (int(x) for x in rng.integers(250, 330, 2))
        pieces += [a, b, 1000 - a - b]
    w = np.array(sorted(set(pieces), reverse=True))
    d = np.array([pieces.count(x) for x in w])
    assert min(len(fit(1000, w, d, tight)) for tight in (False, True)) > 20
    cutting = cut_lengths(1000, demands_of(pieces))
    serves(cutting, pieces, 1000)
    assert (cutting.stocks, cutting.lower_bound) == (20, 20)


def test_the_pattern_bound_beats_the_sum() -> None:
    cutting = cut_lengths(100, demands_of([51] * 5 + [34] * 10))
    assert (cutting.stocks, cutting.proven) == (8, True)
    assert length_bound(100, np.array([51, 34]), np.array([5, 10]))[0] <= 8


def test_long_stock_is_searched_exactly() -> None:
    """Lengths beyond the table's grid: the bound is rounded, the answer is not."""
    rng = np.random.default_rng(11)
    w = rng.integers(12_000, 40_000, 14)
    v = w / 100_000 + rng.uniform(0.0, 0.05, 14)
    value, pattern, bound = best_pattern(100_003, w, v, np.ones(14, dtype=np.int64), 0.0)
    best = max(sum(v[k] for k in range(14) if s >> k & 1) for s in range(1 << 14)
                if sum(int(w[k]) for k in range(14) if s >> k & 1) <= 100_003)  # fmt: skip
    assert pattern is not None
    assert int((pattern * w).sum()) <= 100_003
    assert value == pytest.approx(best, abs=1e-12)
    assert bound >= value


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 30), st.integers(1, 50), st.integers(1, 4)), min_size=1, max_size=5), st.integers(1, 60))
def test_the_best_pattern_of_all(items: list[tuple[int, int, int]], capacity: int) -> None:
    w, v, b = (np.array(x) for x in zip(*items, strict=True))
    value, pattern, bound = best_pattern(capacity, w, v.astype(float), b, 0.0)
    best = 0
    for counts in np.ndindex(*(b + 1)):
        if int((np.array(counts) * w).sum()) <= capacity:
            best = max(best, int((np.array(counts) * v).sum()))
    assert value == best
    assert bound >= best or best == 0
    if pattern is not None:
        assert (pattern <= b).all()
        assert (int((pattern * w).sum()) <= capacity, int((pattern * v).sum())) == (True, best)


def test_a_piece_longer_than_the_stock_is_refused() -> None:
    with pytest.raises(InfeasibleError, match="101"):
        cut_lengths(100, [LengthDemand(101, 1)])


def test_nothing_takes_nothing() -> None:
    assert cut_lengths(100, [LengthDemand(7, 0)]).stocks == 0


def test_the_same_twice() -> None:
    pieces = [int(x) for x in np.random.default_rng(5).integers(30, 90, 40)]
    assert cut_lengths(200, demands_of(pieces)) == cut_lengths(200, demands_of(pieces))
