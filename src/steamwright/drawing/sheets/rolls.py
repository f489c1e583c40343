"""Cut sheets: every roll in cutting order, with marks along the tape from its end."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from steamwright.covering.model import Piece, Role, Stock
from steamwright.drawing.digest import Digest
from steamwright.drawing.dimension import Mark, Row, running
from steamwright.drawing.facet_view import View
from steamwright.drawing.frame import Page, open_page
from steamwright.drawing.labels import padded
from steamwright.drawing.pens import BAND, CORNER, INK, PAPER, SHEET_A, SHEET_B, SOFT
from steamwright.drawing.scene import Sheet, Text
from steamwright.drawing.tables import Column, Grid, draw_table
from steamwright.drawing.text import text_box, width_mm
from steamwright.units import format_length

LEAST_SCALE = 1000.0 / 32.0
LEAST_STRIP_MM = 12.0


@dataclass(frozen=True, slots=True)
class Blank:
    """A piece on its roll: from and to along the tape, from and to across. [m]"""

    piece: Piece
    x0_m: float
    x1_m: float
    y0_m: float
    y1_m: float


def blanks_on(d: Digest, stock: Stock) -> tuple[Blank, ...]:
    """The blanks of one roll in cutting order.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    stock : Stock
        A roll.

    Returns
    -------
    blanks : tuple of Blank
        By distance from the roll's end, then across it.

    References
    ----------
    own derivation
    """
    out = []
    for p in d.pieces.values():
        if p.cut and p.blank_m and p.cut.stock == stock.id:
            along, across = (p.blank_m[1], p.blank_m[0]) if p.cut.turned else p.blank_m
            out.append(Blank(p, p.cut.x_m, p.cut.x_m + along, p.cut.y_m, p.cut.y_m + across))
    return tuple(sorted(out, key=lambda b: (round(b.x0_m, 4), round(b.y0_m, 4), b.piece.id)))


def cut_sheets(d: Digest, stock: Stock, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw the cut sheets of one roll, as many as its list needs.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    stock : Stock
        A roll.
    name : str
        File name of the first sheet without suffix.
    number : str
        What the title block shows.

    Returns
    -------
    sheets : tuple of Sheet
        The first one shows the roll itself.

    References
    ----------
    own derivation
    """
    blanks = blanks_on(d, stock)
    rows = [_row(d, b, n) for n, b in enumerate(blanks, 1)]
    sheets: list[Sheet] = []
    at = 0
    while at < len(rows) or not sheets:
        part = f"-{len(sheets) + 1}" if sheets else ""
        page = open_page(d, name + part, number + (chr(ord("a") + len(sheets)) if sheets else ""), f"Cut sheet, {stock.id}")
        y = page.field.y0_mm
        if not sheets:
            y = _strips(page, stock, blanks)
        at += _lists(page, y + 4.0, rows[at:])
        _column(page, stock, blanks)
        sheets.append(page.finish())
    return tuple(sheets)


def _row(d: Digest, b: Blank, n: int) -> tuple[str, ...]:
    def say(v: float) -> str:
        return format_length(v, d.system)

    p = b.piece
    first = d.names[p.patches[0].facet]
    facets = list(dict.fromkeys(d.names[q.facet] for q in p.patches))
    where = first if len(facets) == 1 else " + ".join(facets[:3])
    across = f"{say(b.y0_m)} to {say(b.y1_m)}" if b.y0_m > 1e-4 else say(b.y1_m)
    return (str(n), d.marks[p.id], f"{say(b.x0_m)} to {say(b.x1_m)}", across, f"{d.marks[p.id]}  {where}{_up(p)}")


def _up(piece: Piece) -> str:
    """Which end of the blank is up, where the piece stands on a wall."""
    at = piece.patches[0].at
    if piece.role is not Role.SHEET or at is None or piece.cut is None:
        return ""
    v = at.matrix() @ np.array([0.0, 1.0])
    if piece.cut.turned:
        v = np.array([-v[1], v[0]])
    if abs(v[0]) > 0.9:
        return ", top last" if v[0] > 0 else ", top first"
    return ", top at far edge" if v[1] > 0.9 else ", top at near edge" if v[1] < -0.9 else ""


def _strips(page: Page, stock: Stock, blanks: tuple[Blank, ...]) -> float:
    """The roll as strips under each other; says where they end."""
    f = page.field
    used = max([stock.used_length_m, *(b.x1_m for b in blanks), 0.5])
    count = max(1, math.ceil(used * LEAST_SCALE / (f.width_mm - 4.0)))
    length = used / count
    k = (f.width_mm - 4.0) / length
    k = min(k, 1000.0 / 12.0)
    tall = max(LEAST_STRIP_MM, min(stock.width_m * k, 42.0))
    y = f.y0_mm + 14.0
    for n in range(count):
        view = View(f.x0_mm + 2.0 - n * length * k, y + tall, k)
        here = [b for b in blanks if b.x1_m > n * length + 1e-6 and b.x0_m < (n + 1) * length - 1e-6]
        _strip(page, view, stock, here, (n * length, (n + 1) * length), tall)
        y += tall + 24.0
    return y - 8.0


