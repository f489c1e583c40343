"""Flat patterns: every sheet with a notch, slit or hole as it lies on the roll, its points measured from one corner."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import shapely
from shapely import Point, Polygon

from steamwright.covering.model import Piece, Role
from steamwright.drawing.arcs import arcs_of
from steamwright.drawing.digest import Digest
from steamwright.drawing.facet_view import View, parts, rings
from steamwright.drawing.frame import Page, choose_scale, continued, open_page, shorten
from steamwright.drawing.labels import around, outward_first, padded, readable_turn_deg, upright_box
from steamwright.drawing.pens import INK, PAPER, SHEET_A, SOFT, TEAL
from steamwright.drawing.scene import Measure, Sheet, Text
from steamwright.drawing.sheets.templates import FULL_SIZE, Crease, creases_of, on_blank
from steamwright.drawing.text import Box, text_box, width_mm
from steamwright.geometry.frame import Floats, Point2
from steamwright.units import format_length

NEAR_M = 2.4e-3
"""Points nearer than the width of a slit are marked as one. Common practice, no source."""
STRAIGHT_M = 3e-4
ROW_MM = 4.7
TABLE_MM = 80.0
GUTTER_MM = 6.0
LONG_M = 1.3
TALL_MM = 66.0
SMALL = 1000.0 / 24
HEAD_MM = 13.0
Ring = tuple[Point2, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """A point to be marked on the roll: how far along the tape and across from the piece's corner, and what is done there. [m]"""

    along_m: float
    across_m: float
    what: str
    diameter_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Pattern:
    """A piece as it lies on its roll, its own corner at (0, 0): along the tape and across. [m]"""

    piece: Piece
    long_m: float
    wide_m: float
    patches: tuple[Polygon, ...]
    whole: tuple[Polygon, ...]
    creases: tuple[Crease, ...]
    spots: tuple[Spot, ...]
    room_side: bool


def patterns_of(d: Digest) -> tuple[Pattern, ...]:
    """Collect the pieces that are more than a rectangle, in setting order.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    patterns : tuple of Pattern
        Sheets and bands with a notch, slit or hole; corner pieces and collars that no paper holds at full size.

    References
    ----------
    own derivation
    """
    made = (_pattern(d, p) for p in sorted(d.pieces.values(), key=lambda p: (p.place_no, p.id)) if _may(d, p))
    return tuple(p for p in made if any(s.what != "fold" for s in p.spots))


def _may(d: Digest, p: Piece) -> bool:
    if p.blank_m is None or any(q.at is None for q in p.patches):
        return False
    if not shapely.box(0.0, 0.0, *p.blank_m).buffer(NEAR_M).contains(shapely.union_all(on_blank(p))):
        return False  # a placing that is not one cannot be drawn
    if p.role in (Role.SHEET, Role.BAND):
        return True
    return max(p.blank_m) * FULL_SIZE > min(d.paper_mm) - 60.0


def _pattern(d: Digest, piece: Piece) -> Pattern:
    length, width = piece.blank_m or (0.0, 0.0)
    turned = piece.cut is not None and piece.cut.turned

    def lay(ring: Floats) -> Floats:
        return np.column_stack([width - ring[:, 1], ring[:, 0]]) if turned else ring

    patches = tuple(shapely.transform(p, lay) for p in on_blank(piece))
    creases = []
    for c in creases_of(d, piece):
        (x0, y0), (x1, y1) = lay(np.array([c.start_m, c.end_m]))
        creases.append(Crease((float(x0), float(y0)), (float(x1), float(y1)), c.fold, c.angle_deg))
    whole = shapely.union_all([p.buffer(1e-4, join_style="mitre") for p in patches]).buffer(-1e-4, join_style="mitre")
    long, wide = (width, length) if turned else (length, width)
    shapes = tuple(parts(whole.simplify(STRAIGHT_M), "Polygon"))
    room_side = not any(q.at.flipped for q in piece.patches if q.at is not None)
    return Pattern(piece, long, wide, patches, shapes, tuple(creases), _spots(shapes, creases, long, wide), room_side)


