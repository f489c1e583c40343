"""Framing and blocking before the boards go up; boards and every screw after: facets side by side, measured on the framing face."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from steamwright.covering.boards.model import Board, Fastener, Support
from steamwright.drawing.digest import Digest, board_mark
from steamwright.drawing.dimension import Mark, Row, row_depth_mm, running
from steamwright.drawing.facet_view import View, parts, rings
from steamwright.drawing.frame import INCH_SCALES, METRIC_SCALES, Page, continued, open_page, scale_note, shorten
from steamwright.drawing.labels import around, padded, upright_box
from steamwright.drawing.pens import BAND, CORNER, INK, PAPER, SHEET_A, SHEET_B, SOFT, WASH
from steamwright.drawing.scene import Sheet, Text
from steamwright.drawing.sheets.cut_outs import cut_out_sheets
from steamwright.drawing.text import text_box
from steamwright.room.model import Facet, FacetKind
from steamwright.units import format_length

LOOK: dict[str, tuple[str, str | None]] = {"blocking": (PAPER, "lap"), "plate": (WASH, None), "ledger": (BAND, None),
                                           "backing": (CORNER, None),
                                           "frame": (SHEET_B, None), "stud": (SHEET_A, None), "joist": (SHEET_A, None)}  # fmt: skip
LEFT_MM, ABOVE_MM, BELOW_MM, GAP_MM = 30.0, 16.0, 8.0, 6.0
LEAST_WIDE_MM = 62.0
VALUE_MM = 3.5
FINEST, COARSEST = 1 / 7, 1 / 49
EDGE_M = 0.04
SMALL_M = 0.62
LARGE_RATIO, SMALL_RATIO = 1 / 16, 1 / 8


@dataclass(frozen=True, slots=True)
class Cell:
    """A facet's place on a sheet: upper left corner, width and depth of its lower row of dimensions. [mm]"""

    facet: Facet
    x_mm: float
    y_mm: float
    width_mm: float
    row_mm: float


