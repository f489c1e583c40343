"""Pieces and runs placed on a roll by a constraint solver: first only along it, which gives a bound, then across it too.

What the slices of all pieces prove stands among the constraints.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from steamwright.cutting.roll_shapes import RollRun, RollShape, RunPart, ShapePlace, ShapeRect, extent, patterns, slices_bound, slices_of
from steamwright.errors import InfeasibleError

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver


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
        If a piece is wider than the roll in every way, or nothing was found within the work allowed.

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
    bound, spent = slices_bound(width, shapes, runs), 0.0
    hint: list[int] | None = None
    answer: tuple[_Model, CpSolver] | None = None
    for across in (False, True):
        # One way to search is often enough, and soon done; the others begin where it ends.
        for ways, share in ((1, 0.05), (workers, 0.65 if across else 0.25)):
            model = _Model(width, shapes, runs, across, bound, hint)
            solver, found, done = _solved(model, share * work, seed, ways)
            spent += solver.response_proto.deterministic_time
            bound = max(bound, math.ceil(solver.best_objective_bound - 1e-6))
            if found:
                hint = [solver.value(v) for v in model.along]
                answer = (model, solver) if across else None
            if done:
                break
    if answer is None:
        raise InfeasibleError("no cutting was found", hint="allow more work")
    return answer[0].read(answer[1], bound, spent)


def _solved(model: _Model, work: float, seed: int, workers: int) -> tuple[CpSolver, bool, bool]:
    """The solver after its search, whether it found something, and whether that is proven."""
    from ortools.sat.python import cp_model

    solver: CpSolver = cp_model.CpSolver()
    solver.parameters.random_seed = seed
    solver.parameters.num_workers = workers
    solver.parameters.interleave_search = workers > 1
    solver.parameters.max_deterministic_time = work
    solver.parameters.linearization_level = 2
    status = solver.solve(model.cp)
    return solver, status in (cp_model.OPTIMAL, cp_model.FEASIBLE), status == cp_model.OPTIMAL


class _Model:
    """Where everything lies along the roll, and across it unless that is left open, which can only make the roll shorter."""

    def __init__(self, width: int, shapes: Sequence[RollShape], runs: Sequence[RollRun], across: bool, bound: int,
                 hint: list[int] | None) -> None:
        from ortools.sat.python import cp_model

        self.cp: Any = cp_model.CpModel()
        self.width, self.shapes, self.runs = width, shapes, runs
        self.most = sum(max(extent(w)[0] for w in s.ways if extent(w)[1] <= width) for s in shapes)
        self.most += sum(r.step * r.steps for r in runs)
        self.length = self.cp.new_int_var(bound, self.most, "length")
        self.boxes: list[tuple[Any, Any, Any, Any, int]] = []
        self.ways: list[dict[int, Any]] = []
        self.corners: list[tuple[Any, Any]] = []
        self.parts: list[list[tuple[Any, Any, Any, Any]]] = []
        for k, shape in enumerate(shapes):
            self._shape(k, shape)
        for k, run in enumerate(runs):
            self._run(k, run)
        self._apart(across)
        self._half()
        self._sliced()
        self.cp.minimize(self.length)
        self.along = [self.length, *(x for x, _ in self.corners), *(v for ways in self.ways for v in ways.values()),
                      *(v for row in self.parts for _, steps, x, _ in row for v in (steps, x))]
        for variable, value in zip(self.along, hint or (), strict=hint is not None):
            self.cp.add_hint(variable, value)

    def _shape(self, k: int, shape: RollShape) -> None:
        cp = self.cp
        fits = [n for n, way in enumerate(shape.ways) if extent(way)[1] <= self.width]
        chosen = {n: cp.new_bool_var(f"way{k}_{n}") for n in fits}
        cp.add_exactly_one(list(chosen.values()))
        x, y = cp.new_int_var(0, self.most, f"x{k}"), cp.new_int_var(0, self.width, f"y{k}")
        self.ways.append(chosen)
        self.corners.append((x, y))
        cp.add(x + sum(extent(shape.ways[n])[0] * v for n, v in chosen.items()) <= self.length)
        cp.add(y + sum(extent(shape.ways[n])[1] * v for n, v in chosen.items()) <= self.width)
        for r in range(len(shape.ways[0])):
            at_x = x + sum(shape.ways[n][r].x * v for n, v in chosen.items())
            at_y = y + sum(shape.ways[n][r].y * v for n, v in chosen.items())
            for length, wide in sorted({(shape.ways[n][r].length, shape.ways[n][r].width) for n in fits}):
                those = [v for n, v in chosen.items() if (shape.ways[n][r].length, shape.ways[n][r].width) == (length, wide)]
                self._box(f"{k}_{r}_{length}", at_x, at_y, length, wide, None if len(those) == len(fits) else self._any(those))

    def _any(self, literals: list[Any]) -> Any:
        if len(literals) == 1:
            return literals[0]
        lies = self.cp.new_bool_var("")
        self.cp.add(sum(literals) == lies)
        return lies

    def _box(self, name: str, x: Any, y: Any, length: Any, wide: int, lies: Any) -> None:
        """A rectangle of fixed width; its ends are variables of their own."""
        cp = self.cp
        end: Any = cp.new_int_var(0, self.most, f"ex{name}")
        start, low = cp.new_int_var(0, self.most, f"sx{name}"), cp.new_int_var(0, self.width - wide, f"sy{name}")
        if lies is None:
            cp.add(start == x)
            cp.add(low == y)
            along, across = cp.new_interval_var(start, length, end, name), cp.new_fixed_size_interval_var(low, wide, name)
        else:
            cp.add(start == x).only_enforce_if(lies)
            cp.add(low == y).only_enforce_if(lies)
            along = cp.new_optional_interval_var(start, length, end, lies, name)
            across = cp.new_optional_fixed_size_interval_var(low, wide, lies, name)
        self.boxes.append((along, across, length, lies, wide))

    def _run(self, k: int, run: RollRun) -> None:
        cp = self.cp
        parts: list[tuple[Any, Any, Any, Any]] = []
        for p in range(min(run.most_parts, run.steps // run.least_steps)):
            steps = cp.new_int_var_from_domain(_steps(run), f"n{k}_{p}")
            lies = cp.new_bool_var(f"r{k}_{p}")
            cp.add(steps >= run.least_steps).only_enforce_if(lies)
            cp.add(steps == 0).only_enforce_if(~lies)
            x, y = cp.new_int_var(0, self.most, ""), cp.new_int_var(0, self.width - run.width, "")
            size = cp.new_int_var(0, run.step * run.steps, "")
            cp.add(size == run.step * steps)
            cp.add(x + size <= self.length)
            if parts:
                cp.add(parts[-1][1] >= steps)
            self._box(f"run{k}_{p}", x, y, size, run.width, lies)
            parts.append((lies, steps, x, y))
        cp.add(sum(p[1] for p in parts) == run.steps)
        self.parts.append(parts)

    def _apart(self, across: bool) -> None:
        """Never wider than the roll beside each other; two too wide to lie beside each other come after each other; apart."""
        cp = self.cp
        cp.add_cumulative([b[0] for b in self.boxes], [b[4] for b in self.boxes], self.width)
        for clique in _cliques([b[4] for b in self.boxes], self.width):
            cp.add_no_overlap([self.boxes[j][0] for j in clique])
        if across:
            cp.add_no_overlap_2d([b[0] for b in self.boxes], [b[1] for b in self.boxes])
            fixed = [b for b in self.boxes if isinstance(b[2], int)]
            cp.add_cumulative([b[1] for b in fixed], [b[2] for b in fixed], self.length)

    def _half(self) -> None:
        """Of a cutting and the same one turned about only one is looked at, where every piece may lie turned about."""
        if not self.shapes or not all(_turnable(s) for s in self.shapes):
            return
        k = max(range(len(self.shapes)), key=lambda k: (sum(r.length * r.width for r in self.shapes[k].ways[0]), -k))
        x, y = self.corners[k]
        size = [sum(extent(self.shapes[k].ways[n])[side] * v for n, v in self.ways[k].items()) for side in (0, 1)]
        self.cp.add(2 * x + size[0] <= self.length)
        if all(len(w) == 1 for s in self.shapes for w in s.ways):
            self.cp.add(2 * y + size[1] <= self.width)

    def _sliced(self) -> None:
        """Whatever lies where, the slices of all pieces fill patterns, whose lengths are together no longer than the roll."""
        slices, kinds = slices_of(self.width, self.shapes, self.runs)
        columns = [(self.cp.new_int_var(0, max(slices[k].length for k in p), ""), p) for p in patterns(self.width, slices)]
        if not columns:
            return
        self.cp.add(sum(v for v, _ in columns) <= self.length)
        for k, s in enumerate(slices):
            lies = 1 if s.owner >= len(self.shapes) else sum(v for n, v in self.ways[s.owner].items() if kinds[s.owner][n] == s.kind)
            self.cp.add(sum(p[k] * v for v, p in columns if k in p) >= s.length * lies)

    def read(self, solver: CpSolver, bound: int, work: float) -> ShapesCutting:
        """The cutting that the solver found."""
        places = tuple(ShapePlace(next(n for n, v in ways.items() if solver.value(v)), solver.value(x), solver.value(y))
                       for ways, (x, y) in zip(self.ways, self.corners, strict=True))
        parts = tuple(RunPart(k, solver.value(steps), solver.value(x), solver.value(y))
                      for k, row in enumerate(self.parts) for lies, steps, x, y in row if solver.value(lies))
        return ShapesCutting(places, parts, round(solver.objective_value), bound, work)


def _cliques(widths: Sequence[int], width: int) -> list[tuple[int, ...]]:
    """Sets of rectangles of which no two lie beside each other: those over half the width, and one narrower with all too wide for it."""
    half = [j for j, w in enumerate(widths) if 2 * w > width]
    found = {tuple(half)} | {tuple(sorted([j, *(k for k in half if widths[k] + w > width)]))
                             for j, w in enumerate(widths) if 2 * w <= width}
    return sorted(c for c in found if len(c) > 1)


def _steps(run: RollRun) -> Any:
    from ortools.sat.python import cp_model

    return cp_model.Domain.from_intervals([[0, 0], [run.least_steps, run.steps]])


def _turnable(shape: RollShape) -> bool:
    """Whether a piece may also lie turned by half a turn in every way in which it lies."""
    ways = {frozenset(way) for way in shape.ways}
    for way in shape.ways:
        length, width = extent(way)
        if frozenset(ShapeRect(length - r.x - r.length, width - r.y - r.width, r.length, r.width) for r in way) not in ways:
            return False
    return True
