"""What is cut out of boards: every notch, hole and slanted edge from the board's own lower left corner."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely import Polygon

from steamwright.covering.boards.model import Board
from steamwright.drawing.arcs import arcs_of
from steamwright.drawing.digest import Digest
from steamwright.drawing.facet_view import parts
from steamwright.drawing.frame import continued, open_page
from steamwright.drawing.scene import Sheet
from steamwright.drawing.tables import Column, Grid, draw_table
from steamwright.geometry.frame import Point2
from steamwright.units import format_length

LEAST_M = 1.6e-3
"""A cut is true to a sixteenth of an inch: what is narrower than twice this is within the gaps of boards, and an edge that runs off by no
more is one straight cut along its middle. Common practice, no source."""
ON_EDGE_M = 5e-4


@dataclass(frozen=True, slots=True)
class CutOut:
    """One thing cut out of a board, from its lower left corner as seen from the room: from and to along it, from and to up. [m]

    Of a hole both ends are its middle; a slanted cut runs from the first to the second.
    """

    what: str
    start_m: Point2
    end_m: Point2
    diameter_m: float = 0.0


def cut_outs_of(board: Board) -> tuple[CutOut, ...]:
    """Tell what is taken off the rectangle that a board is cut as.

    Parameters
    ----------
    board : Board
        A board.

    Returns
    -------
    cut_outs : tuple of CutOut
        Lowest first; what stays within the gaps between boards is left out.

    References
    ----------
    own derivation
    """
    s0, t0, _, _ = board.patch.polygon.bounds
    shape = shapely.transform(board.patch.polygon, lambda p: p - (s0, t0))
    whole = shapely.box(*shape.bounds)
    out: list[CutOut] = []
    for off in parts(shapely.difference(whole, shape), "Polygon"):
        corners = [(float(x), float(y)) for x, y in off.exterior.coords[:-1]]
        arcs = arcs_of(corners)
        out += [CutOut("hole" if a.whole else "round notch", a.center_m, a.center_m, 2 * a.radius_m) for a in arcs]
        # what goes straight leaves no sliver along an edge that is a little askew, and parts the cut-outs that it joined
        for part in parts(shapely.make_valid(Polygon(_straightened(off, whole))), "Polygon") if not arcs else ():
            if not part.buffer(-LEAST_M, join_style="mitre").is_empty:
                out += _told(part, whole)
    return tuple(sorted(out, key=lambda c: tuple(round(v, 3) for v in (*c.start_m[::-1], *c.end_m[::-1]))))


def _told(off: Polygon, whole: Polygon) -> list[CutOut]:
    """A piece that is taken off, as notches where its edges are level and plumb, else as the cuts that part it from the board."""
    inside = off.distance(whole.exterior) > ON_EDGE_M
    ring: list[Point2] = [(float(x), float(y)) for x, y in off.exterior.coords]
    edges = list(pairwise(ring))
    if all(min(abs(p[0] - q[0]), abs(p[1] - q[1])) < 1e-9 for p, q in edges):
        return [CutOut("cut-out" if inside else "notch", (b[0], b[1]), (b[2], b[3])) for b in _boxes(off)]
    cuts = [sorted(e) for e in edges if inside or not _along_edge(*e, whole)]
    return [CutOut("cut", p, q) for p, q in cuts if math.dist(p, q) > 2 * LEAST_M]


def _straightened(off: Polygon, whole: Polygon) -> list[Point2]:
    """The corners of a piece with its edges level or plumb where they are within what a cut is true to: along their middle, or on the
    board's own edge."""
    ring: list[Point2] = [(float(x), float(y)) for x, y in shapely.simplify(off, LEAST_M).exterior.coords[:-1]]
    for axis in (1, 0):
        bounds = whole.bounds[axis], whole.bounds[axis + 2]
        group = list(range(len(ring)))
        for i, (p, q) in enumerate(pairwise([*ring, ring[0]])):
            if abs(p[axis] - q[axis]) <= min(2 * LEAST_M, abs(p[1 - axis] - q[1 - axis])):
                a, b = group[i], group[(i + 1) % len(ring)]
                group = [a if g == b else g for g in group]
        for g in set(group):
            values = [ring[i][axis] for i in range(len(ring)) if group[i] == g]
            middle = (min(values) + max(values)) / 2
            at = next((b for b in bounds if any(abs(v - b) < ON_EDGE_M for v in values)), middle)
            if len(values) > 1:
                ring = [(p if group[i] != g else (p[0], at) if axis else (at, p[1])) for i, p in enumerate(ring)]
    return ring


