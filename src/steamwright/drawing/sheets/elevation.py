"""A wall, column or ceiling facet as a person in the room sees it, with everything that is snapped and set on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from steamwright.covering.model import Role
from steamwright.drawing.control import Control, control_lines
from steamwright.drawing.digest import STANDING, Digest, Lying
from steamwright.drawing.dimension import Mark, Row, row_depth_mm, running
from steamwright.drawing.facet_view import View, draw_facet, draw_keep_out, draw_openings, draw_penetrations, name_penetrations, rings
from steamwright.drawing.frame import COLUMN_MM, Page, choose_scale, continued, open_page, scale_note
from steamwright.drawing.keep_out import SCREWED_LATER
from steamwright.drawing.labels import upright_box
from steamwright.drawing.numbering import NUMBER_MM, RANK_GAP_MM, Ring, number_round, number_sheets
from steamwright.drawing.pens import TEAL
from steamwright.drawing.scene import Sheet, Text
from steamwright.drawing.sheets.orientation import orientation
from steamwright.drawing.text import wrap
from steamwright.room.model import Facet
from steamwright.units import format_length

SIDE_MM = 46.0
RING_WIDE_MM = 38.0
RING_TALL_MM = 16.0
RANK_MM = 30.0
OVER_MM = 45.0
FOOT_MM = 15.0
UP_MM, UP_TALL_MM = 20.0, 20.5
"""Width and height of the arrow that says where up is, at the upper left."""
INNER_M = 0.04
MERGE_M = 3e-3
"""Edges nearer to one another are dimensioned as one. Common practice, no source."""


def elevation(d: Digest, facet: Facet, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw the sheet of one facet, or two where one would be crowded: the second numbers bands, corner pieces and collars.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        The facet.
    name : str
        File name without suffix.
    number : str
        What the title block shows.

    Returns
    -------
    sheets : tuple of Sheet
        Control lines, lay lines dimensioned from them at top and bottom, pieces with numbers, laps, pipes, screws.

    References
    ----------
    own derivation
    """
    title = d.names[facet.id][:1].upper() + d.names[facet.id][1:]
    seen = ", seen from inside" if facet.kind in STANDING else ", seen looking up"
    page, lying = open_page(d, name, number, title + seen), d.lying(facet.id)
    sheets = tuple(x for x in lying if x.piece.role is Role.SHEET)
    if _ranks(facet, _fit(page, facet, _rows(page, facet, control_lines(d, facet)))[0], lying) == 1 or len(sheets) == len(lying):
        return (_measured(page, facet, lying),)
    rest = tuple(x for x in lying if x.piece.role is not Role.SHEET)
    second = open_page(d, *continued(name, number, 1), f"{title}{seen}: over the seams")
    return _measured(page, facet, sheets), _numbered(second, facet, rest)


def _measured(page: Page, facet: Facet, lying: Sequence[Lying]) -> Sheet:
    """The facet with all dimensions and the numbers of some of what lies on it."""
    d, f, control = page.digest, page.field, control_lines(page.digest, facet)
    rows = _rows(page, facet, control)
    view, label = _fit(page, facet, rows)
    lack = f.y0_mm + UP_TALL_MM - (view.at(0.0, facet.polygon.bounds[3])[1] - RING_TALL_MM - rows.top_mm)
    if lack > 0.0:  # clear of the arrow that says where up is: lower down, or beside it if the scale would suffer
        aside = _rows(page, facet, control, UP_MM)
        lower = replace(rows, top_mm=rows.top_mm + 2 * lack)
        rows = max((lower, aside), key=lambda r: _fit(page, facet, r)[0].scale_mm_per_m)
        view, label = _fit(page, facet, rows)
    if (ranks := _ranks(facet, view, lying)) > 1:
        rows = replace(rows, ring_mm=RING_WIDE_MM + RANK_MM * (ranks - 1))
        view, label = _fit(page, facet, rows)
    draw_facet(page.sketch, d, facet, view)
    draw_keep_out(page.sketch, d, facet, view)
    scale_note(page, view.scale_mm_per_m, label)
    _level_rows(page, facet, view, control, rows)
    draw_penetrations(page.sketch, d, facet, view)
    _draw_control(page, facet, view, control)
    draw_openings(page.sketch, d, facet, view)
    covered = number_sheets(page.sketch, d, facet, view)
    narrow = covered + tuple(x for x in lying if x.piece.role is not Role.SHEET)
    reach = number_round(page.sketch, d, view, _ring(page, facet, view, lying, SIDE_MM), narrow)
    _upright_rows(page, facet, view, control, (max(rows.ring_mm, reach[0] + 2.0), max(rows.ring_mm, reach[1] + 2.0)))
    _keep_off(page, facet, view, lying)
    name_penetrations(page.sketch, d, facet, view, upright_box(f.x0_mm, f.y0_mm, f.x1_mm, f.y1_mm))
    orientation(page, facet)
    _column(page, facet, control, lying)
    return page.finish()


