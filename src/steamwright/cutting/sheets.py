"""Rectangles from sheets of several sizes at the least cost, in two stages: strips across the sheet, pieces along the strips.

Patterns are generated until none is worth its price, which gives a bound; dives with proper patterns and one whole-number
solve over all patterns found give the cutting. All sizes are whole numbers of one unit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.cutting.master import Master, choose_whole
from steamwright.errors import InfeasibleError, NotConvergedError

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
_EPS = 1e-9
_SCALE = 1 << 20


@dataclass(frozen=True, slots=True)
class Sheet:
    """A size that is sold, any number of it, at a cost in whole units."""

    width: int
    height: int
    cost: int


@dataclass(frozen=True, slots=True)
class SheetPiece:
    """Pieces of one size."""

    width: int
    height: int
    count: int
    may_turn: bool = False


@dataclass(frozen=True, slots=True)
class StripPiece:
    """A piece in a strip: which, how far from the sheet's side, and whether turned."""

    piece: int
    x: int
    turned: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip across the sheet, from the sheet's edge up, and what lies in it."""

    y: int
    height: int
    pieces: tuple[StripPiece, ...]


@dataclass(frozen=True, slots=True)
class SheetPattern:
    """One way to cut a sheet, and how often."""

    sheet: int
    strips: tuple[Strip, ...]
    times: int


@dataclass(frozen=True, slots=True)
class SheetsCutting:
    """The cutting; pieces over what is wanted may be among its patterns. No two-stage cutting costs less than the bound."""

    patterns: tuple[SheetPattern, ...]
    cost: int
    lower_bound: int
    work: int

    @property
    def proven(self) -> bool:
        """Whether no cutting of this kind costs less."""
        return self.cost == self.lower_bound


def cut_sheets(sheets: Sequence[Sheet], pieces: Sequence[SheetPiece], dives: int = 12, nodes: int = 3000) -> SheetsCutting:
    """Cut rectangles from sheets of several sizes at the least cost that can be found.

    Parameters
    ----------
    sheets : sequence of Sheet
        Sizes that are sold; the first cuts go across the height.
    pieces : sequence of SheetPiece
        What is needed.
    dives : int
        How many dives are made (count).
    nodes : int
        Most nodes of the whole-number solve (count).

    Returns
    -------
    cutting : SheetsCutting
        Valid whatever the work.

    Raises
    ------
    InfeasibleError
        If a piece fits no sheet.

    References
    ----------
    own derivation
    """
    for k, p in enumerate(pieces):
        if not any(w <= s.width and h <= s.height for w, h, _ in _lying(p) for s in sheets):
            raise InfeasibleError(f"piece {k} of {p.width} × {p.height} fits no sheet", hint="choose a larger sheet")
    if not any(p.count for p in pieces):
        return SheetsCutting((), 0, 0, 0)
    return _Search(sheets, pieces).run(dives, nodes)


