"""Folding templates of cut and folded pieces at full size: lay the sheet on the blank and prick through."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from steamwright.covering.model import Piece, Role
from steamwright.drawing.digest import Digest
from steamwright.drawing.facet_view import View, parts
from steamwright.drawing.frame import Page, continued, open_page
from steamwright.drawing.labels import readable_turn_deg
from steamwright.drawing.pens import INK, PAPER, SHEET_A, SOFT, TEAL
from steamwright.drawing.scene import Measure, Sheet, Text
from steamwright.drawing.text import wrap
from steamwright.geometry.frame import Floats
from steamwright.units import INCH_M, format_length

FULL_SIZE = 1000.0
ON_EDGE_M = 2e-4
ALIKE_M = 1e-3
Shape = list[Polygon]


@dataclass(frozen=True, slots=True)
class Crease:
    """An edge shared by two patches of one blank: a fold, or a slit where they part in the room. On the blank. [m]"""

    start_m: tuple[float, float]
    end_m: tuple[float, float]
    fold: bool
    angle_deg: float


@dataclass(frozen=True, slots=True)
class Template:
    """A blank with its patches, and the marks of all pieces of that very shape."""

    piece: Piece
    patches: tuple[Polygon, ...]
    creases: tuple[Crease, ...]
    marks: tuple[str, ...]


def templates_of(d: Digest) -> tuple[Template, ...]:
    """Collect the folding templates of a plan, equal shapes once.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    templates : tuple of Template
        In the setting order of their first piece.

    References
    ----------
    own derivation
    """
    groups: list[tuple[Shape, list[Piece]]] = []
    for p in d.pieces.values():
        if p.role in (Role.CORNER_PIECE, Role.COLLAR) and p.blank_m and all(q.at for q in p.patches) and len(p.patches) > 1:
            shape = _shape(p)
            same = next((g for s, g in groups if _alike(s, shape)), None)
            if same is None:
                groups.append((shape, [p]))
            else:
                same.append(p)
    return tuple(
        Template(g[0], on_blank(g[0]), creases_of(d, g[0]), tuple(d.marks[p.id] for p in g))
        for g in sorted((g for _, g in groups), key=lambda g: g[0].place_no)
    )


def on_blank(piece: Piece) -> tuple[Polygon, ...]:
    """The patches of a piece as they lie on its blank.

    Parameters
    ----------
    piece : Piece
        With a blank.

    Returns
    -------
    polygons : tuple of Polygon
        In the order of its patches. [m]

    References
    ----------
    own derivation
    """
    out = []
    for q in piece.patches:
        if q.at is not None:
            at = q.at
            out.append(Polygon(at.to_blank(np.array(q.outline_m)), [at.to_blank(np.array(h)) for h in q.holes_m]))
    return tuple(out)


def _shape(piece: Piece) -> Shape:
    return sorted(on_blank(piece), key=lambda p: (round(p.centroid.x, 2), round(p.centroid.y, 2)))


def _alike(a: Shape, b: Shape) -> bool:
    """Whether one template serves for both: no edge of a patch lies farther apart than a pencil line."""
    return len(a) == len(b) and all(shapely.hausdorff_distance(p.boundary, q.boundary) < ALIKE_M for p, q in zip(a, b, strict=True))


def creases_of(d: Digest, piece: Piece) -> tuple[Crease, ...]:
    """The edges that two patches of a piece share on its blank.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    piece : Piece
        With a blank.

    Returns
    -------
    creases : tuple of Crease
        Folds and slits; of 5 mm or longer. [m]

    References
    ----------
    own derivation
    """
    polygons = on_blank(piece)
    out = []
    for i, a in enumerate(polygons):
        for j in range(i + 1, len(polygons)):
            near = shapely.intersection(a.boundary, shapely.buffer(polygons[j].boundary, ON_EDGE_M, cap_style="flat"))
            for line in parts(shapely.line_merge(near) if near.geom_type == "MultiLineString" else near, "LineString"):
                if line.length < 5e-3:
                    continue
                p, q = line.coords[0], line.coords[-1]
                fold, angle = _fold(d, piece, i, j, np.array([p, q]))
                out.append(Crease((p[0], p[1]), (q[0], q[1]), fold, angle))
    return tuple(out)


def _fold(d: Digest, piece: Piece, i: int, j: int, ends: Floats) -> tuple[bool, float]:
    """Whether two patches stay together along an edge, and the angle through the air there."""
    here, there = piece.patches[i], piece.patches[j]
    if here.at is None or there.at is None:
        return False, 0.0
    f, g = d.facets[here.facet], d.facets[there.facet]
    a, b = f.frame.lift(here.at.to_facet(ends)), g.frame.lift(there.at.to_facet(ends))
    together = float(np.abs(a - b).max()) < 2e-3
    angle = math.degrees(math.acos(float(np.clip(-(f.frame.normal @ g.frame.normal), -1.0, 1.0))))
    if f.id == g.id:
        return together, 0.0 if here.at.flipped != there.at.flipped else 180.0
    joints = [x for x in d.joints.get(f.id, ()) if g.id in x.facets]
    return together, joints[0].angle_deg if joints else angle


def templates(d: Digest, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw the templates at full size, as many sheets as they need.

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
        Empty where every corner piece and collar is ready-made.

    References
    ----------
    own derivation
    """
    left = list(templates_of(d))
    sheets: list[Sheet] = []
    while left:
        page = open_page(d, *continued(name, number, len(sheets)), "Folding templates, full size")
        count = _fill(page, left)
        left = left[count:]
        _check_bar(page, page.field.x0_mm, page.field.y1_mm)
        _legend(page)
        sheets.append(page.finish())
    return tuple(sheets)