def _keep_off(page: Page, facet: Facet, view: View, lying: Sequence[Lying]) -> None:
    """Names of pipes stand clear of niches, openings, and what goes over corners and pipes, where they can."""
    shapes = [facet.polygon, *(x.polygon for x in lying if x.piece.role in (Role.CORNER_PIECE, Role.COLLAR))]
    for ring in (ring for shape in shapes for ring in rings(view, shape)):
        page.sketch.placer.keep_off(*ring, ring[0])


def _numbered(page: Page, facet: Facet, lying: Sequence[Lying]) -> Sheet:
    """The facet without dimensions, as large as that allows, with the numbers of some of what lies on it."""
    d = page.digest
    view, label = _fit(page, facet, Rows(0.0, 0.0, 0.0, RING_WIDE_MM), 0.0)
    draw_facet(page.sketch, d, facet, view)
    scale_note(page, view.scale_mm_per_m, label)
    draw_penetrations(page.sketch, d, facet, view)
    draw_openings(page.sketch, d, facet, view)
    number_round(page.sketch, d, view, _ring(page, facet, view, lying, 0.0), tuple(lying))
    orientation(page, facet)
    page.heading("Reading the sheet")
    page.note("The sheet before shows where sheets lie; this one numbers what goes over their seams. In brackets: wholly covered.")
    _setting_order(page, facet, lying)
    return page.finish()


@dataclass(frozen=True, slots=True)
class Rows:
    """Depth of the level rows of dimensions over and under the facet and of pipe centres, width of the ring at its sides, and what
    the arrow that says where up is takes of the upper row. [mm]"""

    top_mm: float
    bottom_mm: float
    pipes_mm: float
    ring_mm: float
    up_mm: float = 0.0


def _rows(page: Page, facet: Facet, c: Control, up_mm: float = 0.0) -> Rows:
    d, f = page.digest, page.field
    s0, _, s1, _ = facet.polygon.bounds
    upright = [ln for ln in d.lay_lines(facet.id) if ln.upright]
    room = f.width_mm - 4.0
    sides = [s0 - c.plumb_s_m, s1 - c.plumb_s_m]
    broken = [*sides, *(s - c.plumb_s_m for (s, _), level in _breaks(facet) if not level)]
    pipes = [p.center_m[0] - c.plumb_s_m for p in d.penetrations.get(facet.id, ())]
    return Rows(
        row_depth_mm(_apart([*sides, *(ln.end_m[0] - c.plumb_s_m for ln in upright)]), room - up_mm, d.system, signed=True),
        row_depth_mm(_apart([*broken, *(ln.start_m[0] - c.plumb_s_m for ln in upright)]), room, d.system, signed=True),
        row_depth_mm(pipes, room, d.system, signed=True),
        RING_WIDE_MM,
        up_mm,
    )


def _ranks(facet: Facet, view: View, lying: Sequence[Lying]) -> int:
    """In how many ranks the numbers of narrow pieces stand at one side."""
    narrow = {x.piece.id for x in lying if x.piece.role is not Role.SHEET or x.polygon.area < 0.15 * facet.area_m2}
    _, t0, _, t1 = facet.polygon.bounds
    tall, one_side = (t1 - t0) * view.scale_mm_per_m, 0.6 * len(narrow)
    if one_side * (NUMBER_MM + RANK_GAP_MM) <= tall:
        return 1
    return 2 if one_side * 0.7 * (NUMBER_MM + RANK_GAP_MM) > tall + 2 * OVER_MM else 1


