"""Benches, niches, curbs, jambs and other small facets, developed side by side."""

from __future__ import annotations

from collections.abc import Sequence

from steamwright.covering.model import Role
from steamwright.drawing.digest import Digest
from steamwright.drawing.dimension import single
from steamwright.drawing.facet_view import Ring, View, draw_facet, draw_openings, draw_penetrations, number_round, number_sheets
from steamwright.drawing.frame import Page, choose_scale, open_page, scale_note, shorten
from steamwright.drawing.pens import INK
from steamwright.drawing.scene import Sheet
from steamwright.room.model import Facet

SIDE_MM = 27.0
ABOVE_MM = 20.0
BELOW_MM = 26.0
NUMBER_MM = 5.6


def small_facets(d: Digest, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw the small facets on as many sheets as they need.

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
    left = list(d.small_facets())
    sheets: list[Sheet] = []
    while left:
        part = f"-{len(sheets) + 1}" if sheets else ""
        page = open_page(d, name + part, number + (chr(ord("a") + len(sheets)) if sheets else ""), "Benches, niches, curbs, edges")
        f = page.field
        widest = max(x.polygon.bounds[2] - x.polygon.bounds[0] for x in left)
        tallest = max(x.polygon.bounds[3] - x.polygon.bounds[1] for x in left)
        k, label = choose_scale(d, widest, tallest, f.width_mm - 2 * SIDE_MM, f.height_mm / 2 - ABOVE_MM - BELOW_MM)
        k, label = (k, label) if k <= 1000 / 8 else choose_scale(d, 1.0, 1.0, 126.0, 126.0)
        drawn = _shelves(page, left, k)
        left = [x for x in left if x.id not in drawn] if drawn else []
        scale_note(page, k, label)
        page.heading("Reading the sheet")
        page.note("Every facet lies flat, as seen from the air, bench tops with the seat's front below where they have one. "
                  "Full line: the edge that lies over. Dashed: covered. Hatched: lap. The number is the setting order.")  # fmt: skip
        sheets.append(page.finish())
    return tuple(sheets)


def _shelves(page: Page, facets: Sequence[Facet], k: float) -> set[str]:
    """Place facets from left to right in rows; says which were drawn."""
    f = page.field
    x, y, row_h = f.x0_mm, f.y0_mm, 0.0
    done: set[str] = set()
    for facet in facets:
        s0, t0, s1, t1 = facet.polygon.bounds
        w = max((s1 - s0) * k + 2 * SIDE_MM, 78.0)
        h = (t1 - t0) * k + ABOVE_MM + BELOW_MM
        if x + w > f.x1_mm and x > f.x0_mm:
            x, y, row_h = f.x0_mm, y + row_h, 0.0
        if y + h > f.y1_mm + 1.0:
            if done:
                break
            h = f.height_mm
        _cell(page, facet, x, y, w, k)
        done.add(facet.id)
        x, row_h = x + w, max(row_h, h)
    return done


def _cell(page: Page, facet: Facet, x_mm: float, y_mm: float, w_mm: float, k: float) -> None:
    d, sketch = page.digest, page.sketch
    s0, t0, s1, t1 = facet.polygon.bounds
    left = x_mm + (w_mm - k * (s1 - s0)) / 2
    view = View(left - k * s0, y_mm + ABOVE_MM + k * t1, k)
    draw_facet(sketch, d, facet, view)
    draw_penetrations(sketch, d, facet, view)
    draw_openings(sketch, d, facet, view)
    bottom = view.at(s0, t0)[1]
    name = shorten(d.names[facet.id], 4.0, w_mm - 4.0, True)
    sketch.write("labels", (x_mm + w_mm / 2, y_mm + 5.0), name, 4.0, "middle", INK, True)
    single(sketch, view.at(s0, t0), view.at(s1, t0), -13.0, s1 - s0, k, d.system, 4.0)
    hidden = number_sheets(sketch, d, facet, view, NUMBER_MM)
    narrow = hidden + tuple(i for i in d.lying(facet.id) if i.piece.role is not Role.SHEET)
    ring = Ring(left, y_mm + ABOVE_MM, left + k * (s1 - s0), bottom, (x_mm + 4.0, y_mm + ABOVE_MM - 6.0, x_mm + w_mm - 4.0, bottom + 8.0), 4.5)
    number_round(sketch, d, view, ring, narrow)
    single(sketch, view.at(s1, t0), view.at(s1, t1), -19.0, t1 - t0, k, d.system, 4.0)
