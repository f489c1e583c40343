"""A first cutting of pieces and runs from a roll: one after the other as near to the roll's start as each goes."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

from steamwright.cutting.roll_shapes import RollRun, RollShape, RunPart, ShapePlace, ShapeRect, extent
from steamwright.cutting.shape_model import Way, ways_that_differ


@dataclass(frozen=True, slots=True)
class ShapeStart:
    """A cutting that is only sound: a place for everything, and the length taken."""

    places: tuple[ShapePlace, ...]
    parts: tuple[RunPart, ...]
    length: int


def first_cutting(width: int, shapes: Sequence[RollShape], runs: Sequence[RollRun], tries: int = 40, seed: int = 1) -> ShapeStart:
    """The shortest of some cuttings in which everything lies as near to the roll's start as it goes, in one order.

    The first order is that of the areas; the others exchange some places of the best so far.

    Parameters
    ----------
    width : int
        Width of the roll, on which every piece fits in some way (count of units).
    shapes : sequence of RollShape
        Pieces.
    runs : sequence of RollRun
        Runs, in as many parts as they may have.
    tries : int
        Orders tried (count).
    seed : int
        Seed of the exchanges (count).

    Returns
    -------
    start : ShapeStart
        Everything apart and inside the roll.

    References
    ----------
    own derivation
    """
    lying: list[dict[int, Way]] = [ways_that_differ(s, width) for s in shapes]
    parts: list[tuple[int, int]] = []
    for k, run in enumerate(runs):
        n = min(run.most_parts, run.steps // run.least_steps)
        parts += [(k, run.steps // n + (p < run.steps % n)) for p in range(n)]
    lying += [{0: (ShapeRect(0, 0, runs[k].step * steps, runs[k].width),)} for k, steps in parts]
    order = sorted(range(len(lying)), key=lambda k: -sum(r.length * r.width for r in next(iter(lying[k].values()))))
    best_length, best = _laid(width, lying, order)
    draw = random.Random(seed)
    for _ in range(tries - 1 if len(order) > 1 else 0):
        other = list(order)
        for _ in range(draw.randint(1, 3)):
            a, b = draw.sample(range(len(other)), 2)
            other[a], other[b] = other[b], other[a]
        length, found = _laid(width, lying, other)
        if length <= best_length:
            order, best_length, best = other, length, found
    places = tuple(best[k] for k in range(len(shapes)))
    return ShapeStart(places, tuple(RunPart(k, steps, best[len(shapes) + j].x, best[len(shapes) + j].y)
                                    for j, (k, steps) in enumerate(parts)), best_length)


def _laid(width: int, lying: Sequence[dict[int, Way]], order: Sequence[int]) -> tuple[int, dict[int, ShapePlace]]:
    """Each in the way in which it ends first; the length that all take."""
    placed: list[ShapeRect] = []
    found: dict[int, ShapePlace] = {}
    for k in order:
        _, _, number, place = min((p.x + extent(way)[0], p.x, n, (p.x, p.y)) for n, way in lying[k].items()
                                  for p in (_nearest(width, placed, way),))
        found[k] = ShapePlace(number, *place)
        placed += [ShapeRect(place[0] + r.x, place[1] + r.y, r.length, r.width) for r in lying[k][number]]
    return max(r.x + r.length for r in placed), found


def _nearest(width: int, placed: Sequence[ShapeRect], way: Way) -> ShapePlace:
    """The place nearest to the roll's start, where no rectangle lies over one that is placed."""
    room = width - extent(way)[1]
    for x in sorted({0, *(p.x + p.length - r.x for p in placed for r in way if p.x + p.length > r.x)}):
        at = 0
        for low, high in sorted((p.y - r.y - r.width, p.y + p.width - r.y) for r in way for p in placed
                                if x + r.x < p.x + p.length and p.x < x + r.x + r.length):
            at = high if low < at < high else at
        if at <= room:
            return ShapePlace(0, x, at)
    raise AssertionError("past all that is placed there is room")