def _fit(page: Page, facet: Facet, rows: Rows, side_mm: float = SIDE_MM) -> tuple[View, str]:
    """Scale and place of the facet in the middle of the field, with room for the rows of dimensions."""
    f = page.field
    s0, t0, s1, t1 = facet.polygon.bounds
    wide = rows.ring_mm
    top, bottom = rows.top_mm + RING_TALL_MM, rows.bottom_mm + rows.pipes_mm + RING_TALL_MM + FOOT_MM
    k, label = choose_scale(page.digest, s1 - s0, t1 - t0, f.width_mm - 2 * (side_mm + wide), f.height_mm - top - bottom)
    x = (f.x0_mm + f.x1_mm) / 2 - k * (s0 + s1) / 2
    y = (f.y0_mm + top + f.y1_mm - bottom) / 2 + k * (t0 + t1) / 2
    return View(x, y, k), label


def _ring(page: Page, facet: Facet, view: View, lying: Sequence[Lying], side_mm: float) -> Ring:
    s0, t0, s1, t1 = facet.polygon.bounds
    (x0, y1), (x1, y0) = view.at(s0, t0), view.at(s1, t1)
    f, needed = page.field, _ranks(facet, view, lying) * (y1 - y0) + 3.0
    narrow = [x for x in lying if x.piece.role is not Role.SHEET]
    low, high = y0 - 1.5, y1 + 1.5
    if len(narrow) * 0.6 * (NUMBER_MM + RANK_GAP_MM) > needed:
        low, high = _free_column(page, (x0, x1), low, -1.0, f.y0_mm + 24.0), _free_column(page, (x0, x1), high, 1.0, f.y1_mm - FOOT_MM)
    return Ring(x0, y0, x1, y1, (f.x0_mm + side_mm, low, f.x1_mm - side_mm, high))


def _free_column(page: Page, sides_mm: tuple[float, float], from_mm: float, way: float, end_mm: float) -> float:
    """How far beside a facet the strips for numbers can go on past its upper or lower end."""
    at = from_mm
    for _ in range(int(OVER_MM / 5.0)):
        y = at + 5.0 * way
        top, bottom = min(at, y), max(at, y)
        left, right = sides_mm
        boxes = (
            upright_box(left - RING_WIDE_MM + 2.0, top, left - 5.0, bottom),
            upright_box(right + 5.0, top, right + RING_WIDE_MM - 2.0, bottom),
        )
        if (y - end_mm) * way > 0 or not all(page.sketch.placer.is_free(b) for b in boxes):
            break
        at = y
    return at


def _draw_control(page: Page, facet: Facet, view: View, c: Control) -> None:
    s0, t0, s1, t1 = facet.polygon.bounds
    sketch = page.sketch
    (x, y_low), (_, y_high) = view.at(c.plumb_s_m, t0), view.at(c.plumb_s_m, t1)
    (x_left, y), (x_right, _) = view.at(s0, c.level_t_m), view.at(s1, c.level_t_m)
    sketch.line("control", (x, y_low + RING_TALL_MM), (x, y_high - RING_TALL_MM), "control")
    words = ("plumb", "level") if facet.kind in STANDING else ("line 1", "line 2")
    along = [y_high + a * (y_low - y_high) for a in (0.3, 0.2, 0.7, 0.8, 0.6, 0.4, 0.12)]
    across = [x_left + a * (x_right - x_left) for a in (0.7, 0.8, 0.6, 0.88, 0.5, 0.4, 0.3, 0.2)]
    upright = [Text((x + k, at), words[0], 4.0, "middle", TEAL, turn_deg=90.0) for k in (-1.6, 5.6) for at in along]
    level = [Text((at, y + k), words[1], 4.0, "middle", TEAL) for k in (-1.6, 5.6) for at in across]
    for candidates in (upright, level):
        placed = sketch.placer.put(candidates, 0.6, upright_box(x_left, y_high, x_right, y_low))
        if placed:
            sketch.put("labels", placed)


def _level_rows(page: Page, facet: Facet, view: View, c: Control, rows: Rows) -> None:
    """Distances from the plumb line: edges over the facet and under it, and below those the centres of pipes."""
    d, f, k = page.digest, page.field, view.scale_mm_per_m
    _, t0, _, t1 = facet.polygon.bounds
    bottom, top = view.at(0.0, t0)[1], view.at(0.0, t1)[1]
    upright = [ln for ln in d.lay_lines(facet.id) if ln.upright]
    x_plumb = view.at(c.plumb_s_m, 0.0)[0]
    for line_mm, side, marks in (
        (top - RING_TALL_MM, -1, [_across(view, c, ln.end_m, "extension") for ln in upright] + _corners(facet, view, c, True)),
        (bottom + RING_TALL_MM, 1, [_across(view, c, ln.start_m, "extension") for ln in upright] + _corners(facet, view, c, False)
         + [_across(view, c, at, "extension") for at, level in _breaks(facet) if not level]),
        (bottom + RING_TALL_MM + rows.bottom_mm, 1, [_across(view, c, p.center_m, "center") for p in d.penetrations.get(facet.id, ())]),
    ):
        low = f.x0_mm + 2.0 + (rows.up_mm if side < 0 else 0.0)
        running(page.sketch, Row(False, line_mm, side, x_plumb, low, f.x1_mm - 2.0, k, d.system, signed=True), merged(marks))


