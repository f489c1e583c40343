"""Rectangles from boards by edge-to-edge cuts, offcuts used again.

A board or an offcut is cut in two with every blank: one cut along it, one across, the larger rest kept whole. Several
orders and both ways to split are tried, then exchanges in the best of them unless a bound is met; the fewest boards win,
then the largest rest on the last of them.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product

from steamwright.cutting.rolls import NEAR_M, Blank, Spot
from steamwright.errors import InfeasibleError

_UNIT_M = 1e-5
_ORDERS: tuple[Callable[[Blank], tuple[float, float]], ...] = (
    lambda b: (-b.length_m * b.width_m, -max(b.length_m, b.width_m)),
    lambda b: (-max(b.length_m, b.width_m), -min(b.length_m, b.width_m)),
    lambda b: (-min(b.length_m, b.width_m), -max(b.length_m, b.width_m)),
)


@dataclass(frozen=True, slots=True)
class BoardCutting:
    """Where every blank lies, how much of each board's length is used, and a bound that no cutting is under with its method.

    ``spots`` stand in the order in which blanks are cut; ``along`` is the rule by which rests are split where both are alike.
    """

    spots: tuple[Spot, ...]
    used_length_m: tuple[float, ...]
    waste_ratio: float
    lower_bound: int = 0
    method: str = ""
    along: bool = True

    @property
    def proven(self) -> bool:
        """Whether no cutting takes fewer boards."""
        return len(self.used_length_m) == self.lower_bound


_Rest = tuple[int, float, float, float, float]
"""What is left of a board: its number, its lower left corner, length and width. [m]"""


def cut_boards(blanks: Sequence[Blank], length_m: float, width_m: float, tries: int = 6, work: int = 10_000,
               before: BoardCutting | None = None) -> BoardCutting:
    """Give every blank a place on boards of one size.

    Parameters
    ----------
    blanks : sequence of Blank
        What is needed.
    length_m : float
        Length of a board. [m]
    width_m : float
        Width of a board. [m]
    tries : int
        How many of the six rules are tried (count).
    work : int
        Most blanks placed in exchanges, where all six rules leave more boards than the bound (count).
    before : BoardCutting, optional
        A cutting of the same blanks in other sizes: its order is kept, unless that takes more boards.

    Returns
    -------
    cutting : BoardCutting
        Blanks apart, inside their boards, parted by edge-to-edge cuts.

    Raises
    ------
    InfeasibleError
        If a blank is larger than a board.

    References
    ----------
    own derivation
    """
    for b in blanks:
        if not any(_fits(x, y, length_m, width_m) for x, y, _ in _ways(b)):
            raise InfeasibleError(f"blank {b.id} of {b.length_m:.3f} × {b.width_m:.3f} m does not fit a board of "
                                  f"{length_m:.3f} × {width_m:.3f} m", hint="choose a larger board")
    if not blanks:
        return BoardCutting((), (), 0.0)
    by_id = {b.id: b for b in blanks}
    kept = [s.blank for s in before.spots] if before is not None else []
    spots: list[Spot] = []
    boards, along = 0, True
    if before is not None and sorted(kept) == sorted(by_id):
        along = before.along
        spots, (boards, _) = _pack([by_id[k] for k in kept], length_m, width_m, along)
    bound, method = 0, ""
    if before is not None and 0 < boards <= len(before.used_length_m):
        bound, method = boards_bound(blanks, length_m, width_m, boards)
    else:
        rules = list(product(_ORDERS, (True, False)))[:max(1, tries)]
        starts = [(sorted(blanks, key=lambda b, o=order: (*o(b), b.id)), along) for order, along in rules]  # type: ignore[misc]
        found = [(_pack(order, length_m, width_m, along), along) for order, along in starts]
        (spots, (boards, _)), along = min(found, key=lambda f: f[0][1])
        if tries >= 6:
            bound, method = boards_bound(blanks, length_m, width_m, boards)
            if boards > bound:
                spots, along = _exchanged([by_id[s.blank] for s in spots], length_m, width_m, along, spots, bound, work)
    ends: dict[int, float] = {}
    size = {b.id: (b.length_m, b.width_m) for b in blanks}
    for s in spots:
        ends[s.roll] = max(ends.get(s.roll, 0.0), s.x_m + size[s.blank][1 if s.turned else 0])
    used = tuple(min(ends[k], length_m) for k in range(len(ends)))
    needed = sum(b.length_m * b.width_m for b in blanks)
    return BoardCutting(tuple(spots), used, 1.0 - needed / (len(used) * length_m * width_m), bound, method, along)


def boards_bound(blanks: Sequence[Blank], length_m: float, width_m: float, enough: int | None = None) -> tuple[int, str]:
    """Boards that any cutting takes: shares of the area, or of both sides by dual-feasible functions.

    Parameters
    ----------
    blanks : sequence of Blank
        What is needed.
    length_m : float
        Length of a board. [m]
    width_m : float
        Width of a board. [m]
    enough : int or None
        Boards of a cutting at hand: no bound is sought once one is as high (count).

    Returns
    -------
    boards : int
        No cutting takes fewer (count).
    method : str
        What proves it.

    References
    ----------
    own derivation: blanks are rounded down and boards up to whole units
    """
    import numpy as np

    from steamwright.cutting.bins import bins_bound

    x, y = np.floor(np.array([(b.length_m, b.width_m) for b in blanks]) / _UNIT_M).astype(np.int64).T
    turns = np.array([b.may_turn for b in blanks], dtype=np.int64)
    return bins_bound(math.ceil((length_m + NEAR_M) / _UNIT_M), math.ceil((width_m + NEAR_M) / _UNIT_M), x, y, turns, enough)


def _exchanged(order: list[Blank], length_m: float, width_m: float, along: bool, spots: list[Spot], bound: int,
               work: int) -> tuple[list[Spot], bool]:
    """Blanks exchanged or moved in the order; what cuts as few boards fuller is kept, since from there one may fall away."""
    chance, n = random.Random(1), len(order)
    area = {b.id: b.length_m * b.width_m for b in order}

    def value(spots: Sequence[Spot], boards: int) -> tuple[int, float]:
        full = [0.0] * boards
        for s in spots:
            full[s.roll] += area[s.blank]
        return boards, -round(sum(a * a for a in full), 9)

    best = value(spots, max(s.roll for s in spots) + 1)
    for _ in range(work // n):
        if best[0] <= bound:
            break
        new, split = list(order), along
        kind, i, j = chance.random(), int(chance.random() * n), int(chance.random() * n)
        if kind < 0.5:
            new[i], new[j] = new[j], new[i]
        elif kind < 0.9:
            new.insert(j, new.pop(i))
        else:
            split = not split
        tried, (boards, _) = _pack(new, length_m, width_m, split)
        if value(tried, boards) <= best:
            best, order, along, spots = value(tried, boards), new, split, tried
    return spots, along


def _fits(x: float, y: float, length_m: float, width_m: float) -> bool:
    return x <= length_m + NEAR_M and y <= width_m + NEAR_M


def _ways(b: Blank) -> tuple[tuple[float, float, bool], ...]:
    return ((b.length_m, b.width_m, False), (b.width_m, b.length_m, True)) if b.may_turn else ((b.length_m, b.width_m, False),)


def _pack(blanks: Sequence[Blank], length_m: float, width_m: float, along: bool) -> tuple[list[Spot], tuple[int, float]]:
    """Best short side fit into rests; the rule ``along`` says which way a rest is split where both rests are alike.

    It runs once for every order that is tried, so its loop over the rests works on plain numbers.
    """
    rests: list[_Rest] = []
    spots: list[Spot] = []
    boards = 0
    for b in blanks:
        ways = _ways(b)
        short, long, where, way = math.inf, math.inf, -1, ways[0]
        for k, (_, _, _, length, width) in enumerate(rests):
            for w in ways:
                dx, dy = length - w[0], width - w[1]
                if dx >= -NEAR_M and dy >= -NEAR_M:
                    less, more = (dx, dy) if dx < dy else (dy, dx)
                    if less < short or (less == short and more < long):
                        short, long, where, way = less, more, k, w
        if where < 0:
            way = next(w for w in ways if _fits(w[0], w[1], length_m, width_m))
            rest: _Rest = (boards, 0.0, 0.0, length_m, width_m)
            boards += 1
        else:
            rest = rests.pop(where)
        spots.append(Spot(b.id, rest[0], rest[1], rest[2], way[2]))
        rests += _split(rest, way[0], way[1], along)
    return spots, (boards, -max((r[3] * r[4] for r in rests if r[0] == boards - 1), default=0.0))


def _split(rest: _Rest, x: float, y: float, along: bool) -> list[_Rest]:
    """What is left of a rest when a blank is cut from its lower left corner: the larger rest stays whole, ``along`` breaks a rule's tie."""
    board, x_m, y_m, length, width = rest
    dx, dy = max(0.0, length - x), max(0.0, width - y)
    across_first = dx * width > dy * length if along else dx > dy
    right: _Rest = (board, x_m + x, y_m, dx, width if across_first else y)
    above: _Rest = (board, x_m, y_m + y, x if across_first else length, dy)
    return [p for p in (right, above) if p[3] > 1e-3 and p[4] > 1e-3]