def _spots(whole: Sequence[Polygon], creases: Sequence[Crease], long_m: float, wide_m: float) -> tuple[Spot, ...]:
    """What has to be marked, in the order along the tape; the blank's own corners need no mark."""
    corners = [(x, y) for x in (0.0, long_m) for y in (0.0, wide_m)]
    found: list[Spot] = []
    for poly in whole:
        found += [s for s in spots_of(poly.exterior.coords[:-1], "cut", long_m, wide_m)
                  if all(math.dist((s.along_m, s.across_m), c) > NEAR_M for c in corners)]
        for hole in poly.interiors:
            found += spots_of(hole.coords[:-1], "cut out", long_m, wide_m)
    for slit in (c for c in creases if not c.fold):
        found += [Spot(x, y, "slit") for x, y in (slit.start_m, slit.end_m)]
    for fold in (c for c in creases if c.fold and c.angle_deg != 180.0):
        found += [Spot(x, y, "fold") for x, y in (fold.start_m, fold.end_m)]
    kept: list[list[Spot]] = []
    for s in found:
        same = next((k for k in kept if math.dist((s.along_m, s.across_m), (k[0].along_m, k[0].across_m)) < NEAR_M), None)
        if same is None:
            kept.append([s])
        else:
            same.append(s)
    merged = (replace(k[0], along_m=sum(s.along_m for s in k) / len(k), across_m=sum(s.across_m for s in k) / len(k)) for k in kept)
    return tuple(sorted(merged, key=lambda s: (round(s.along_m, 3), s.across_m)))


def spots_of(ring: Sequence[Point2], what: str, long_m: float, wide_m: float) -> list[Spot]:
    """Tell a ring by its corners, and each arc of it by middle and diameter in place of the corners between its ends.

    Parameters
    ----------
    ring : sequence of (float, float)
        Along the tape and across, the first not repeated. [m]
    what : str
        What is done at a corner.
    long_m : float
        Length of the blank. [m]
    wide_m : float
        Its width. [m]

    Returns
    -------
    spots : list of Spot
        Arcs whose middle lies off the blank keep their corners, since it cannot be marked.

    References
    ----------
    own derivation
    """
    out, between = [], set()
    for arc in arcs_of(ring):
        x, y = arc.center_m
        if 0.0 <= x <= long_m and 0.0 <= y <= wide_m:
            out.append(Spot(x, y, "hole" if arc.whole and what == "cut out" else "arc", 2.0 * arc.radius_m))
            inner = range(arc.count) if arc.whole else range(1, arc.count - 1)
            between |= {(arc.first + k) % len(ring) for k in inner}
    return [*out, *(Spot(x, y, what) for k, (x, y) in enumerate(ring) if k not in between)]