def _upright_rows(page: Page, facet: Facet, view: View, c: Control, reach_mm: tuple[float, float]) -> None:
    """Distances from the level line, beyond the numbers at the left and right, and the level line itself."""
    d, k = page.digest, view.scale_mm_per_m
    s0, t0, s1, t1 = facet.polygon.bounds
    (left, bottom), (right, top) = view.at(s0, t0), view.at(s1, t1)
    y = view.at(0.0, c.level_t_m)[1]
    level = [ln for ln in d.lay_lines(facet.id) if not ln.upright]
    lefts = [_up(view, c, ln.start_m) for ln in level] + [_up(view, c, (s0, t)) for t in _edge_heights(facet, s0)]
    rights = [_up(view, c, ln.end_m) for ln in level] + [_up(view, c, (s1, t)) for t in _edge_heights(facet, s1)]
    rights += [_up(view, c, p.center_m, "center") for p in d.penetrations.get(facet.id, ())]
    rights += [_up(view, c, at) for at, level in _breaks(facet) if level]
    running(page.sketch, Row(True, left - reach_mm[0], -1, y, top, bottom, k, d.system, signed=True), merged(lefts))
    running(page.sketch, Row(True, right + reach_mm[1], 1, y, top, bottom, k, d.system, signed=True), merged(rights))
    page.sketch.line("control", (left - reach_mm[0], y), (right + reach_mm[1], y), "control")


def merged(marks: Sequence[Mark]) -> list[Mark]:
    """Leave out what nobody could mark beside another on a wall; centres of pipes stay.

    Parameters
    ----------
    marks : sequence of Mark
        The marks of one row.

    Returns
    -------
    marks : list of Mark
        Of those nearer than 3 mm to one another one alone.

    References
    ----------
    own derivation
    """
    kept: list[Mark] = []
    for m in sorted(marks, key=lambda m: (m.pen != "center", m.value_m)):
        if m.pen == "center" or all(abs(m.value_m - o.value_m) >= MERGE_M or o.pen == "center" for o in kept):
            kept.append(m)
    return kept


def _apart(values_m: Sequence[float]) -> list[float]:
    return [m.value_m for m in merged([Mark(0.0, 0.0, v) for v in values_m])]


def _across(view: View, c: Control, point: tuple[float, float], pen: str) -> Mark:
    x, y = view.at(*point)
    return Mark(x, y, point[0] - c.plumb_s_m, pen)


def _up(view: View, c: Control, point: tuple[float, float], pen: str = "extension") -> Mark:
    x, y = view.at(*point)
    return Mark(y, x, point[1] - c.level_t_m, pen)


def _corners(facet: Facet, view: View, c: Control, at_top: bool) -> list[Mark]:
    """The two ends of the facet's upper or lower side."""
    points = np.array(facet.outline_m)
    s0, _, s1, _ = facet.polygon.bounds
    out = []
    for s in (s0, s1):
        near = points[np.abs(points[:, 0] - s) < 0.02 + 0.02 * (s1 - s0)]
        pick = near[np.argmax(near[:, 1]) if at_top else np.argmin(near[:, 1])]
        out.append(_across(view, c, (float(pick[0]), float(pick[1])), "extension"))
    return out


def _breaks(facet: Facet) -> list[tuple[tuple[float, float], bool]]:
    """Edges of niches and openings in the facet: the end from which each is dimensioned, and whether it lies level."""
    s0, t0, s1, t1 = facet.polygon.bounds
    out = []
    for ring in (facet.outline_m, *facet.holes_m):
        for (sa, ta), (sb, tb) in zip(ring, ring[1:] + ring[:1], strict=True):
            if abs(sb - sa) < 0.02 * abs(tb - ta) and min(sa - s0, s1 - sa) > INNER_M:
                out.append(((sa, min(ta, tb)), False))
            elif abs(tb - ta) < 0.02 * abs(sb - sa) and min(ta - t0, t1 - ta) > INNER_M:
                out.append(((max(sa, sb), ta), True))
    return out


