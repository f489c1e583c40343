"""Pieces and parts of runs on a roll as a model for a constraint solver: where each lies, and that no two lie over each other."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, product
from typing import TYPE_CHECKING, Any

from steamwright.cutting.roll_shapes import RollRun, RollShape, RunPart, ShapePlace, ShapeRect, extent, patterns, slices_of

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver

Way = tuple[ShapeRect, ...]


@dataclass(frozen=True, slots=True)
class _Lying:
    """A piece or a part of a run: its ways, a literal for each, its corner, and a literal that says it is there, if it may not be."""

    ways: tuple[Way, ...]
    chosen: tuple[Any, ...]
    x: Any
    y: Any
    there: Any


@dataclass(frozen=True, slots=True)
class _Box:
    """A rectangle of a piece with its ends along and across; ``least`` is the least width that it may have."""

    owner: int
    along: Any
    across: Any
    size: tuple[Any, Any]
    ends: tuple[Any, Any, Any, Any]
    least: int
    there: Any


def ways_that_differ(shape: RollShape, width: int) -> dict[int, Way]:
    """Ways of a piece that fit the roll, each outline once, by their numbers.

    Parameters
    ----------
    shape : RollShape
        The piece.
    width : int
        Width of the roll (count of units).

    Returns
    -------
    ways : dict of int to tuple of ShapeRect
        By number.

    References
    ----------
    own derivation
    """
    found: dict[int, Way] = {}
    for n, way in enumerate(shape.ways):
        if extent(way)[1] <= width and all(frozenset(way) != frozenset(w) for w in found.values()):
            found[n] = way
    return found


def part_sizes(run: RollRun) -> range:
    """Numbers of steps that a part of a run needs to have, so that a shortest cutting is among those looked at.

    A part with twice the least steps or more can be parted again where it lies, unless that may make more parts than are allowed.

    Parameters
    ----------
    run : RollRun
        The run.

    Returns
    -------
    sizes : range
        Steps of a part (count).

    References
    ----------
    own derivation
    """
    free = run.steps // run.least_steps <= run.most_parts
    return range(run.least_steps, (min(2 * run.least_steps - 1, run.steps) if free else run.steps) + 1)


def offsets_apart(width: int, a: Way, b: Way) -> list[tuple[int, int]]:
    """How far along the roll a second piece may begin from the first, so that both lie apart inside its width in some way.

    Between the places where edges of the two are level nothing changes, so one place between each two is tried.

    Parameters
    ----------
    width : int
        Width of the roll (count of units).
    a, b : sequence of ShapeRect
        The first piece and the second, each lying in one way.

    Returns
    -------
    offsets : list of tuple of int
        Closed intervals that ascend; the first begins and the last ends where the pieces are past each other (count of units).

    References
    ----------
    own derivation
    """
    spans = [(r.x - s.x - s.length, r.x + r.length - s.x, r.y - s.y - s.width, r.y + r.width - s.y) for r in a for s in b]
    levels = sorted({v for x0, x1, _, _ in spans for v in (x0, x1)})
    lowest, highest = extent(a)[1] - width, width - extent(b)[1]

    def free(twice: int) -> bool:
        at = lowest
        for low, high in sorted((y0, y1) for x0, x1, y0, y1 in spans if 2 * x0 < twice < 2 * x1):
            at = high if low < at < high else at
        return at <= highest

    found = [(levels[0] - extent(b)[0], levels[0])]
    for low, high in pairwise(levels):
        if free(low + high):
            found.append((low, high))
        elif free(2 * high):
            found.append((high, high))
    found.append((levels[-1], levels[-1] + extent(a)[0]))
    joined = found[:1]
    for low, high in found[1:]:
        joined[-1:] = [(joined[-1][0], high)] if low == joined[-1][1] else [joined[-1], (low, high)]
    return joined


class ShapeModel:
    """Where everything lies along the roll and across it, in a length from ``low`` to ``high``.

    Rectangles of two pieces lie one before or beside the other, each with a literal of its own, since the solver learns from
    those; what the slices of all pieces take, and how two pieces may lie by their whole outlines, stands beside it.
    """

    def __init__(self, width: int, shapes: Sequence[RollShape], runs: Sequence[RollRun], low: int, high: int) -> None:
        from ortools.sat.python import cp_model

        self.cp: Any = cp_model.CpModel()
        self.width, self.shapes, self.runs, self.high = width, shapes, runs, high
        self.length = self.cp.new_int_var(low, high, "length")
        self.numbers: list[tuple[int, ...]] = []
        self.lying: list[_Lying] = []
        self.boxes: list[_Box] = []
        self.parts: list[list[tuple[_Lying, range]]] = []
        for shape in shapes:
            ways = ways_that_differ(shape, width)
            self.numbers.append(tuple(ways))
            literals = [self.cp.new_bool_var("") for _ in ways]
            self.cp.add_exactly_one(literals)
            self._lay(tuple(ways.values()), tuple(literals), None)
        for run in runs:
            self._part(run)
        self._apart()
        self._offsets()
        self._half()
        self._sliced()
        self.cp.minimize(self.length)

    def _lay(self, ways: tuple[Way, ...], chosen: tuple[Any, ...], there: Any) -> _Lying:
        cp, owner = self.cp, len(self.lying)
        x = cp.new_int_var(0, self.high - min(extent(w)[0] for w in ways), f"x{owner}")
        y = cp.new_int_var(0, self.width - min(extent(w)[1] for w in ways), f"y{owner}")
        for way, lies in zip(ways, chosen, strict=True):
            cp.add(x + extent(way)[0] <= self.length).only_enforce_if(lies)
            cp.add(y + extent(way)[1] <= self.width).only_enforce_if(lies)

        def plus(base: Any, of: Callable[[ShapeRect], int], k: int, most: int) -> Any:
            """A variable where ways differ, since an interval takes no sum of several."""
            values = [of(w[k]) for w in ways]
            if len(set(values)) == 1:
                return base + values[0]
            found = cp.new_int_var(0, most, "")
            for v, lies in zip(values, chosen, strict=True):
                cp.add(found == base + v).only_enforce_if(lies)
            if there is None:
                cp.add(found == base + sum(v * lies for v, lies in zip(values, chosen, strict=True)))
            return found

        for k in range(len(ways[0])):
            at_x, at_y = plus(x, lambda r: r.x, k, self.high), plus(y, lambda r: r.y, k, self.width)
            long, wide = plus(0, lambda r: r.length, k, self.high), plus(0, lambda r: r.width, k, self.width)
            end_x = at_x + long if isinstance(long, int) else cp.new_int_var(0, self.high, "")
            end_y = at_y + wide if isinstance(wide, int) else cp.new_int_var(0, self.width, "")
            if there is None:
                along, across = cp.new_interval_var(at_x, long, end_x, ""), cp.new_interval_var(at_y, wide, end_y, "")
            else:
                along = cp.new_optional_interval_var(at_x, long, end_x, there, "")
                across = cp.new_optional_interval_var(at_y, wide, end_y, there, "")
            least = min(w[k].width for w in ways)
            self.boxes.append(_Box(owner, along, across, (long, wide), (at_x, end_x, at_y, end_y), least, there))
        self.lying.append(_Lying(ways, chosen, x, y, there))
        return self.lying[-1]

    def _part(self, run: RollRun) -> None:
        """Parts from the longest on; those of equal steps in the order in which they lie."""
        cp, sizes = self.cp, part_sizes(run)
        ways = tuple((ShapeRect(0, 0, run.step * n, run.width),) for n in sizes)
        parts: list[tuple[_Lying, range]] = []
        for _ in range(min(run.most_parts, run.steps // run.least_steps)):
            chosen = tuple(cp.new_bool_var("") for _ in sizes)
            there = cp.new_bool_var("")
            cp.add(sum(chosen) == there)
            parts.append((self._lay(ways, chosen, there), sizes))
        steps = [sum(n * lies for n, lies in zip(sizes, p.chosen, strict=True)) for p, _ in parts]
        cp.add(sum(steps) == run.steps)
        for k in range(len(parts) - 1):
            first, second = parts[k][0], parts[k + 1][0]
            cp.add(steps[k] >= steps[k + 1])
            for a, b in zip(first.chosen, second.chosen, strict=True):
                cp.add(first.x <= second.x).only_enforce_if(a, b)
        self.parts.append(parts)

    def _apart(self) -> None:
        """Never wider than the roll beside each other, two too wide to lie beside each other after each other, and all apart."""
        cp, boxes = self.cp, self.boxes
        cp.add_cumulative([b.along for b in boxes], [b.size[1] for b in boxes], self.width)
        cp.add_cumulative([b.across for b in boxes], [b.size[0] for b in boxes], self.length)
        cp.add_no_overlap_2d([b.along for b in boxes], [b.across for b in boxes])
        for clique in _cliques([b.least for b in boxes], self.width):
            cp.add_no_overlap([boxes[j].along for j in clique])
        for a, b in combinations(boxes, 2):
            if a.owner == b.owner:
                continue
            pairs = [(a.ends[1], b.ends[0]), (b.ends[1], a.ends[0])]
            if a.least + b.least <= self.width:
                pairs += [(a.ends[3], b.ends[2]), (b.ends[3], a.ends[2])]
            literals = [cp.new_bool_var("") for _ in pairs]
            for (end, start), before in zip(pairs, literals, strict=True):
                cp.add(end <= start).only_enforce_if(before)
            cp.add_bool_or([*literals, *(~box.there for box in (a, b) if box.there is not None)])

    def _offsets(self) -> None:
        """Two pieces with corners that do not go beside each other as they lie are as far along the roll as their outlines ask."""
        from ortools.sat.python import cp_model

        for a, b in combinations(self.lying, 2):
            for (one, first), (two, second) in product(zip(a.ways, a.chosen, strict=True), zip(b.ways, b.chosen, strict=True)):
                if len(one) == len(two) == 1 and one[0].width + two[0].width <= self.width:
                    continue
                apart = offsets_apart(self.width, one, two)
                if len(apart) > 1:
                    ends = [[-self.high, apart[0][1]], *(list(p) for p in apart[1:-1]), [apart[-1][0], self.high]]
                    domain = cp_model.Domain.from_intervals(ends)
                    self.cp.add_linear_expression_in_domain(b.x - a.x, domain).only_enforce_if(first, second)

    def _half(self) -> None:
        """Of a cutting and the same one turned about only one is looked at, where every piece may lie turned about."""
        if not self.shapes or not all(_turnable(s) for s in self.shapes):
            return
        k = max(range(len(self.shapes)), key=lambda k: (sum(r.length * r.width for r in self.shapes[k].ways[0]), -k))
        p = self.lying[k]
        size = [sum(extent(way)[side] * lies for way, lies in zip(p.ways, p.chosen, strict=True)) for side in (0, 1)]
        # Parts of equal steps are numbered as they lie, so a cutting that is turned about is numbered anew.
        self.cp.add(2 * p.x + size[0] <= self.length)
        if all(len(w) == 1 for s in self.shapes for w in s.ways):
            self.cp.add(2 * p.y + size[1] <= self.width)

    def _sliced(self) -> None:
        """Whatever lies where, the slices of all pieces fill patterns, whose lengths are together no longer than the roll."""
        slices, kinds = slices_of(self.width, self.shapes, self.runs)
        columns = [(self.cp.new_int_var(0, max(slices[k].length for k in p), ""), p) for p in patterns(self.width, slices)]
        if not columns:
            return
        self.cp.add(sum(v for v, _ in columns) <= self.length)
        for k, s in enumerate(slices):
            lies: Any = 1
            if s.owner < len(self.shapes):
                named = zip(self.numbers[s.owner], self.lying[s.owner].chosen, strict=True)
                lies = sum(v for n, v in named if kinds[s.owner][n] == s.kind)
            self.cp.add(sum(p[k] * v for v, p in columns if k in p) >= s.length * lies)

    def begin(self, places: Sequence[ShapePlace], parts: Sequence[RunPart]) -> None:
        """Tell the solver of a cutting to begin from.

        Parameters
        ----------
        places : sequence of ShapePlace
            Where the pieces lie.
        parts : sequence of RunPart
            Where the parts of the runs lie, with as many steps as ``part_sizes`` allows.

        References
        ----------
        own derivation
        """
        for p, lying, numbers in zip(places, self.lying, self.numbers, strict=False):
            for n, lies in zip(numbers, lying.chosen, strict=True):
                self.cp.add_hint(lies, n == p.way)
            self.cp.add_hint(lying.x, p.x)
            self.cp.add_hint(lying.y, p.y)
        for k, row in enumerate(self.parts):
            mine = sorted((q for q in parts if q.run == k), key=lambda q: (-q.steps, q.x))
            for at, (lying, sizes) in enumerate(row):
                for n, lies in zip(sizes, lying.chosen, strict=True):
                    self.cp.add_hint(lies, at < len(mine) and mine[at].steps == n)
                if at < len(mine):
                    self.cp.add_hint(lying.x, mine[at].x)
                    self.cp.add_hint(lying.y, mine[at].y)

    def hold(self, places: Mapping[int, ShapePlace]) -> None:
        """Let pieces lie where they are told to.

        Parameters
        ----------
        places : mapping of int to ShapePlace
            By the number of the piece.

        References
        ----------
        own derivation
        """
        for k, place in places.items():
            lying = self.lying[k]
            self.cp.add(lying.chosen[self.numbers[k].index(place.way)] == 1)
            self.cp.add(lying.x == place.x)
            self.cp.add(lying.y == place.y)

    def read(self, solver: CpSolver) -> tuple[tuple[ShapePlace, ...], tuple[RunPart, ...]]:
        """Where everything lies.

        Parameters
        ----------
        solver : CpSolver
            After a search that found something.

        Returns
        -------
        places : tuple of ShapePlace
            Of the pieces.
        parts : tuple of RunPart
            Of the runs.

        References
        ----------
        own derivation
        """
        ways = [next(n for n, v in zip(numbers, p.chosen, strict=True) if solver.value(v))
                for numbers, p in zip(self.numbers, self.lying, strict=False)]
        places = tuple(ShapePlace(n, solver.value(p.x), solver.value(p.y)) for n, p in zip(ways, self.lying, strict=False))
        parts = tuple(RunPart(k, n, solver.value(p.x), solver.value(p.y)) for k, row in enumerate(self.parts) for p, sizes in row
                      for n, v in zip(sizes, p.chosen, strict=True) if solver.value(v))
        return places, parts


def _cliques(widths: Sequence[int], width: int) -> list[tuple[int, ...]]:
    """Sets of rectangles of which no two lie beside each other: those over half the width, and one narrower with all too wide for it."""
    half = [j for j, w in enumerate(widths) if 2 * w > width]
    found = {tuple(half)} | {tuple(sorted([j, *(k for k in half if widths[k] + w > width)]))
                             for j, w in enumerate(widths) if 2 * w <= width}
    return sorted(c for c in found if len(c) > 1)


def _turnable(shape: RollShape) -> bool:
    """Whether a piece may also lie turned by half a turn in every way in which it lies."""
    ways = {frozenset(way) for way in shape.ways}
    for way in shape.ways:
        length, width = extent(way)
        if frozenset(ShapeRect(length - r.x - r.length, width - r.y - r.width, r.length, r.width) for r in way) not in ways:
            return False
    return True