def _strip(page: Page, view: View, stock: Stock, blanks: list[Blank], span_m: tuple[float, float], tall_mm: float) -> None:
    sketch, k = page.sketch, view.scale_mm_per_m
    across = tall_mm / stock.width_m
    x0, x1 = view.at(span_m[0], 0)[0], view.at(min(span_m[1], max(stock.used_length_m, span_m[0] + 0.1)), 0)[0]
    top = view.y_mm - tall_mm
    sketch.rect("ground", x0, top, x1 - x0, tall_mm, "edge", PAPER)
    for n, b in enumerate(blanks):
        left, right = max(b.x0_m, span_m[0]), min(b.x1_m, span_m[1])
        y_low, y_high = view.y_mm - across * b.y0_m, view.y_mm - across * b.y1_m
        xa, xb = view.at(left, 0)[0], view.at(right, 0)[0]
        sketch.rect("pieces", xa, y_high, xb - xa, y_low - y_high, "edge", _tone(b.piece.role, n))
        _name(page, page.digest.marks[b.piece.id], (xa, y_high, xb, y_low), b.x0_m >= span_m[0] - 1e-6 or right - left > 0.5 * (b.x1_m - b.x0_m))
    ends = sorted({round(b.x1_m, 4) for b in blanks if b.x1_m <= span_m[1] + 1e-6})
    marks = [Mark(view.at(x, 0)[0], view.y_mm, x) for x in ends]
    f = page.field
    row = Row(False, view.y_mm + 3.0, 1, view.at(0.0, 0)[0], f.x0_mm, f.x1_mm, k, page.digest.system, 3.5 if len(ends) > 6 else 5.0)
    _tape(page, row, marks, x0, x1)


def _tape(page: Page, row: Row, marks: list[Mark], x0: float, x1: float) -> None:
    """Distances from the roll's end under the strip; every third row of lettering is enough for crowded cuts."""
    widths = sum(width_mm(format_length(m.value_m, row.system), row.height_mm) + 3.0 for m in marks)
    if widths <= row.high_mm - row.low_mm:
        running(page.sketch, row, marks, (x0, x1))
    else:
        for m in marks:
            page.sketch.line("dimensions", (m.at_mm, m.foot_mm), (m.at_mm, m.foot_mm + 3.0), "edge")


def _tone(role: Role, n: int) -> str:
    if role is Role.SHEET:
        return SHEET_B if n % 2 else SHEET_A
    return BAND if role is Role.BAND else CORNER


def _name(page: Page, mark: str, box: tuple[float, float, float, float], main: bool) -> None:
    x0, y0, x1, y1 = box
    if not main:
        return
    for h in (8.0, 6.0, 4.5, 3.5):
        if h > y1 - y0 - 2.0:
            continue
        for turn in (0.0, 90.0):
            text = Text(((x0 + x1) / 2 + (h / 2 if turn else 0.0), (y0 + y1) / 2 + (0.0 if turn else h / 2)), mark, h, "middle", INK, True, turn)
            b = text_box(text).bounds()
            if b[0] >= x0 + 0.8 and b[2] <= x1 - 0.8 and turn == 0.0:
                page.sketch.placer.take(padded(text_box(text), 0.4))
                page.sketch.put("labels", text)
                return
            w = width_mm(mark, h, True)
            if turn and h <= x1 - x0 - 1.0 and w <= y1 - y0 - 1.0:
                text = Text(((x0 + x1) / 2 + h / 2, (y0 + y1) / 2), mark, h, "middle", INK, True, 90.0)
                page.sketch.placer.take(padded(text_box(text), 0.4))
                page.sketch.put("labels", text)
                return


def _lists(page: Page, y_mm: float, rows: list[tuple[str, ...]]) -> int:
    """The list in one or two columns; says how many rows were written."""
    f = page.field
    inch = page.digest.system == "inch"
    columns = (Column("cut", 9.0), Column("piece", 17.0), Column("along the tape", 47.0 if inch else 44.0), Column("across", 30.0 if inch else 27.0),
               Column("write on the back", 45.0 if inch else 46.0))  # fmt: skip
    written = 0
    for k in range(2):
        grid = Grid(f.x0_mm + k * (f.width_mm / 2 + 3.0), y_mm, f.y1_mm, columns, 3.0, tick=True, line_ratio=1.7)
        if written < len(rows):
            written += draw_table(page, grid, rows[written:])
    return written


def _column(page: Page, stock: Stock, blanks: Iterable[Blank]) -> None:
    d = page.digest
    page.heading("Roll")
    page.note(stock.material)
    page.note(f"{format_length(stock.width_m, d.system)} wide, {format_length(stock.length_m, d.system)} long, "
              f"{format_length(stock.used_length_m, d.system)} used.")  # fmt: skip
    area = sum((b.x1_m - b.x0_m) * (b.y1_m - b.y0_m) for b in blanks)
    used = stock.used_length_m * stock.width_m
    if used > 0:
        page.note(f"Pieces are {100 * area / used:.0f} % of the used length.")
    rest = stock.length_m - stock.used_length_m
    page.note(f"Left on the roll: {format_length(rest, d.system)}.")
    page.heading("How to cut")
    page.note("Hook the tape on the roll's end. Cut in the order of the list; every cut runs from edge to edge of what is left.")
    page.note("“Across” is measured from the edge that is drawn below. Write number, place and top on the back before the next cut. Tick the box.")
    page.note("Where the strip is drawn wider than the scale, only its length is true.", 2.6, SOFT)