def _edge_heights(facet: Facet, s: float) -> list[float]:
    """Where the facet's left or right side begins and ends."""
    s0, _, s1, _ = facet.polygon.bounds
    near = [t for x, t in facet.outline_m if abs(x - s) < 0.02 + 0.02 * (s1 - s0)]
    return [min(near), max(near)] if near else []


def _column(page: Page, facet: Facet, c: Control, lying: Sequence[Lying]) -> None:
    d = page.digest
    page.heading("Control lines")
    if facet.kind in STANDING:
        page.note(f"Plumb: {format_length(c.plumb_from_corner_m, d.system)} from the lower left corner, then straight up.")
        page.note(f"Level: {format_length(c.level_height_m, d.system)} above 0: the bare floor under the pan, at the mean of its readings "
                  "from the level line. An arrow before a length: over, under or left of these lines.")
    else:
        page.note(f"Line 1: {format_length(c.plumb_from_corner_m, d.system)} from the {c.corner} left corner of this drawing.")
        page.note(f"Line 2: square to it, {format_length(c.level_height_m, d.system)} up this sheet from its lowest edge. "
                  "An arrow before a length: over or under this line, or left of line 1.")
    page.heading("Reading the sheet")
    same = all(p.place_no == int("".join(ch for ch in d.marks[p.id] if ch.isdigit()) or -1) for p in d.pieces.values())
    page.note(("The number of a piece is its place in the setting order. " if same else "") +
              "S sheet, B band, K corner piece, C collar. Full line: the edge that lies over. Dashed: the edge that is covered. "
              "Hatched: lap. In brackets: wholly covered. All lengths on the membrane face.")  # fmt: skip
    over = "" if facet.kind not in STANDING else f" and below {'1 in' if d.system == 'inch' else '25 mm'} over the flood line"
    page.note(f"Dotted: drive no screw there later, round pipes{over}.")
    if any(p.kind in SCREWED_LATER for p in d.penetrations.get(facet.id, ())):
        page.note("Diagonal crosses: screws that come later, planned and sealed.", bold=True)
    _setting_order(page, facet, lying)


def _setting_order(page: Page, facet: Facet, lying: Sequence[Lying]) -> None:
    """Pieces on the facet in the order in which they are set; corner pieces in one paragraph where rows get many."""
    d = page.digest
    page.heading("Set in this order")
    order = sorted({x.piece.id: x.piece for x in lying}.values(), key=lambda p: (p.place_no, p.id))
    crowded = page.room_mm() < len(order) * 5.6 + 4.0
    listed = [p for p in order if not (crowded and p.role is Role.CORNER_PIECE)]
    last = [d.marks[p.id] for p in order if p not in listed]
    foot = page.foot_mm
    page.foot_mm -= 8.0 + 4.4 * (1 + len(last) // 7) if last else 0.0
    height = 3.0 if page.room_mm() > len(listed) * 5.6 + 4.0 else 2.5
    rows = [row for p in listed for row in _rows_of(d, facet, p.id, height)]
    written = page.table(rows, (0.0, 13.0, 21.0, 41.0), height, bold_first=True)
    page.foot_mm = foot
    rest = [r[0] for r in rows[written:] if r[0]] + last
    if rest:
        page.note("then " + ", ".join(rest), 2.5)


def _rows_of(d: Digest, facet: Facet, piece_id: str, height_mm: float) -> list[tuple[str, ...]]:
    """A piece's row, and what it lies over in further ones where that is long."""
    *what, over = _row(d, facet, piece_id)
    lines = wrap(over, height_mm, COLUMN_MM - 41.0)
    return [(*(what if n == 0 else ("", "", "")), line) for n, line in enumerate(lines)]


def _row(d: Digest, facet: Facet, piece_id: str) -> tuple[str, ...]:
    piece = d.pieces[piece_id]
    what = piece.role.value.removesuffix("_piece")
    here = [d.mark_on(d.pieces[o], facet.id) for o in piece.over if o in d.pieces and any(p.facet == facet.id for p in d.pieces[o].patches)]
    over = "over " + " ".join(here) if here else ""
    return (d.mark_on(piece, facet.id), f"{piece.place_no}", what, over)