def patterns(d: Digest, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw the flat patterns, as many sheets as they need.

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
        Empty where every sheet is a plain rectangle.

    References
    ----------
    own derivation
    """
    left = list(patterns_of(d))
    sheets: list[Sheet] = []
    while left:
        page = open_page(d, *continued(name, number, len(sheets)), "Flat patterns")
        _fill(page, left)
        _legend(page)
        sheets.append(page.finish())
    return tuple(sheets)


def _fill(page: Page, left: list[Pattern]) -> None:
    """Take pieces from the list as long as the sheet holds them: two side by side, the long ones over its whole width."""
    f = page.field
    half = (f.width_mm - GUTTER_MM) / 2
    y = [f.y0_mm, f.y0_mm]
    while left:
        whole = _scale(page, left[0], half)[0] < SMALL < _scale(page, left[0], f.width_mm)[0] or left[0].long_m > LONG_M
        cell = f.width_mm if whole else half
        tall = _tall(page, left[0], cell)
        column = 0 if whole or y[0] <= y[1] else 1
        top = max(y) if whole else y[column]
        if top > f.y0_mm and top + tall > f.y1_mm:
            return
        _draw(page, left.pop(0), f.x0_mm + column * (half + GUTTER_MM), top, cell)
        y = [top + tall + 5.0] * 2 if whole else [top + tall + 5.0 if c == column else y[c] for c in (0, 1)]


def _rows(p: Pattern, d: Digest) -> list[tuple[str, str, str, str]]:
    return [(str(n), format_length(s.along_m, d.system), format_length(s.across_m, d.system),
             s.what + (f" {format_length(s.diameter_m, d.system)}" if s.diameter_m else "")) for n, s in enumerate(p.spots, 1)]  # fmt: skip


def _scale(page: Page, p: Pattern, cell_mm: float) -> tuple[float, str]:
    return choose_scale(page.digest, p.long_m, p.wide_m, cell_mm - TABLE_MM - 12.0, TALL_MM)


def _tall(page: Page, p: Pattern, cell_mm: float) -> float:
    k, _ = _scale(page, p, cell_mm)
    return HEAD_MM + max(p.wide_m * k + 10.0, ROW_MM * (len(p.spots) + 1) + 2.0)


def _draw(page: Page, p: Pattern, x_mm: float, y_mm: float, cell_mm: float) -> None:
    sketch, d = page.sketch, page.digest
    k, label = _scale(page, p, cell_mm)
    sketch.write("labels", (x_mm, y_mm + 6.0), d.marks[p.piece.id], 6.0, bold=True)
    after = x_mm + width_mm(d.marks[p.piece.id], 6.0, True) + 4.0
    size = f"{format_length(p.long_m, d.system)} along × {format_length(p.wide_m, d.system)} across"
    side = "" if p.room_side else ", seen from its back"
    words, room_mm = f"{size}{side}, scale {label}", cell_mm - (after - x_mm)
    height = next((h for h in (3.0, 2.6) if width_mm(words, h) <= room_mm), 2.3)
    sketch.write("labels", (after, y_mm + 6.0), shorten(words, height, room_mm), height, color=SOFT)
    left, top = x_mm + 7.0, y_mm + HEAD_MM
    view = View(left, top + p.wide_m * k, k)
    sketch.rect("ground", left, top, p.long_m * k, p.wide_m * k, "hair")
    for poly in p.whole:
        sketch.area("pieces", rings(view, poly), "scissors", SHEET_A)
    for c in p.creases:
        if not (c.fold and c.angle_deg == 180.0):
            sketch.line("edges", view.at(*c.start_m), view.at(*c.end_m), "fold" if c.fold else "scissors")
    sketch.circle("marks", view.at(0.0, 0.0), 1.4, "scissors", PAPER)
    sketch.measure(Measure(format_length(p.long_m, d.system), p.long_m, view.at(0.0, 0.0), view.at(p.long_m, 0.0), k))
    _table(page, p, x_mm + cell_mm - TABLE_MM, top)
    _number(page, p, view, upright_box(x_mm, y_mm, x_mm + cell_mm, y_mm + _tall(page, p, cell_mm)))
    _letter(page, p, view)


def _number(page: Page, p: Pattern, view: View, cell: Box) -> None:
    """The numbers of the points, away from the middle of the piece."""
    mx, my = view.at(p.long_m / 2, p.wide_m / 2)
    for n, s in enumerate(p.spots, 1):
        x, y = view.at(s.along_m, s.across_m)
        page.sketch.circle("marks", (x, y), 0.5, None, INK)
        off = 1.2 if s.what == "arc" else 1.2 + s.diameter_m / 2 * view.scale_mm_per_m * math.sqrt(0.5)  # beside a hole, not on its edge
        beside = [Text((x + off * i, y + (off * j + (2.6 if j > 0 else 0.0))), str(n), 2.6, "start" if i > 0 else "end", INK, True)
                  for i in (1, -1) for j in (1, -1)]  # fmt: skip
        # farther places are looked for only where those beside the point are taken
        placed = (page.sketch.placer.put(outward_first(beside, x, y, mx, my), 0.3, cell)
                  or page.sketch.placer.put(outward_first(around(x, y, str(n), 2.6, 1.6, bold=True), x, y, mx, my), 0.3, cell))
        if placed:
            page.sketch.put("labels", placed)


def _letter(page: Page, p: Pattern, view: View) -> None:
    """Which surface each field comes to lie on, and the angle of each fold."""
    d = page.digest
    fields = [Polygon(outer, holes) for outer, *holes in (rings(view, poly) for poly in p.patches)]
    unnamed: list[tuple[Polygon, str]] = []
    for patch, field in zip(p.piece.patches, fields, strict=True):
        part = d.mark_of(p.piece, patch) + " " if p.piece.second_at else ""
        placed = page.sketch.placer.put(_inside(field, part + d.names[patch.facet]), 0.2)
        if placed:
            page.sketch.put("labels", placed)
        else:
            unnamed.append((field, d.names[patch.facet]))
    for crease in (c for c in p.creases if c.fold and c.angle_deg != 180.0):
        start, end = view.at(*crease.start_m), view.at(*crease.end_m)
        middle = Point((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        # a leg too narrow for its name is named at its fold
        leg = next((f" to {name}" for field, name in unnamed if field.distance(middle) < 0.2), "")
        words = f"fold {crease.angle_deg:.0f}°" if crease.angle_deg else "pleat"
        texts = (t for said in dict.fromkeys((words + leg, words)) for t in _at_fold(fields, start, end, said))
        placed = page.sketch.placer.put(texts, 0.3)
        if placed:
            page.sketch.put("labels", placed)


def _at_fold(fields: Sequence[Polygon], start: Point2, end: Point2, words: str) -> list[Text]:
    """What is said of a fold, along it on either side, wholly inside a field or wholly beside the piece."""
    (x0, y0), (x1, y1) = start, end
    if math.hypot(x1 - x0, y1 - y0) < width_mm(words, 2.6) + 2.0:
        return []
    turn = readable_turn_deg(math.degrees(math.atan2(y0 - y1, x1 - x0)))
    a = math.radians(turn)
    piece, within, beside = shapely.union_all(fields), [], []
    for off, share in product((1.2, -3.8), (0.5, 0.7, 0.3, 0.8, 0.2)):
        x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
        text = Text((x - off * math.sin(a), y - off * math.cos(a)), words, 2.6, "middle", TEAL, turn_deg=turn)
        box = Polygon(text_box(text).corners_mm)
        if any(f.contains(box) for f in fields):
            within.append(text)
        elif not piece.intersects(box):
            beside.append(text)
    return [*within, *beside]


def _inside(field: Polygon, words: str) -> Iterator[Text]:
    """A name wholly inside its field on the paper, level where that fits, else along the field's length or upright."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(field))
    sides = np.diff(corners, axis=0)[:2] if len(corners) == 5 else np.eye(2)
    run = sides[np.argmax(np.hypot(*sides.T))]
    along = readable_turn_deg(math.degrees(math.atan2(-run[1], run[0])))
    middles = [field.centroid, field.representative_point()]
    for turn, share in product((0.0, along, 90.0), (0.0, 0.15, -0.15, 0.3, -0.3)):
        a = math.radians(turn)
        for c in middles:
            x, y = (c.x, c.y) if turn == 0.0 else (c.x + share * run[0], c.y + share * run[1])
            # the middle of the capitals, not the base line, lies on the middle of the field
            text = Text((x + 1.3 * math.sin(a), y + 1.3 * math.cos(a)), words, 2.6, "middle", SOFT, turn_deg=turn)
            if field.contains(Polygon(padded(text_box(text), 0.25).corners_mm)):
                yield text


def _table(page: Page, p: Pattern, x_mm: float, y_mm: float) -> None:
    stops = (0.0, 6.6, 33.8, 57.6)
    rows = [("", "along", "across", ""), *_rows(p, page.digest)]
    for n, row in enumerate(rows):
        y = y_mm + ROW_MM * (n + 0.75)
        for k, (content, stop) in enumerate(zip(row, stops, strict=True)):
            if content:
                page.sketch.write("labels", (x_mm + stop, y), content, 2.8, color=SOFT if n == 0 else INK, bold=k == 0)
    page.sketch.line("frame", (x_mm, y_mm + ROW_MM * 1.05), (x_mm + TABLE_MM - 2.0, y_mm + ROW_MM * 1.05), "rule")


def _legend(page: Page) -> None:
    page.heading("Reading the sheet")
    page.note("Each piece lies as on its roll, the tape running from left to right. The ring is the corner to measure from: “along” is "
              "the tape, “across” is square to it.")
    page.note("Cut the rectangle first by the cut sheet. Mark the numbered points, join them as drawn, then cut.")
    page.note("Full line: cut. A full line between two fields is a slit: the flaps then lie over each other. Chain line in teal: fold; the "
              "angle is measured through the air: 90° inside corner, 270° outside corner.")
    page.note("Holes and arcs: middle and diameter; an arc runs between the two cuts on it. Seen from the side that faces the room unless "
              "it says otherwise.")
    page.note("Two pieces on one blank, a and b: part them first, by the line between them; they are set one by one.")
    page.note("Cut the slit no farther than its last point: a cut past it is a leak. Try the fold dry before mortar is combed.", bold=True)
    page.heading("At the wall")
    page.note("No piece is longer than two people can comb for, hang and embed while the mortar is open; the job may say otherwise "
              "(“longest”). Comb for one piece at a time.")
