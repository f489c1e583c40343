"""Pieces with corners cut out of one roll, as little of its length as can be found: each may lie in some ways only.

Runs, such as the treads of a stair, may be parted at their steps. Where any two pieces lie beside each other is free: they
are cut out, not parted by cuts from edge to edge. All sizes are whole numbers of one unit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

_MOST_PATTERNS = 20_000


@dataclass(frozen=True, slots=True)
class ShapeRect:
    """A rectangle of a piece, from the piece's corner: along the roll, across it."""

    x: int
    y: int
    length: int
    width: int


@dataclass(frozen=True, slots=True)
class RollShape:
    """A piece as rectangles, for each way in which it may lie; the same rectangle has the same place in every way."""

    ways: tuple[tuple[ShapeRect, ...], ...]


@dataclass(frozen=True, slots=True)
class RollRun:
    """Steps of equal length in a row, that may be parted into so many parts of so many steps at least."""

    step: int
    width: int
    steps: int
    least_steps: int
    most_parts: int


@dataclass(frozen=True, slots=True)
class ShapePlace:
    """Where a piece lies and in which way."""

    way: int
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class RunPart:
    """A part of a run, and where it lies."""

    run: int
    steps: int
    x: int
    y: int


def extent(way: Sequence[ShapeRect]) -> tuple[int, int]:
    """Length and width that a piece takes in one way.

    Parameters
    ----------
    way : sequence of ShapeRect
        Its rectangles.

    Returns
    -------
    length, width : int
        Along and across the roll (count of units).

    References
    ----------
    own derivation
    """
    return max(r.x + r.length for r in way), max(r.y + r.width for r in way)


@dataclass(frozen=True, slots=True)
class Slice:
    """So much length of a piece or run has so much width; ``owner`` and ``kind`` tell which piece, lying how."""

    owner: int
    kind: int
    length: int
    width: int
    most: int


def slices_of(width: int, shapes: Sequence[RollShape], runs: Sequence[RollRun]) -> tuple[list[Slice], list[dict[int, int]]]:
    """What every piece asks of the roll's length, whatever lies where: pieces are sliced across the roll and the slices set free.

    Parameters
    ----------
    width : int
        Width of the roll (count of units).
    shapes : sequence of RollShape
        Pieces.
    runs : sequence of RollRun
        Runs, which count after the pieces.

    Returns
    -------
    slices : list of Slice
        Slices of equal width of one piece together.
    kinds : list of dict of int to int
        For each piece the kind of each way that fits the roll; ways with the same slices are of one kind (count).

    References
    ----------
    own derivation
    """
    slices: list[Slice] = []
    kinds: list[dict[int, int]] = []
    count = 0
    for owner, shape in enumerate(shapes):
        known: dict[tuple[tuple[int, int], ...], int] = {}
        of: dict[int, int] = {}
        for number, way in enumerate(shape.ways):
            if extent(way)[1] > width:
                continue
            profile: dict[int, int] = {}
            edges = sorted({x for r in way for x in (r.x, r.x + r.length)})
            for a, b in pairwise(edges):
                wide = sum(r.width for r in way if r.x <= a and r.x + r.length >= b)
                profile[wide] = profile.get(wide, 0) + b - a
            key = tuple(sorted(profile.items()))
            if key not in known:
                known[key], count = count, count + 1
                slices += [Slice(owner, known[key], length, wide, 1) for wide, length in key if wide]
            of[number] = known[key]
        kinds.append(of)
    for k, run in enumerate(runs):
        slices.append(Slice(len(shapes) + k, count + k, run.step * run.steps, run.width, run.most_parts))
    return slices, kinds


def patterns(width: int, slices: Sequence[Slice], most: int = _MOST_PATTERNS) -> list[Mapping[int, int]]:
    """All sets of slices that lie beside each other and leave no room for another.

    Parameters
    ----------
    width : int
        Width of the roll (count of units).
    slices : sequence of Slice
        As given by ``slices_of``.
    most : int
        Where there are more patterns than this there is no answer (count).

    Returns
    -------
    patterns : list of mapping of int to int
        How often each slice lies in the pattern; empty if there are too many (count).

    References
    ----------
    own derivation
    """
    order = sorted(range(len(slices)), key=lambda k: (-slices[k].width, k))
    found: list[Mapping[int, int]] = []

    def grow(start: int, room: int, owners: frozenset[int], chosen: dict[int, int]) -> bool:
        if len(found) > most:
            return False
        for at in range(start, len(order)):
            s = slices[order[at]]
            for times in range(0 if s.owner in owners else min(s.most, room // s.width), 0, -1):
                if not grow(at + 1, room - times * s.width, owners | {s.owner}, {**chosen, order[at]: times}):
                    return False
        if not any(s.width <= room and (s.owner not in owners or 0 < chosen.get(k, 0) < s.most) for k, s in enumerate(slices)):
            found.append(chosen)
        return True

    return found if grow(0, width, frozenset(), {}) else []


def slices_bound(width: int, shapes: Sequence[RollShape], runs: Sequence[RollRun], nodes: int = 2000) -> int:
    """Length that any cutting takes: the least length of patterns in which the slices of every piece, lying one way, find their place.

    Parameters
    ----------
    width : int
        Width of the roll (count of units).
    shapes : sequence of RollShape
        Pieces, each of which fits the roll in some way.
    runs : sequence of RollRun
        Runs.
    nodes : int
        Most nodes of the whole-number program in which the ways are chosen (count).

    Returns
    -------
    length : int
        No cutting is shorter; 0 where there are too many patterns (count of units).

    References
    ----------
    own derivation
    """
    import highspy

    slices, _ = slices_of(width, shapes, runs)
    columns = patterns(width, slices)
    if not columns:
        return 0
    make: Any = highspy.Highs
    solver = make()
    for name, value in (("output_flag", False), ("threads", 1), ("random_seed", 1), ("mip_max_nodes", nodes)):
        solver.setOptionValue(name, value)
    owners = sorted({s.owner for s in slices})
    for _ in slices:
        solver.addRow(0.0, highspy.kHighsInf, 0, [], [])
    for _ in owners:
        solver.addRow(1.0, 1.0, 0, [], [])
    for kind in sorted({s.kind for s in slices}):
        rows = [k for k, s in enumerate(slices) if s.kind == kind]
        owner = len(slices) + owners.index(slices[rows[0]].owner)
        solver.addCol(0.0, 0.0, 1.0, len(rows) + 1, [*rows, owner], [*(-float(slices[k].length) for k in rows), 1.0])
        solver.changeColIntegrality(solver.getNumCol() - 1, highspy.HighsVarType.kInteger)
    for p in columns:
        solver.addCol(1.0, 0.0, highspy.kHighsInf, len(p), list(p), [float(n) for n in p.values()])
    if solver.run() == highspy.HighsStatus.kError:
        return 0
    bound = float(solver.getInfo().mip_dual_bound)
    return max(0, math.ceil(bound - 1e-6)) if math.isfinite(bound) else 0