class _Search:
    def __init__(self, sheets: Sequence[Sheet], pieces: Sequence[SheetPiece]) -> None:
        from steamwright.cutting.sheet_kernels import best_sheet

        self.best_sheet = best_sheet
        self.sheets = sheets
        ways = sorted({(h, w, k, t) for k, p in enumerate(pieces) for w, h, t in _lying(p)})
        self.ways = [[w for w in ways if w[0] <= s.height and w[1] <= s.width] for s in sheets]
        self.demand = np.array([p.count for p in pieces], dtype=np.int64)
        self.area = np.array([float(p.width * p.height) for p in pieces])
        self.master = Master(self.demand)
        self.made: list[tuple[int, Ints]] = []
        self.step = math.gcd(*(s.cost for s in sheets))
        self.best: dict[int, int] = {}
        self.cost = 0
        for k in range(len(pieces)):
            one = np.zeros(len(pieces))
            one[k] = 1.0
            self._price(one, np.eye(len(pieces), dtype=np.int64)[k], True, False)

    def run(self, dives: int, nodes: int) -> SheetsCutting:
        """Bound, dives, then the whole-number solve over what was found."""
        self._greedy(self.demand, {}, 0)
        bound = 0
        try:
            prices = self._price_out(self.demand, False)[1]
            bound = self._safe(prices)
            self._price_out(self.demand, True)
            for turn in range(dives):
                if self.cost <= bound:
                    break
                self._dive(turn, bound)
            if self.cost > bound:
                self.master.demand(np.maximum(self.demand, 10**6))
                self._take(choose_whole(self.master, self.demand, self.cost, self.step, nodes))
        except NotConvergedError:
            pass
        patterns = tuple(self._pattern(j, n) for j, n in sorted(self.best.items()))
        return SheetsCutting(patterns, self.cost, bound, self.master.solves)

    def _price(self, prices: Floats, most: Ints, proper: bool, gain: bool = True) -> int:
        """Add the best pattern of every sheet if it is worth more than it costs."""
        added = 0
        for s, sheet in enumerate(self.sheets):
            if not self.ways[s]:
                continue
            up, across, item = (np.array([w[k] for w in self.ways[s]], dtype=np.int64) for k in (0, 1, 2))
            value, strips, used = self.best_sheet(sheet.width, sheet.height, across, up, item, prices, most, proper)
            if used == 0 or (gain and value <= sheet.cost * (1.0 + _EPS)):
                continue
            counts = np.zeros(len(self.demand), dtype=np.int64)
            np.add.at(counts, item, strips[:used, 1:].sum(axis=0))
            if self.master.add(counts, float(sheet.cost), s):
                self.made.append((s, strips[:used].copy()))
                added += 1
        return added

    def _price_out(self, demand: Ints, proper: bool) -> tuple[float, Floats, Floats]:
        while True:
            value, uses, prices = self.master.solve()
            if not self._price(prices, demand, proper):
                return value, prices, uses

    def _safe(self, prices: Floats) -> int:
        """What the prices prove, in whole numbers, up to the next sum of costs."""
        whole = np.floor(prices * _SCALE)
        total = sum(int(p) * int(d) for p, d in zip(whole.tolist(), self.demand.tolist(), strict=True))
        bounds = []
        for s, sheet in enumerate(self.sheets):
            if self.ways[s]:
                up, across, item = (np.array([w[k] for w in self.ways[s]], dtype=np.int64) for k in (0, 1, 2))
                value = self.best_sheet(sheet.width, sheet.height, across, up, item, whole, self.demand, False)[0]
                bounds.append(-(-total * sheet.cost // max(1, int(value))))
        return -(-min(bounds) // self.step) * self.step

    def _dive(self, turn: int, bound: int) -> None:
        """Fix what is used whole, else the most used pattern (the turn-th at the first choice), price again, until all is cut."""
        demand, fixed, cost = self.demand.copy(), dict[int, int](), 0
        first = True
        self.master.demand(demand)
        while demand.any():
            value, _, uses = self._price_out(demand, True)
            if cost + value > self.cost - self.step + 1e-6:
                return
            self._greedy(demand, fixed, cost, uses)
            order = [int(j) for j in np.argsort(-uses, kind="stable") if uses[j] > 1e-6 and (self.master.patterns[j] <= demand).all()]
            if not order:
                return
            take = [(j, int(uses[j] + 1e-6)) for j in order if uses[j] >= 1.0 - 1e-6]
            if first and turn:
                # A dive that differs from the others from its beginning: less is fixed at once.
                take = [(j, max(1, n * (12 - turn % 12) // 13)) for j, n in take[: 1 + turn % 5]]
            if not take:
                take = [(order[min(turn % 3 if first else 0, len(order) - 1)], 1)]
            first = False
            for j, n in take:
                n = min([n, *(int(v) for v in demand[self.master.patterns[j] > 0] // self.master.patterns[j][self.master.patterns[j] > 0])])
                if n > 0:
                    fixed[j] = fixed.get(j, 0) + n
                    cost += n * int(self.master.costs[j])
                    demand = demand - n * self.master.patterns[j]
            self.master.demand(demand)
        self._take(fixed)

    def _greedy(self, demand: Ints, fixed: dict[int, int], cost: int, uses: Floats | None = None) -> None:
        """Complete a cutting: rounded patterns first, then the sheet that holds the most area for its cost."""
        left, chosen = demand.copy(), dict(fixed)
        if uses is not None:
            for j in np.argsort(-uses, kind="stable"):
                times = math.ceil(uses[j] - 1e-6)
                while times > 0 and (self.master.patterns[j] <= left).all():
                    left, times, cost = left - self.master.patterns[j], times - 1, cost + int(self.master.costs[j])
                    chosen[int(j)] = chosen.get(int(j), 0) + 1
        while left.any() and (not self.cost or cost < self.cost):
            self._price(self.area, left, True, False)
            fits = [j for j in range(len(self.made)) if (np.minimum(self.master.patterns[j], left)).any()]
            j = max(fits, key=lambda j: (float((np.minimum(self.master.patterns[j], left) * self.area).sum()) / self.master.costs[j], -j))
            left = np.maximum(left - self.master.patterns[j], 0)
            chosen[j], cost = chosen.get(j, 0) + 1, cost + int(self.master.costs[j])
        if not left.any():
            self._take(chosen)

    def _take(self, chosen: dict[int, int] | None) -> None:
        if chosen is None:
            return
        cost = sum(n * int(self.master.costs[j]) for j, n in chosen.items())
        if not self.cost or cost < self.cost:
            self.best, self.cost = dict(chosen), cost

    def _pattern(self, column: int, times: int) -> SheetPattern:
        s, rows = self.made[column]
        strips, y = [], 0
        for row in rows:
            x, pieces = 0, []
            for (_, across, item, turned), n in zip(self.ways[s], row[1:].tolist(), strict=True):
                for _ in range(n):
                    pieces.append(StripPiece(item, x, turned))
                    x += across
            if pieces:
                strips.append(Strip(y, int(row[0]), tuple(pieces)))
                y += int(row[0])
        return SheetPattern(s, tuple(strips), times)


def _lying(p: SheetPiece) -> list[tuple[int, int, bool]]:
    return [(p.width, p.height, False), *([(p.height, p.width, True)] if p.may_turn and p.width != p.height else [])]
