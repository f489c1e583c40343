"""Blanks laid on stretches of roll in a given order: cuts across the roll, then each rest cut edge to edge again and again.

A stretch is opened by a blank as long as the stretch. Every blank after it goes where it fits best among the rests of all
stretches; its rest is cut in two, along or across as the rule says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

from steamwright.cutting.rolls import NEAR_M

LEAST_REST_M = 1e-6


class Split(IntEnum):
    """How what is left beside and behind a blank is parted."""

    LARGER_WHOLE = 0
    ALONG_FIRST = 1
    ACROSS_FIRST = 2
    LONGER_WHOLE = 3


@dataclass(frozen=True, slots=True)
class Lying:
    """A blank with its length along and width across the roll, as it opens a stretch; the other way round where it may turn."""

    number: int
    length_m: float
    width_m: float
    turned: bool
    may_turn: bool


@dataclass(frozen=True, slots=True)
class Laid:
    """A blank on a stretch."""

    number: int
    stretch: int
    x_m: float
    y_m: float
    turned: bool


@dataclass(frozen=True, slots=True)
class Rest:
    """What is left of a stretch, from its own beginning."""

    stretch: int
    x_m: float
    y_m: float
    length_m: float
    width_m: float


@dataclass(frozen=True, slots=True)
class Layout:
    """Blanks on stretches, the length of each stretch, and what is left.

    ``rows`` and ``scraps`` are the fields of `Laid` and `Rest`: of many layouts only the best is ever read in full.
    """

    rows: tuple[tuple[int, int, float, float, bool], ...]
    lengths_m: tuple[float, ...]
    scraps: tuple[tuple[int, float, float, float, float], ...]
    left_over: tuple[int, ...] = ()

    @property
    def laid(self) -> tuple[Laid, ...]:
        """The blanks in the order in which they were laid."""
        return tuple(Laid(*r) for r in self.rows)

    @property
    def rests(self) -> tuple[Rest, ...]:
        """What is left of the stretches."""
        return tuple(Rest(*s) for s in self.scraps)

    def largeness_m4(self) -> float:
        """The sum of the squares of the rests' areas: larger where few large ones are left. [m⁴]"""
        return sum((length * width) ** 2 for _, _, _, length, width in self.scraps)


def lay(order: Sequence[Lying], width_m: float, split: Split, ground: Sequence[Rest] = (), may_open: bool = True) -> Layout:
    """Lay blanks in order, each where it fits best.

    Parameters
    ----------
    order : sequence of Lying
        None wider than the roll as it lies.
    width_m : float
        Width of the roll. [m]
    split : Split
        How a rest is parted.
    ground : sequence of Rest
        Rectangles that are there before the first stretch is opened, such as remnants.
    may_open : bool
        Whether stretches may be opened; if not, blanks without a place are left over.

    Returns
    -------
    layout : Layout
        Blanks apart, parted by edge-to-edge cuts.

    References
    ----------
    own derivation
    """
    rests: list[tuple[int, float, float, float, float]] = [(r.stretch, r.x_m, r.y_m, r.length_m, r.width_m) for r in ground]
    first = max((r.stretch + 1 for r in ground), default=0)
    lengths: list[float] = [0.0] * first
    rows: list[tuple[int, int, float, float, bool]] = []
    left_over: list[int] = []
    for b in order:
        at, turned = _fitting(rests, b)
        if at is not None:
            stretch, x, y, long, wide = rests.pop(at)
        elif may_open:
            stretch, x, y, long, wide, turned = len(lengths), 0.0, 0.0, b.length_m, width_m, False
            lengths.append(b.length_m)
        else:
            left_over.append(b.number)
            continue
        a, c = (b.width_m, b.length_m) if turned else (b.length_m, b.width_m)
        rows.append((b.number, stretch, x, y, turned != b.turned))
        dx, dy = long - a, wide - c
        if split is Split.LARGER_WHOLE:
            across = dx * wide > dy * long
        elif split is Split.LONGER_WHOLE:
            across = dx > dy
        else:
            across = split is Split.ACROSS_FIRST
        if dx > LEAST_REST_M:
            rests.append((stretch, x + a, y, dx, wide if across or c > wide else c))
        if dy > LEAST_REST_M:
            rests.append((stretch, x, y + c, a if across and a < long else long, dy))
    return Layout(tuple(rows), tuple(lengths), tuple(rests), tuple(left_over))


def _fitting(rests: Sequence[tuple[int, float, float, float, float]], b: Lying) -> tuple[int | None, bool]:
    """The rest with the least to spare on one side, then on the other."""
    a, c, turns = b.length_m - NEAR_M, b.width_m - NEAR_M, b.may_turn
    best, found, how = (1e9, 1e9), None, False
    for k, (_, _, _, long, wide) in enumerate(rests):
        if a <= long and c <= wide:
            dx, dy = long - a, wide - c
            spare = (dx, dy) if dx < dy else (dy, dx)
            if spare < best:
                best, found, how = spare, k, False
        if turns and c <= long and a <= wide:
            dx, dy = long - c, wide - a
            spare = (dx, dy) if dx < dy else (dy, dx)
            if spare < best:
                best, found, how = spare, k, True
    return found, how