def _fill(page: Page, templates: list[Template]) -> int:
    """Lay templates on the sheet in rows; says how many were used up."""
    f = page.field
    x, y, row, bottom = f.x0_mm, f.y0_mm, 0.0, f.y1_mm - 10.0
    for n, t in enumerate(templates):
        length, width = t.piece.blank_m or (0.0, 0.0)
        w, h = max(length * FULL_SIZE, 70.0) + 8.0, width * FULL_SIZE + 24.0
        too_large = w > f.width_mm or h > bottom - f.y0_mm
        if too_large:
            w, h = f.width_mm, 20.0
        if x + w > f.x1_mm + 0.1 and x > f.x0_mm:
            x, y, row = f.x0_mm, y + row, 0.0
        if y + h > bottom + 0.1 and n > 0:
            return n
        _template(page, t, x, y, too_large)
        x, row = x + w, max(row, h)
    return len(templates)


def _template(page: Page, t: Template, x: float, y: float, too_large: bool) -> None:
    sketch, system = page.sketch, page.digest.system
    length, width = t.piece.blank_m or (0.0, 0.0)
    wide = max(length * FULL_SIZE, 70.0)
    marks = wrap(", ".join(t.marks[:6]) + (f" and {len(t.marks) - 6} more" if len(t.marks) > 6 else ""), 5.0, wide, True)
    sketch.write("labels", (x, y + 6.0), marks[0], 5.0, bold=True)
    size = f"blank {format_length(length, system)} × {format_length(width, system)}"
    sketch.write(
        "labels",
        (x, y + 12.0),
        size + (": too large for full size, see the flat patterns" if too_large else ""),
        3.0,
        color=SOFT,
    )
    if too_large:
        return
    view = View(x, y + 16.0 + width * FULL_SIZE, FULL_SIZE)
    sketch.rect("ground", x, y + 16.0, length * FULL_SIZE, width * FULL_SIZE, "hair")
    whole = shapely.union_all([p.buffer(1e-4, join_style="mitre") for p in t.patches]).buffer(-1e-4, join_style="mitre")
    for poly in parts(whole, "Polygon"):
        sketch.area("pieces", tuple(view.ring(r.coords[:-1]) for r in (poly.exterior, *poly.interiors)), "scissors", SHEET_A)
    for crease in t.creases:
        if crease.fold and crease.angle_deg == 180.0:
            continue
        sketch.line("edges", view.at(*crease.start_m), view.at(*crease.end_m), "fold" if crease.fold else "scissors")
    _letter(page, t, view)


def _letter(page: Page, t: Template, view: View) -> None:
    d = page.digest
    for patch, poly in zip(t.piece.patches, t.patches, strict=True):
        c = poly.representative_point() if not poly.contains(poly.centroid) else poly.centroid
        x, y = view.at(c.x, c.y)
        content = d.names[patch.facet] if len(t.marks) == 1 else d.facets[patch.facet].kind.value.replace("_", " ")
        placed = page.sketch.placer.put([Text((x, y + k), content, 3.0, "middle", SOFT) for k in (1.5, 8.0, -6.0, 14.0)], 0.6)
        if placed:
            page.sketch.put("labels", placed)
    for crease in t.creases:
        if not crease.fold or crease.angle_deg == 180.0:
            continue
        words = "pleat" if crease.angle_deg == 0.0 else f"fold {crease.angle_deg:.0f}°"
        (x0, y0), (x1, y1) = view.at(*crease.start_m), view.at(*crease.end_m)
        turn = readable_turn_deg(math.degrees(math.atan2(y0 - y1, x1 - x0)))
        a = math.radians(turn)
        spots = [(x0 + q * (x1 - x0), y0 + q * (y1 - y0)) for q in (0.5, 0.7, 0.3)]
        texts = [Text((x - o * math.sin(a), y - o * math.cos(a)), words, 3.0, "middle", TEAL, turn_deg=turn)
                 for o in (1.5, -4.5) for x, y in spots]  # fmt: skip
        placed = page.sketch.placer.put(texts, 0.5)
        if placed:
            page.sketch.put("labels", placed)


def _check_bar(page: Page, x_mm: float, y_mm: float) -> None:
    """A bar of known length: print at full size, then hold a tape to it."""
    unit_m, count, words = (INCH_M, 6, "6 in") if page.digest.system == "inch" else (0.025, 6, "150 mm")
    step = unit_m * FULL_SIZE
    for n in range(count):
        page.sketch.rect("frame", x_mm + n * step, y_mm - 3.0, step, 3.0, "thin", INK if n % 2 == 0 else PAPER)
    page.sketch.write("labels", (x_mm + count * step + 3.0, y_mm), f"check bar, {words}", 3.5)
    start, end = (x_mm, y_mm), (x_mm + count * step, y_mm)
    page.sketch.measure(Measure(format_length(unit_m * count, page.digest.system), unit_m * count, start, end, FULL_SIZE))


def _legend(page: Page) -> None:
    page.heading("Reading the sheet")
    page.note("Print without fitting to the page. Measure the check bar first.", bold=True)
    page.note("Full line: cut. Chain line in teal: fold; its angle is measured through the air: 90° inside corner, 270° outside corner.")
    page.note("Pleat: fold back flat onto itself.")
    page.note("Where a full line runs between two fields, slit along it; the flaps then lie over each other.")
    page.note("Templates show the side that faces the room. Equal pieces are drawn once.")