def framing_sheets(d: Digest, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw the framing and blocking of every framed facet.

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
        Empty where nothing is framed.

    References
    ----------
    own derivation
    """
    return _sheets(d, name, number, "Framing and blocking, before the boards", False)


def drilling_sheets(d: Digest, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw boards and screws of every facet.

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
        Empty where there are no boards; the list of what is cut out of them comes last.

    References
    ----------
    own derivation
    """
    drawn = _sheets(d, name, number, "Boards and screws", True)
    return (*drawn, *cut_out_sheets(d, name, number, len(drawn)))


def _sheets(d: Digest, name: str, number: str, title: str, drilling: bool) -> tuple[Sheet, ...]:
    boards = d.plan.boards
    used = {b.facet for b in boards.pieces} if drilling else {s.facet for s in boards.supports}
    facets = [f for f in d.plan.framing.facets if f.id in used]
    sheets: list[Sheet] = []
    for large in (True, False):
        left = [f for f in facets if _is_large(f) is large]
        scales = [s for s in (INCH_SCALES if d.system == "inch" else METRIC_SCALES) if COARSEST < s[0] < FINEST]
        while left:
            page = open_page(d, *continued(name, number, len(sheets)), title)
            usual = [s for s in scales if s[0] <= (LARGE_RATIO if large else SMALL_RATIO) + 1e-9]
            ratio, label = next((s for s in usual if all(_holds(page, f, 1000 * s[0], drilling) for f in left)), scales[-1])
            cells = _shelves(page, left, 1000 * ratio, drilling)
            for cell in cells:
                _draw(page, cell, 1000 * ratio, drilling)
            shown = [c.facet for c in cells]
            left = [f for f in left if f not in shown]
            scale_note(page, 1000 * ratio, label)
            (_drilling_column if drilling else _framing_column)(page, shown)
            sheets.append(page.finish())
    return tuple(sheets)


def _shape(d: Digest, facet: Facet, drilling: bool) -> shapely.Polygon:
    """What is drawn of a facet: its boards' face, or its framing down to the slab. [m]"""
    return facet.polygon if drilling else d.plan.boards.standing.get(facet.id, facet.polygon)


def _is_large(facet: Facet) -> bool:
    s0, t0, s1, t1 = facet.polygon.bounds
    return bool(min(s1 - s0, t1 - t0) > SMALL_M)


def _size(page: Page, facet: Facet, k: float, drilling: bool) -> tuple[float, float, float]:
    """Width and height of a facet with its dimensions, and the depth of its lower row. [mm]"""
    s0, t0, s1, t1 = _shape(page.digest, facet, drilling).bounds
    w = max((s1 - s0) * k + 2 * LEFT_MM, LEAST_WIDE_MM)
    depth = row_depth_mm([x for x, _ in _across(page.digest, facet, drilling)], w - 4.0, page.digest.system, VALUE_MM)
    return w, (t1 - t0) * k + ABOVE_MM + BELOW_MM + depth + GAP_MM, depth


def _holds(page: Page, facet: Facet, k: float, drilling: bool) -> bool:
    w, h, _ = _size(page, facet, k, drilling)
    return w <= page.field.width_mm and h <= page.field.height_mm


def _shelves(page: Page, facets: Sequence[Facet], k: float, drilling: bool) -> tuple[Cell, ...]:
    """Facets from left to right in rows; as many as fit, but at least one."""
    f = page.field
    x, y, tall = f.x0_mm, f.y0_mm, 0.0
    out: list[Cell] = []
    for facet in facets:
        w, h, depth = _size(page, facet, k, drilling)
        wrapped = x + w > f.x1_mm + 0.1 and x > f.x0_mm
        at_x, at_y = (f.x0_mm, y + tall) if wrapped else (x, y)
        if out and (at_y + h > f.y1_mm + 1.0 or at_x + w > f.x1_mm + 0.1):
            continue
        out.append(Cell(facet, at_x, at_y, w, depth))
        x, y, tall = at_x + w, at_y, h if wrapped else max(tall, h)
    return tuple(out)


def _draw(page: Page, cell: Cell, k: float, drilling: bool) -> None:
    d, sketch, facet = page.digest, page.sketch, cell.facet
    shape = _shape(d, facet, drilling)
    s0, t0, s1, t1 = shape.bounds
    left = cell.x_mm + (cell.width_mm - k * (s1 - s0)) / 2
    view = View(left - k * s0, cell.y_mm + ABOVE_MM + k * t1, k)
    name = d.names.get(facet.id, facet.name)
    title = shorten(name, 4.5, cell.width_mm - 4.0, True)
    sketch.write("labels", (cell.x_mm + cell.width_mm / 2, cell.y_mm + 5.5), title, 4.5, "middle", INK, True)
    size = f"{format_length(s1 - s0, d.system)} × {format_length(t1 - t0, d.system)}"
    sketch.write("labels", (cell.x_mm + cell.width_mm / 2, cell.y_mm + 11.5), size, VALUE_MM, "middle", SOFT)
    if drilling:
        _boards(page, facet, view)
    else:
        for support in sorted(_of(d, facet), key=lambda s: list(LOOK).index(s.kind)):
            _support(page, facet, view, support)
    sketch.area("outline", rings(view, shape), "outline")
    for line in parts(shapely.difference(facet.polygon.boundary, shapely.buffer(shape.boundary, 2e-3)), "LineString"):
        sketch.path("outline", view.ring(line.coords), "hidden")
    _pipes(page, facet, view)
    bottom = view.at(s0, t0)[1]
    row = Row(False, bottom + BELOW_MM, 1, left, cell.x_mm + 2.0, cell.x_mm + cell.width_mm - 2.0, k, d.system, VALUE_MM)
    running(sketch, row, [Mark(view.at(x, t)[0], view.at(x, t)[1], x - s0) for x, t in _across(d, facet, drilling)])
    up = Row(True, left - 7.0, -1, bottom, view.at(s0, t1)[1] - 3.0, bottom + 3.0, k, d.system, VALUE_MM)
    running(sketch, up, [Mark(view.at(s, y)[1], left, y - t0) for y, s in _up(d, facet, drilling)])


def _of(d: Digest, facet: Facet) -> list[Support]:
    return [s for s in d.plan.boards.supports if s.facet == facet.id]


def _ends(facet: Facet, s: Support) -> tuple[tuple[float, float], tuple[float, float]]:
    (a, b), (c, e) = facet.frame.drop([s.start_m, s.end_m]).tolist()
    return (a, b), (c, e)


def _across(d: Digest, facet: Facet, drilling: bool) -> list[tuple[float, float]]:
    """What is measured from the left edge of a facet, and how high it stands: middles of upright supports and pipes, or butts."""
    return _measured(d, facet, drilling, 0)


def _up(d: Digest, facet: Facet, drilling: bool) -> list[tuple[float, float]]:
    """What is measured from the lowest edge of a facet, and where it begins: middles of level supports and pipes, or butts."""
    return _measured(d, facet, drilling, 1)


def _measured(d: Digest, facet: Facet, drilling: bool, axis: int) -> list[tuple[float, float]]:
    bounds = _shape(d, facet, drilling).bounds
    low, high, foot = bounds[axis], bounds[axis + 2], bounds[1 - axis]
    found = [(high, foot)]
    if drilling:
        for b in d.plan.boards.of(facet.id):
            box = b.patch.polygon.bounds
            found += [(box[axis + 2], max(foot, box[1 - axis]))]
    else:
        for s in _of(d, facet):
            p, q = _ends(facet, s)
            if abs(p[axis] - q[axis]) < 0.02 * abs(p[1 - axis] - q[1 - axis]):
                found.append(((p[axis] + q[axis]) / 2, max(foot, min(p[1 - axis], q[1 - axis]))))
        found += [(p.center_m[axis], p.center_m[1 - axis]) for p in d.plan.framing.penetrations if p.facet == facet.id]
    inner = {round(x, 3): (x, y) for x, y in sorted(found[1:])}.values()
    return [found[0], *((x, y) for x, y in inner if low + EDGE_M < x < high - EDGE_M)]


def _support(page: Page, facet: Facet, view: View, support: Support) -> None:
    p, q = _ends(facet, support)
    length = math.dist(p, q)
    n = (-(q[1] - p[1]) / length * support.bearing_m / 2, (q[0] - p[0]) / length * support.bearing_m / 2)
    corners = [(p[0] + n[0], p[1] + n[1]), (q[0] + n[0], q[1] + n[1]), (q[0] - n[0], q[1] - n[1]), (p[0] - n[0], p[1] - n[1])]
    shape = shapely.intersection(shapely.Polygon(corners), _shape(page.digest, facet, False))
    fill, hatch = LOOK[support.kind]
    for part in parts(shape, "Polygon"):
        page.sketch.area("pieces", rings(view, part), "thin", fill, hatch)


def _boards(page: Page, facet: Facet, view: View) -> None:
    """Boards with their numbers, and the screws on them."""
    sketch, d = page.sketch, page.digest
    boards = d.plan.boards.of(facet.id)
    for n, b in enumerate(boards):
        sketch.area("pieces", rings(view, b.patch.polygon), "edge", SHEET_B if n % 2 else SHEET_A)
    for f in _screws(d, [facet]):
        x, y = view.at(*f.at_m)
        if f.type.endswith("washer"):
            sketch.circle("marks", (x, y), 1.1, "thin", PAPER)
        sketch.circle("marks", (x, y), 0.45, None, INK)
        sketch.placer.take(upright_box(x - 0.6, y - 0.6, x + 0.6, y + 0.6))
    for b in boards:
        _number(page, b, view)


def _number(page: Page, board: Board, view: View) -> None:
    """A board's number where it has room, larger on larger boards."""
    shape = board.patch.polygon
    c = shape.centroid if shape.contains(shape.centroid) else shape.representative_point()
    x, y = view.at(c.x, c.y)
    content = board_mark(board)
    for h in (6.0, 4.5, 3.5, 2.5):
        places = [(x + i * h * 0.7, y + h / 2 + j * h * 0.7) for j in (0, 1, -1, 2, -2, 3, -3, 4, -4) for i in (0, 1, -1, 2, -2, 3, -3)]
        inside = shapely.box(*shape.bounds)
        texts = (Text(p, content, h, "middle", INK, True) for p in places)
        placed = page.sketch.placer.put((t for t in texts if _fits(t, inside, view)), 0.5)
        if placed:
            page.sketch.plate("labels", placed, 0.5, PAPER)
            return
    placed = page.sketch.placer.put(around(x, y, content, 2.5, 3.0, bold=True), 0.5)
    if placed:
        page.sketch.plate("labels", placed, 0.5, PAPER)


def _fits(text: Text, shape: shapely.Polygon, view: View) -> bool:
    x0, y0, x1, y1 = padded(text_box(text), 0.6).bounds()
    s0, t0, s1, t1 = shape.bounds
    (left, low), (right, high) = view.at(s0, t0), view.at(s1, t1)
    return bool(x0 >= left and x1 <= right and y0 >= high and y1 <= low)


def _pipes(page: Page, facet: Facet, view: View) -> None:
    for p in page.digest.plan.framing.penetrations:
        if p.facet == facet.id:
            x, y = view.at(*p.center_m)
            r = max(0.8, p.diameter_m / 2 * view.scale_mm_per_m)
            page.sketch.circle("marks", (x, y), r, "edge", PAPER)
            for dx, dy in ((r + 1.6, 0.0), (0.0, r + 1.6)):
                page.sketch.line("marks", (x - dx, y - dy), (x + dx, y + dy), "center")


def _screws(d: Digest, facets: Sequence[Facet]) -> list[Fastener]:
    ids = {f.id for f in facets}
    return [f for f in d.plan.boards.fasteners if f.facet in ids]


def _framing_column(page: Page, facets: Sequence[Facet]) -> None:
    d = page.digest
    page.heading("Reading the sheet")
    page.note("Each surface as it is seen from the room, on the face of the framing. Every value runs from its left or "
              "lowest edge to the"
              " middle of a member, a pipe or a light.")  # fmt: skip
    standing = [(f, d.plan.boards.standing[f.id]) for f in facets if f.id in d.plan.boards.standing]
    if standing:
        page.note("Plates lie on the slab, and studs run down to them" + (
            ": also behind the bed of the pan, benches, curbs and half walls. Dashed: where the boards end."
            if any(shape.area > f.polygon.area + 1e-4 for f, shape in standing) else "."))  # fmt: skip
    page.heading("Members on this sheet")
    ids = {f.id for f in facets}
    counts = Counter(s.kind for s in d.plan.boards.supports if s.facet in ids)
    for kind in (k for k in reversed(LOOK) if counts[k]):
        fill, hatch = LOOK[kind]
        page.cursor_mm += 6.0
        y = page.cursor_mm - 3.2
        ring = ((page.column_x_mm, y), (page.column_x_mm + 9.0, y), (page.column_x_mm + 9.0, y + 3.6), (page.column_x_mm, y + 3.6))
        page.sketch.area("frame", (ring,), "thin", fill, hatch)
        page.sketch.write("frame", (page.column_x_mm + 12.0, page.cursor_mm), f"{kind}: {counts[kind]}", 3.0)
    page.cursor_mm += 2.0
    page.heading("Before the boards")
    page.note("Framing dry, plumb and flat, and stiff enough: at most a 360th of its span under tile. Blocking stands flush with "
              "the studs.")
    page.note("Set blocking for door, glass, bars and seats now: nothing can be added once the membrane is on.")


def _drilling_column(page: Page, facets: Sequence[Facet]) -> None:
    d = page.digest
    page.heading("Reading the sheet")
    page.note("P: number of a board, as it stands on its back. Dots: screws" +
              ("; with a ring: with a washer. " if any(f.type.endswith("washer") for f in _screws(d, facets)) else ". ") +
              "Values run from the surface's left or lowest edge to the far edge of a board. Boards keep 1/8 in apart and 1/4 in "
              "over the pan. Notches and holes: list after these sheets.")
    page.heading("Screws on this sheet")
    for (kind, length), count in sorted(Counter((f.type, f.length_m) for f in _screws(d, facets)).items()):
        page.note(f"{count} × {kind}, {format_length(length, d.system)}")
    page.note("Heads flush, corrosion-resistant. 3/8 to 5/8 in from edges, 2 in from corners; none in a joint, at a pipe, or lower than"
              " 1 in over the flood line of a pan liner.")  # fmt: skip
    if d.plan.pan.membrane == "liner" and any(f.kind in (FacetKind.CURB_TOP, FacetKind.CURB_FACE) for f in facets):
        page.note("Where the liner is wrapped over the curb, leave out every screw of the curb: bed its boards in mortar over lath, or "
                  "each screw is a hole in the liner.", bold=True)
    remarks = [r.sentence for r in d.plan.boards.remarks if r.facet in {f.id for f in facets}]
    if remarks:
        page.heading("Mind")
    for sentence in remarks:
        if page.room_mm() < 16.0:
            break
        page.note(sentence, 2.6)
    if page.room_mm() > 20.0:
        page.heading("Safety")
        page.note("Cut wet or score and snap: the dust harms lungs. Overhead: two people or a lift.", 2.6)
