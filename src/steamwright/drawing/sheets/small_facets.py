"""Benches, niches, curbs, jambs and other small facets, developed side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from steamwright.covering.model import Role
from steamwright.drawing.digest import Digest
from steamwright.drawing.dimension import Mark, Row, row_depth_mm, running
from steamwright.drawing.facet_view import View, draw_facet, draw_openings, draw_penetrations
from steamwright.drawing.frame import INCH_SCALES, METRIC_SCALES, Field, Page, continued, open_page, scale_note, shorten
from steamwright.drawing.lay_lines import LayLine
from steamwright.drawing.numbering import RANK_GAP_MM, Ring, number_round, number_sheets
from steamwright.drawing.pens import INK, SOFT
from steamwright.drawing.scene import Sheet
from steamwright.room.model import Facet
from steamwright.units import format_length

UP_MM = 6.0
DOWN_MM = 6.0
LEAST_WIDE_MM = 80.0
ABOVE_MM = 27.0
BELOW_MM = 15.0
NUMBER_MM = 5.6
AROUND_MM = 4.5
VALUE_MM = 4.0
COARSEST = 1 / 49
FINEST = 1 / 7
MIDDLING = 1000 / 16


@dataclass(frozen=True, slots=True)
class Cell:
    """A facet's place on a sheet: upper left corner and width. [mm]"""

    facet: Facet
    x_mm: float
    y_mm: float
    width_mm: float