def _boxes(off: Polygon) -> list[tuple[float, float, float, float]]:
    """A piece with level and plumb edges as level boxes, the lowest first; those over one another that are as wide are one."""
    stops = sorted({y for _, y in off.exterior.coords})
    out: list[tuple[float, float, float, float]] = []
    for low, high in pairwise(stops):
        for part in parts(shapely.intersection(off, shapely.box(off.bounds[0], low, off.bounds[2], high)), "Polygon"):
            x0, _, x1, _ = part.bounds
            below = next((b for b in out if b[3] == low and max(abs(b[0] - x0), abs(b[2] - x1)) < 1e-9), None)
            if below is not None:
                out.remove(below)
            out.append((x0, below[1] if below is not None else low, x1, high))
    return out


def _along_edge(p: Point2, q: Point2, whole: Polygon) -> bool:
    edge = whole.exterior.buffer(ON_EDGE_M)
    return bool(edge.contains(shapely.LineString([p, q])))


def cut_out_rows(d: Digest, boards: Sequence[Board]) -> list[tuple[str, ...]]:
    """Rows of the list of cut-outs.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    boards : sequence of Board
        The boards, in the order of the list.

    Returns
    -------
    rows : list of tuple of str
        Board, surface, what is cut, from and to along, from and to up.

    References
    ----------
    own derivation
    """

    def say(v: float) -> str:
        return format_length(max(0.0, v), d.system)

    rows: list[tuple[str, ...]] = []
    for b in boards:
        for c in cut_outs_of(b):
            what = f"{c.what} ⌀ {format_length(c.diameter_m, d.system)}" if c.diameter_m else c.what
            far = ("", "") if c.diameter_m else (say(c.end_m[0]), say(c.end_m[1]))
            rows.append((d.marks[b.id], d.names.get(b.facet, b.facet), what, say(c.start_m[0]), far[0], say(c.start_m[1]), far[1]))
    return rows


def cut_out_sheets(d: Digest, name: str, number: str, first: int) -> tuple[Sheet, ...]:
    """List what is cut out of all boards.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    name : str
        File name of the first boards sheet without suffix.
    number : str
        What its title block shows.
    first : int
        How many sheets there are before these.

    Returns
    -------
    sheets : tuple of Sheet
        Empty where every board is a plain rectangle.

    References
    ----------
    own derivation
    """
    rows = cut_out_rows(d, d.plan.boards.pieces)
    sheets: list[Sheet] = []
    while rows:
        page = open_page(d, *continued(name, number, first + len(sheets)), "Cut-outs of boards")
        f = page.field
        widths = (18.0, 50.0, 52.0, 36.0, 36.0, 36.0, 36.0)
        titles = ("board", "on", "what", "along from", "to", "up from", "to")
        grid = Grid(f.x0_mm, f.y0_mm, f.y1_mm, tuple(Column(t, w) for t, w in zip(titles, widths, strict=True)), 3.5, tick=True,
                    line_ratio=1.6)  # fmt: skip
        rows = rows[draw_table(page, grid, rows)[0] :]
        page.heading("Reading the sheet")
        page.note("Each board as it hangs, seen from the room: “along” from its left end, “up” from its lowest edge.")
        page.note("Holes and round notches: middle and diameter. A cut runs straight from the first point (from, from) to the second "
                  "(to, to).")  # fmt: skip
        page.note(f"An edge out of level or plumb by no more than {format_length(2 * LEAST_M, d.system)} is told as one straight cut along "
                  "its middle.")  # fmt: skip
        page.note("Measure niche, bench and pipe as they are built before you cut.", bold=True)
        sheets.append(page.finish())
    return tuple(sheets)
