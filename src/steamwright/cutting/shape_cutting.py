"""Pieces and runs placed on a roll by a constraint solver, and the length proven: by the whole, or by the largest pieces alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from steamwright.cutting.roll_shapes import RollRun, RollShape, RunPart, ShapePlace, extent, slices_bound
from steamwright.cutting.shape_model import ShapeModel
from steamwright.cutting.shape_start import ShapeStart, first_cutting
from steamwright.errors import InfeasibleError

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver

# The pieces with so much of the area together often need the whole length by themselves, and fewer are sooner decided.
_LARGE = 0.9
# Shares of the work: everything by one way to search, the largest alone; what is left goes to everything again.
_ALL_ALONE, _LARGE_ALONE = 0.2, 0.35
# Share of the work on the largest, in which they are made as short as is soon found.
_SOON = 0.1


@dataclass(frozen=True, slots=True)
class ShapesCutting:
    """A place for every piece and every part of a run, the length taken, and a bound that no cutting is under."""

    places: tuple[ShapePlace, ...]
    parts: tuple[RunPart, ...]
    length: int
    lower_bound: int
    work: float

    @property
    def proven(self) -> bool:
        """Whether no cutting takes less length."""
        return self.length == self.lower_bound


def cut_shapes(width: int, shapes: Sequence[RollShape], runs: Sequence[RollRun] = (), work: float = 60.0, seed: int = 1,
               workers: int = 8) -> ShapesCutting:
    """Cut pieces and runs from a roll so that as little of its length is used as can be found.

    Parameters
    ----------
    width : int
        Width of the roll (count of units).
    shapes : sequence of RollShape
        Pieces.
    runs : sequence of RollRun
        Runs that may be parted.
    work : float
        Most work, in the solver's own measure, which no clock enters (ratio).
    seed : int
        Seed of the search (count).
    workers : int
        Ways to search that take turns (count).

    Returns
    -------
    cutting : ShapesCutting
        Pieces apart and inside the roll.

    Raises
    ------
    InfeasibleError
        If a piece is wider than the roll in every way, or a run is.

    References
    ----------
    own derivation
    """
    for k, shape in enumerate(shapes):
        if not any(extent(way)[1] <= width for way in shape.ways):
            raise InfeasibleError(f"piece {k} is wider than the roll of {width} in every way", hint="choose a wider roll")
    for k, run in enumerate(runs):
        if run.width > width or run.steps < run.least_steps:
            raise InfeasibleError(f"run {k} does not lie on a roll of {width} as it is asked for", hint="choose a wider roll")
    if not shapes and not runs:
        return ShapesCutting((), (), 0, 0, 0.0)
    start = first_cutting(width, shapes, runs, seed=seed)
    best = _Best(width, shapes, runs, seed, start, slices_bound(width, shapes, runs))
    best.search(_ALL_ALONE * work, 1)
    best.large(_LARGE_ALONE * work)
    best.search(work - best.spent, workers)
    return ShapesCutting(best.places, _joined(best.parts, runs), best.length, best.bound, best.spent)


class _Best:
    """The shortest cutting so far and the bound, and what shortens the one or raises the other."""

    def __init__(self, width: int, shapes: Sequence[RollShape], runs: Sequence[RollRun], seed: int, start: ShapeStart, bound: int) -> None:
        self.width, self.shapes, self.runs, self.seed = width, shapes, runs, seed
        self.places, self.parts, self.length = start.places, start.parts, start.length
        self.bound, self.spent = bound, 0.0

    def search(self, work: float, workers: int) -> None:
        """Everything at once, from the best so far."""
        if self.bound < self.length and work > 0.0:
            model = ShapeModel(self.width, self.shapes, self.runs, self.bound, self.length)
            model.begin(self.places, self.parts)
            solver, _, _ = self._solve(model, work, workers, 2)
            self._raise(solver)

    def large(self, work: float) -> None:
        """The largest pieces alone, as short as they are soon found: what they take all take; then the others around them.

        Where a cutting of them one unit shorter is ruled out, no cutting of all is shorter either.
        """
        large = _large(self.shapes)
        if self.bound == self.length or not large or len(large) == len(self.shapes) + len(self.runs):
            return
        alone = [self.shapes[k] for k in large]
        least, length, until = slices_bound(self.width, alone, ()), self.length, self.spent + work
        first = ShapeModel(self.width, alone, (), least, length)
        first.begin([self.places[k] for k in large], ())
        solver, found, _ = self._solve(first, _SOON * work, 1, 1, False)
        places, length = (first.read(solver)[0], round(solver.objective_value)) if found else ((), length)
        self._raise(solver)
        while length > self.bound and self.spent < until:
            model = ShapeModel(self.width, alone, (), length - 1, length - 1)
            # Whether there is a cutting of one length is sooner decided without the relaxation.
            solver, found, never = self._solve(model, until - self.spent, 1, 0, False)
            if not found:
                self.bound = max(self.bound, length) if never else self.bound
                break
            places = model.read(solver)[0]
            length -= 1
        if places and self.bound < self.length:
            whole = ShapeModel(self.width, self.shapes, self.runs, max(self.bound, length), self.length)
            whole.hold(dict(zip(large, places, strict=True)))
            self._solve(whole, _SOON * work, 1, 1)

    def _raise(self, solver: CpSolver) -> None:
        proven = solver.best_objective_bound
        if math.isfinite(proven):
            self.bound = max(self.bound, math.ceil(proven - 1e-6))

    def _solve(self, model: ShapeModel, work: float, workers: int, relaxed: int, whole: bool = True) -> tuple[CpSolver, bool, bool]:
        """The solver after its search, whether it found something, which is the best so far if it is of the whole, whether it never can."""
        from ortools.sat.python import cp_model

        solver: CpSolver = cp_model.CpSolver()
        solver.parameters.random_seed = self.seed
        solver.parameters.num_workers = workers
        solver.parameters.interleave_search = workers > 1
        solver.parameters.max_deterministic_time = work
        solver.parameters.linearization_level = relaxed
        status = solver.solve(model.cp)
        found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        self.spent += solver.response_proto.deterministic_time
        if found and whole:
            (self.places, self.parts), self.length = model.read(solver), round(solver.objective_value)
        return solver, found, status == cp_model.INFEASIBLE


def _large(shapes: Sequence[RollShape]) -> list[int]:
    """The largest pieces, with most of the pieces' area together."""
    areas = [sum(r.length * r.width for r in s.ways[0]) for s in shapes]
    order = sorted(range(len(shapes)), key=lambda k: (-areas[k], k))
    count, area = 0, 0
    while area < _LARGE * sum(areas):
        area += areas[order[count]]
        count += 1
    return sorted(order[:count])


def _joined(parts: Sequence[RunPart], runs: Sequence[RollRun]) -> tuple[RunPart, ...]:
    """Parts of a run that lie in a row end to end are one part."""
    found: list[RunPart] = []
    for p in sorted(parts, key=lambda p: (p.run, p.y, p.x)):
        last = found[-1] if found else None
        if last is not None and (last.run, last.y, last.x + last.steps * runs[p.run].step) == (p.run, p.y, p.x):
            found[-1] = RunPart(p.run, last.steps + p.steps, last.x, last.y)
        else:
            found.append(p)
    return tuple(found)