def small_facets(d: Digest, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw the small facets on as few sheets as a readable scale allows.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    name : str
        File name of the first sheet without suffix.
    number : str
        What the title block shows.

    Returns
    -------
    sheets : tuple of Sheet
        Empty where the room has no such facets.

    References
    ----------
    own derivation
    """
    left: Sequence[Facet] = d.small_facets()
    sheets: list[Sheet] = []
    while left:
        page = open_page(d, *continued(name, number, len(sheets)), "Benches, niches, curbs, edges")
        k, label, cells = _arrange(d, page.field, left)
        for cell in cells:
            _draw(page, cell, k)
        drawn = {c.facet.id for c in cells}
        left = [x for x in left if x.id not in drawn]
        scale_note(page, k, label)
        page.heading("Reading the sheet")
        page.note("Every surface lies flat, as seen from the room. Full line: the edge that lies over. Dashed: covered. Hatched: lap. "
                  "In brackets: wholly covered. Rows of dimensions run from the surface's left edge.")  # fmt: skip
        sheets.append(page.finish())
    return tuple(sheets)


def _arrange(d: Digest, field: Field, facets: Sequence[Facet]) -> tuple[float, str, tuple[Cell, ...]]:
    """The largest scale at which all fit on one sheet; else as many as fit at a middling one."""
    scales = [s for s in (INCH_SCALES if d.system == "inch" else METRIC_SCALES) if COARSEST < s[0] < FINEST]
    tried = [(1000 * ratio, label, _shelves(d, field, facets, 1000 * ratio)) for ratio, label in scales]
    whole = [t for t in tried if len(t[2]) == len(facets) and all(_holds(d, field, f, t[0]) for f in facets)]
    if whole:
        return whole[0]
    holds = [t for t in tried if all(_holds(d, field, f, t[0]) for f in facets)]
    middling = [t for t in holds if t[0] <= MIDDLING]
    return max(middling or holds or tried[-1:], key=lambda t: (len(t[2]), t[0]))


def _size(d: Digest, facet: Facet, k: float) -> tuple[float, float]:
    """Width and height that a facet takes with its numbers and dimensions. [mm]"""
    s0, t0, s1, t1 = facet.polygon.bounds
    w = max((s1 - s0) * k + 2 * _side_mm(d, facet, k), LEAST_WIDE_MM)
    return w, (t1 - t0) * k + ABOVE_MM + BELOW_MM + row_depth_mm(_values(d, facet), w - 4.0, d.system, VALUE_MM)


def _holds(d: Digest, field: Field, facet: Facet, k: float) -> bool:
    w, h = _size(d, facet, k)
    return w <= field.width_mm and h <= field.height_mm


def _shelves(d: Digest, field: Field, facets: Sequence[Facet], k: float) -> tuple[Cell, ...]:
    """Facets from left to right in rows, tall ones first; as many as fit, but at least one."""
    order = sorted(facets, key=lambda f: -round((f.polygon.bounds[3] - f.polygon.bounds[1]) * k / 12.0))
    x, y, row_h = field.x0_mm, field.y0_mm, 0.0
    out: list[Cell] = []
    for facet in order:
        w, h = _size(d, facet, k)
        wrapped = x + w > field.x1_mm and x > field.x0_mm
        at_x, at_y = (field.x0_mm, y + row_h) if wrapped else (x, y)
        if out and (at_y + h > field.y1_mm + 1.0 or w > field.width_mm):
            continue
        out.append(Cell(facet, at_x, at_y, w))
        x, y, row_h = at_x + w, at_y, h if wrapped else max(row_h, h)
    return tuple(out)


def _side_mm(d: Digest, facet: Facet, k: float) -> float:
    """Room at either side for the numbers of narrow pieces, in as many ranks as they need. [mm]"""
    _, t0, _, t1 = facet.polygon.bounds
    one_side = (len(d.patches.get(facet.id, ())) + 1) // 2
    ranks = max(1, math.ceil(one_side * (AROUND_MM + RANK_GAP_MM) / ((t1 - t0) * k + UP_MM + DOWN_MM)))
    return float(12.0 + 18.0 * min(ranks, 3))


def _upright(d: Digest, facet: Facet) -> list[LayLine]:
    return [ln for ln in d.lay_lines(facet.id) if ln.upright]


def _values(d: Digest, facet: Facet) -> list[float]:
    s0, _, s1, _ = facet.polygon.bounds
    return [s1 - s0, *(ln.start_m[0] - s0 for ln in _upright(d, facet))]


def _draw(page: Page, cell: Cell, k: float) -> None:
    d, sketch, facet = page.digest, page.sketch, cell.facet
    s0, t0, s1, t1 = facet.polygon.bounds
    left = cell.x_mm + (cell.width_mm - k * (s1 - s0)) / 2
    view = View(left - k * s0, cell.y_mm + ABOVE_MM + k * t1, k)
    middle = cell.x_mm + cell.width_mm / 2
    bottom, right = view.at(s0, t0)[1], view.at(s1, t0)[0]
    sketch.write("labels", (middle, cell.y_mm + 5.0), shorten(d.names[facet.id], 4.5, cell.width_mm - 4.0, True), 4.5, "middle", INK, True)
    size = f"{format_length(s1 - s0, d.system)} × {format_length(t1 - t0, d.system)}"
    sketch.write("labels", (middle, cell.y_mm + 12.0), size, VALUE_MM, "middle", SOFT)
    draw_facet(sketch, d, facet, view)
    draw_penetrations(sketch, d, facet, view)
    draw_openings(sketch, d, facet, view)
    marks = [Mark(right, bottom, s1 - s0)]
    marks += [Mark(view.at(*ln.start_m)[0], view.at(*ln.start_m)[1], ln.start_m[0] - s0) for ln in _upright(d, facet)]
    row = Row(False, bottom + 13.0, 1, left, cell.x_mm + 2.0, cell.x_mm + cell.width_mm - 2.0, k, d.system, VALUE_MM)
    running(sketch, row, marks)
    hidden = number_sheets(sketch, d, facet, view, NUMBER_MM)
    narrow = hidden + tuple(i for i in d.lying(facet.id) if i.piece.role is not Role.SHEET)
    top = cell.y_mm + ABOVE_MM
    limits = (left - 3.0, top - UP_MM, right + 3.0, bottom + DOWN_MM)
    number_round(sketch, d, view, Ring(left, top, right, bottom, limits, AROUND_MM), narrow)
