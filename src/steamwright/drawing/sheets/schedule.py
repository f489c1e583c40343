"""The schedule of corner pieces, collars and seams."""

from __future__ import annotations

import math

import shapely

from steamwright.covering.model import AS_CUT, Piece, Role, is_one_piece
from steamwright.drawing.digest import Digest
from steamwright.drawing.facet_view import parts
from steamwright.drawing.frame import continued, open_page
from steamwright.drawing.scene import Sheet
from steamwright.drawing.tables import Column, Grid, draw_table
from steamwright.units import format_length

LEAST_SEAM_M = 0.2
Row = tuple[str, ...]


def schedule(d: Digest, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw the schedule on as many sheets as it needs.

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
        Corner pieces, collars and seams, each list where there is anything to list.

    References
    ----------
    own derivation
    """
    lists = (
        (("corner", 15.0), ("where", 84.0), ("how", 44.0)),
        (("collar", 15.0), ("round", 74.0), ("hole, piece", 58.0)),
        (("seam", 34.0), ("where", 66.0), ("lap", 28.0), ("over", 26.0)),
    )
    rows = [corner_rows(d), collar_rows(d), seam_rows(d)]
    sheets: list[Sheet] = []
    while any(rows) or not sheets:
        page = open_page(d, *continued(name, number, len(sheets)), "Corners, collars, seams")
        f = page.field
        slots = [(f.x0_mm, f.y0_mm), (f.x0_mm + f.width_mm / 2 + 3.0, f.y0_mm)]
        for n, columns in enumerate(lists):
            while rows[n] and slots:
                x, y = slots.pop(0)
                grid = Grid(x, y, f.y1_mm, tuple(Column(t, w) for t, w in columns), 3.2, tick=n < 2, line_ratio=1.7)
                count, end = draw_table(page, grid, rows[n])
                rows[n] = rows[n][count:] if count else []
                if not rows[n] and end < f.y1_mm - 40.0:
                    slots.insert(0, (x, end + 9.0))
        page.heading("Reading the sheet")
        page.note("Tick a corner or a collar when it is set. The lap of a seam is the narrowest on its surface as planned; "
                  "the record asks for the measured one.")  # fmt: skip
        page.note(f"Required lap {format_length(d.plan.covering.lap_required_m, d.system)}, "
                  f"planned {format_length(d.plan.covering.lap_planned_m, d.system)}.", bold=True)  # fmt: skip
        done = [d.marks[s.id.removesuffix(AS_CUT)] for s in d.plan.covering.stock if is_one_piece(s)]
        if done:
            page.note(f"Cut or set already, laid round as they are: {', '.join(done)}.")
        sheets.append(page.finish())
    return tuple(sheets)


def corner_rows(d: Digest) -> list[Row]:
    """Rows of the corner pieces.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    rows : list of tuple of str
        Mark, facets, and how it is made.

    References
    ----------
    own derivation
    """
    out: list[Row] = []
    for p in _in_order(d, Role.CORNER_PIECE):
        where = " + ".join(dict.fromkeys(d.names[q.facet] for q in p.patches))
        how = p.item if p.blank_m is None else "cut and fold"
        out.append((d.marks[p.id], where, how))
    return out


def collar_rows(d: Digest) -> list[Row]:
    """Rows of the collars.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    rows : list of tuple of str
        Mark, what goes through it, hole and make.

    References
    ----------
    own derivation
    """
    out: list[Row] = []
    for p in _in_order(d, Role.COLLAR):
        through = [
            x
            for q in p.patches
            for x in d.penetrations.get(q.facet, ())
            if shapely.Polygon(q.outline_m).distance(shapely.Point(x.center_m)) < 1e-3
        ]
        what = ", ".join(dict.fromkeys(f"{x.name or x.kind} ({d.names[x.facet]})" for x in through)) or d.names[p.patches[0].facet]
        hole = ", ".join(f"⌀ {format_length(x.diameter_m, d.system)}" for x in through)
        out.append((d.marks[p.id], what, f"{hole}  {p.item}" if p.blank_m is None else f"{hole}  cut from sheet"))
    return out


def seam_rows(d: Digest) -> list[Row]:
    """Rows of the seams between sheets.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    rows : list of tuple of str
        The two sheets, the facet, the narrowest lap of the two there, and which lies over; where legs merely cross near a corner
        is no seam.

    References
    ----------
    own derivation
    """
    laps: dict[tuple[str, str, str], float] = {}
    for facet in d.plan.room.facets:
        sheets = [x for x in d.lying(facet.id) if x.piece.role is Role.SHEET]
        for i, low in enumerate(sheets):
            for high in sheets[i + 1 :]:
                both = shapely.intersection(low.polygon, high.polygon)
                widths = [w for p in parts(both, "Polygon") if p.area > 1e-4 for w, long in [_sides(p)] if long > LEAST_SEAM_M]
                if widths:
                    # a sheet that folds round a bench may lie on one wall in several patches
                    key = (d.mark_of(low.piece, low.patch), d.mark_of(high.piece, high.patch), d.names[facet.id])
                    laps[key] = min(laps.get(key, math.inf), *widths)
    return [(f"{under} / {over}", where, format_length(lap, d.system), over) for (under, over, where), lap in laps.items()]


def _sides(polygon: shapely.Polygon) -> tuple[float, float]:
    """Shorter and longer side of the smallest rectangle round a lap. [m]"""
    box = shapely.minimum_rotated_rectangle(polygon)
    c = box.exterior.coords
    sides = [((c[k][0] - c[k + 1][0]) ** 2 + (c[k][1] - c[k + 1][1]) ** 2) ** 0.5 for k in (0, 1)]
    return float(min(sides)), float(max(sides))


def _in_order(d: Digest, role: Role) -> list[Piece]:
    return sorted((p for p in d.pieces.values() if p.role is role), key=lambda p: (p.place_no, p.id))
