"""The cut that is carried out: several orders, then exchanges in the best of them, within counted work.

It begins with what ``cut_rolls`` gives and never ends with more rolls or more used length.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from steamwright.cutting.roll_bounds import RollBound, roll_bound
from steamwright.cutting.rolls import NEAR_M, Blank, Cutting, Remnant, Spot, cut_rolls
from steamwright.cutting.stretches import Layout, Lying, Split, lay


@dataclass(frozen=True, slots=True)
class BoundedCutting:
    """A cutting with the bound that no cutting can be under; ``proven`` where length and rolls both meet it."""

    cutting: Cutting
    bound: RollBound
    proven: bool
    gap_ratio: float
    work: int


def best_cut(blanks: Sequence[Blank], roll_width_m: float, roll_length_m: float, least_remnant_m: float = 0.3, work: int = 400,
             seed: int = 1) -> BoundedCutting:
    """Give every blank a place on as few rolls, then as little used length, as can be found.

    Parameters
    ----------
    blanks : sequence of Blank
        What is needed, each with its own id.
    roll_width_m, roll_length_m : float
        Size of a roll. [m]
    least_remnant_m : float
        Shortest side of a remnant that is worth keeping. [m]
    work : int
        Most layouts tried (count).
    seed : int
        Seed of the exchanges (count).

    Returns
    -------
    best : BoundedCutting
        Blanks apart, inside their rolls, parted by edge-to-edge cuts; never worse than ``cut_rolls``.

    Raises
    ------
    InfeasibleError
        If a blank is larger than a roll.

    References
    ----------
    own derivation
    """
    first = cut_rolls(blanks, roll_width_m, roll_length_m, least_remnant_m)
    bound = roll_bound(blanks, roll_width_m, roll_length_m)
    search = _Search(blanks, roll_width_m, roll_length_m, bound, work, seed)
    layout = search.run((len(first.used_length_m), sum(first.used_length_m)))
    cutting = first if layout is None else _onto_rolls(blanks, layout, roll_width_m, roll_length_m, least_remnant_m)
    used = sum(cutting.used_length_m)
    met = used <= bound.length_m + 1e-6 and len(cutting.used_length_m) == bound.rolls
    return BoundedCutting(cutting, bound, met, used / bound.length_m - 1.0 if bound.length_m > 0.0 else 0.0, search.tried)


def quick_length_m(blanks: Sequence[Blank], roll_width_m: float, roll_length_m: float) -> float:
    """Reckon the roll length of a cutting that two orders alone give, for comparing many sets of blanks.

    Parameters
    ----------
    blanks : sequence of Blank
        What is needed.
    roll_width_m, roll_length_m : float
        Size of a roll. [m]

    Returns
    -------
    length_m : float
        Used length; ``best_cut`` begins with the same orders. [m]

    Raises
    ------
    InfeasibleError
        If a blank is larger than a roll.

    References
    ----------
    own derivation
    """
    ways = [_ways(k, b, roll_width_m, roll_length_m) for k, b in enumerate(blanks)]
    if not all(ways):
        cut_rolls(blanks, roll_width_m, roll_length_m)
    return min(sum(lay(sorted([w[way] for w in ways], key=key), roll_width_m, split).lengths_m)
               for way, key, split in ((-1, _by_length, Split.LARGER_WHOLE), (0, _by_area, Split.LONGER_WHOLE)))


def _by_length(b: Lying) -> tuple[float, float, int]:
    return -round(b.length_m, 6), -round(b.width_m, 6), b.number


def _by_area(b: Lying) -> tuple[float, int]:
    return -round(b.length_m * b.width_m, 6), b.number


Value = tuple[int, float, float]


class _Search:
    def __init__(self, blanks: Sequence[Blank], width: float, length: float, bound: RollBound, work: int, seed: int) -> None:
        self.width, self.length, self.bound, self.work = width, length, bound, work
        self.chance = random.Random(seed)
        self.tried = 0
        self.ways = [_ways(k, b, width, length) for k, b in enumerate(blanks)]

    def run(self, known: tuple[int, float]) -> Layout | None:
        """The best layout that beats what is known, or nothing."""
        best: tuple[Value, list[Lying], Split, Layout] | None = None
        for order, split in self._starts():
            if self.tried >= self.work:
                break
            value, layout = self._try(order, split)
            if best is None or value < best[0]:
                best = (value, order, split, layout)
        if best is None:
            return None
        while self.tried < self.work and not self._met(best[0]):
            order, split = self._changed(best[1], best[2])
            value, layout = self._try(order, split)
            # What is as good is taken too: from there other exchanges lead on.
            if value <= best[0]:
                best = (value, order, split, layout)
        (rolls, used, _), found = best[0], best[3]
        return found if rolls < known[0] or (rolls == known[0] and used <= known[1] + NEAR_M) else None

    def _met(self, value: Value) -> bool:
        return value[0] <= self.bound.rolls and value[1] <= self.bound.length_m + 1e-6

    def _starts(self) -> list[tuple[list[Lying], Split]]:
        keys = (
            _by_length,
            _by_area,
            lambda b: (-round(b.width_m, 6), -round(b.length_m, 6), b.number),
            lambda b: (-round(max(b.length_m, b.width_m), 6), -round(min(b.length_m, b.width_m), 6), b.number),
        )
        starts: list[tuple[list[Lying], Split]] = []
        for way in (0, -1):
            chosen = [w[way] for w in self.ways]
            starts += [(sorted(chosen, key=key), split) for key in keys for split in Split]
        return starts if any(len(w) > 1 for w in self.ways) else starts[: len(starts) // 2]

    def _try(self, order: Sequence[Lying], split: Split) -> tuple[Value, Layout]:
        self.tried += 1
        layout = lay(order, self.width, split)
        rolls = len(_fill(layout.lengths_m, self.length)[1])
        # Where the length is the same, one large rest is worth more than many small ones.
        return (rolls, round(sum(layout.lengths_m), 9), -layout.largeness_m4()), layout

    def _changed(self, order: Sequence[Lying], split: Split) -> tuple[list[Lying], Split]:
        new, n = list(order), len(order)
        kind = self.chance.random()
        i, j = int(self.chance.random() * n), int(self.chance.random() * n)
        if kind < 0.35:
            new[i], new[j] = new[j], new[i]
        elif kind < 0.75:
            new.insert(j, new.pop(i))
        elif kind < 0.93:
            ways = self.ways[new[i].number]
            new[i] = ways[(ways.index(new[i]) + 1) % len(ways)]
            new.insert(j, new.pop(i))
        else:
            split = Split(int(self.chance.random() * len(Split)))
        return new, split


def _ways(number: int, b: Blank, width: float, length: float) -> list[Lying]:
    """How a blank may open a stretch: first the way that ``cut_rolls`` lays it."""
    both = [Lying(number, b.length_m, b.width_m, False, b.may_turn)]
    if b.may_turn:
        both.append(Lying(number, b.width_m, b.length_m, True, True))
        both.sort(key=lambda w: -w.length_m)
    return [w for w in both if w.width_m <= width + NEAR_M and w.length_m <= length + NEAR_M]


def _fill(lengths: Sequence[float], roll_length: float) -> tuple[list[tuple[int, float]], list[float]]:
    """Stretches onto rolls, best fit by decreasing length: roll and distance from its end for each, used length of each roll."""
    used: list[float] = []
    at = [(0, 0.0)] * len(lengths)
    for k in sorted(range(len(lengths)), key=lambda k: (-lengths[k], k)):
        fitting = [(roll_length - u, j) for j, u in enumerate(used) if u + lengths[k] <= roll_length + NEAR_M]
        j = min(fitting)[1] if fitting else len(used)
        if j == len(used):
            used.append(0.0)
        at[k] = (j, used[j])
        used[j] += lengths[k]
    return at, used


def _onto_rolls(blanks: Sequence[Blank], layout: Layout, width: float, length: float, least_remnant: float) -> Cutting:
    at, used = _fill(layout.lengths_m, length)
    spots = tuple(Spot(blanks[p.number].id, at[p.stretch][0], at[p.stretch][1] + p.x_m, p.y_m, p.turned)
                  for p in sorted(layout.laid, key=lambda p: p.number))
    remnants = tuple(Remnant(at[r.stretch][0], at[r.stretch][1] + r.x_m, r.y_m, r.length_m, r.width_m) for r in layout.rests
                     if min(r.length_m, r.width_m) >= least_remnant)
    total, need = sum(used) * width, sum(b.length_m * b.width_m for b in blanks)
    return Cutting(spots, tuple(used), remnants, 1.0 - need / total if total > 0.0 else 0.0)
