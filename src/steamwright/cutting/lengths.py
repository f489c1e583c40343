"""Lengths from stock of one length with the fewest, and a proof of how few there can be.

First fit and best fit are held against bounds that need no search. If a gap is left, patterns are generated until none is
worth its price: the linear program's value, made safe in whole numbers, bounds the count, and diving with limited
discrepancies (fix the patterns that are used most, price again for what is left) looks for a cutting that meets it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.cutting.knapsack import best_pattern
from steamwright.cutting.leftovers import LengthDemand
from steamwright.cutting.length_bounds import length_bound
from steamwright.cutting.master import Master
from steamwright.errors import InfeasibleError, NotConvergedError

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
_EPS = 1e-7
_SCALE = 1_000_000


@dataclass(frozen=True, slots=True)
class Pattern:
    """Pieces cut from one stock length, in decreasing length, and how often."""

    pieces: tuple[int, ...]
    times: int


@dataclass(frozen=True, slots=True)
class LengthsCutting:
    """The cutting, how many stock lengths it takes, and a proven lower bound with its method."""

    patterns: tuple[Pattern, ...]
    stocks: int
    lower_bound: int
    method: str
    work: int

    @property
    def proven(self) -> bool:
        """Whether no cutting takes fewer."""
        return self.stocks == self.lower_bound


def cut_lengths(capacity: int, demands: Sequence[LengthDemand], work: int = 4000) -> LengthsCutting:
    """Cut pieces from as few stock lengths as can be found.

    Parameters
    ----------
    capacity : int
        Length of the stock, in whole units (count).
    demands : sequence of LengthDemand
        What is needed, lengths in the same units.
    work : int
        Most linear programs solved (count).

    Returns
    -------
    cutting : LengthsCutting
        Valid whatever the work; proven where the bound equals the count.

    Raises
    ------
    InfeasibleError
        If a piece is longer than the stock.

    References
    ----------
    own derivation
    """
    merged: dict[int, int] = {}
    for d in demands:
        merged[d.length] = merged.get(d.length, 0) + d.count
    lengths = np.array(sorted((k for k, v in merged.items() if v > 0), reverse=True), dtype=np.int64)
    if len(lengths) == 0:
        return LengthsCutting((), 0, 0, "nothing is needed", 0)
    if lengths[0] > capacity:
        raise InfeasibleError(f"a piece of {lengths[0]} is longer than the stock of {capacity}", hint="choose longer stock")
    demand = np.array([merged[int(k)] for k in lengths], dtype=np.int64)
    best = min((fit(capacity, lengths, demand, tight) for tight in (False, True)), key=len)
    bound, method = length_bound(capacity, lengths, demand)
    spent = 0
    if len(best) > bound:
        search = _Search(capacity, lengths, demand, best, work)
        search.run(bound)
        best, spent = search.best, search.master.solves
        if search.bound > bound:
            bound, method = search.bound, "dual prices of the pattern program, made whole"
    return LengthsCutting(_patterns(lengths, best), len(best), bound, method, spent)


def fit(capacity: int, lengths: Ints, demand: Ints, tight: bool) -> list[Ints]:
    """First fit, or best fit, by decreasing length.

    Parameters
    ----------
    capacity : int
        Length of the stock (count of units).
    lengths, demand : array of int, shape (n,)
        Decreasing lengths and how many of each (count).
    tight : bool
        Best fit: into the stock with the least rest that holds the piece.

    Returns
    -------
    stocks : list of array of int
        Pieces of each item on every stock length (count).

    References
    ----------
    common practice, no source
    """
    rests: list[int] = []
    stocks: list[Ints] = []
    for k, (length, count) in enumerate(zip(lengths.tolist(), demand.tolist(), strict=True)):
        for _ in range(count):
            fitting = [j for j, r in enumerate(rests) if r >= length]
            if fitting:
                j = min(fitting, key=lambda j: (rests[j], j)) if tight else fitting[0]
            else:
                j = len(rests)
                rests.append(capacity)
                stocks.append(np.zeros(len(lengths), dtype=np.int64))
            rests[j] -= length
            stocks[j][k] += 1
    return stocks


def _patterns(lengths: Ints, stocks: Sequence[Ints]) -> tuple[Pattern, ...]:
    times: dict[tuple[int, ...], int] = {}
    for s in stocks:
        pieces = tuple(np.repeat(lengths, s).tolist())
        times[pieces] = times.get(pieces, 0) + 1
    return tuple(Pattern(p, t) for p, t in sorted(times.items(), reverse=True))


class _Search:
    """Column generation and diving; ``best`` is always a whole cutting."""

    def __init__(self, capacity: int, lengths: Ints, demand: Ints, best: list[Ints], work: int) -> None:
        self.capacity, self.lengths, self.demand, self.best, self.work = capacity, lengths, demand, best, work
        self.bound = 0
        self.master = Master(demand)
        for k in range(len(lengths)):
            single = np.zeros(len(lengths), dtype=np.int64)
            single[k] = min(demand[k], capacity // lengths[k])
            self.master.add(single, 1.0)
            one = np.zeros(len(lengths), dtype=np.int64)
            one[k] = 1
            self.master.add(one, 1.0)
        for pattern in best:
            self.master.add(pattern, 1.0)

    def run(self, bound: int) -> None:
        """Bound at the root, then dives with more and more turns off the first choice."""
        self.bound = bound
        try:
            value, uses, prices = self._price_out(self.demand)
            self.bound = max(bound, self._safe(prices))
            for allowed in range(12):
                if len(self.best) <= self.bound:
                    return
                self._dive(self.demand, [], allowed, (value, uses), 0)
                self.master.demand(self.demand)
                value, uses, _ = self._price_out(self.demand)
        except NotConvergedError:
            return

    def _price_out(self, demand: Ints) -> tuple[float, Floats, Floats]:
        """Solve with patterns added until none is missing for this demand."""
        several = 4 if self.capacity <= 4096 else 1
        while True:
            value, uses, prices = self.master.solve()
            if self.master.solves > self.work:
                raise NotConvergedError("the work allowed is used up")
            left, added = demand.copy(), 0
            for _ in range(several):
                _, pattern, _ = best_pattern(self.capacity, self.lengths, prices, left, 1.0 + _EPS, 20_000)
                if pattern is None:
                    break
                added += self.master.add(pattern, 1.0)
                left = left - pattern
            if not added:
                return value, uses, prices

    def _safe(self, prices: Floats) -> int:
        """The bound that the prices prove, reckoned in whole numbers."""
        whole = np.floor(prices * _SCALE)
        worth, _, most = best_pattern(self.capacity, self.lengths, whole, self.demand, 0.0)
        total = sum(int(p) * int(d) for p, d in zip(whole.tolist(), self.demand.tolist(), strict=True))
        return -(-total // max(1, int(np.ceil(max(worth, most)))))

    def _dive(self, demand: Ints, fixed: list[Ints], turns: int, relaxed: tuple[float, Floats], depth: int) -> None:
        value, uses = relaxed
        if len(fixed) + int(np.ceil(value - 1e-6)) >= len(self.best):
            return
        rounded = self._round(demand, uses)
        if len(fixed) + len(rounded) < len(self.best):
            self.best = fixed + rounded
            if len(self.best) <= self.bound:
                return
        for rank, block in enumerate(self._choices(demand, uses)[: turns + 1]):
            rest = demand - sum(block)
            self.master.demand(rest)
            after = self._price_out(rest)
            self._dive(rest, fixed + block, turns - rank, after[:2], depth + 1)
            if len(self.best) <= self.bound:
                return

    def _choices(self, demand: Ints, uses: Floats) -> list[list[Ints]]:
        """What may be fixed next: all whole parts at once, or else one pattern, the most used first."""
        whole = np.floor(uses + 1e-6).astype(np.int64)
        block: list[Ints] = []
        left = demand.copy()
        for j in np.flatnonzero(whole):
            for _ in range(int(whole[j])):
                if (self.master.patterns[j] <= left).all():
                    block.append(self.master.patterns[j])
                    left = left - self.master.patterns[j]
        open_ = np.flatnonzero(uses > 1e-6)
        single = [j for j in open_[np.argsort(-uses[open_], kind="stable")] if (self.master.patterns[j] <= demand).all()]
        if block:
            return [block]
        return [[self.master.patterns[j]] for j in single]

    def _round(self, demand: Ints, uses: Floats) -> list[Ints]:
        """Patterns in order of use as far as they fit, the rest by best fit."""
        left = demand.copy()
        taken: list[Ints] = []
        order = np.flatnonzero(uses > 1e-6)
        for j in order[np.argsort(-uses[order], kind="stable")]:
            for _ in range(int(np.ceil(uses[j] - 1e-6))):
                if (self.master.patterns[j] <= left).all():
                    taken.append(self.master.patterns[j])
                    left = left - self.master.patterns[j]
        return taken + min((fit(self.capacity, self.lengths, left, tight) for tight in (False, True)), key=len)
