"""Cut sheets: every roll in cutting order, with marks along the tape from its end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from steamwright.covering.model import Piece, Role, Stock
from steamwright.drawing.digest import Digest
from steamwright.drawing.dimension import Mark, Row, row_depth_mm, running
from steamwright.drawing.facet_view import View
from steamwright.drawing.frame import Page, continued, open_page
from steamwright.drawing.labels import padded
from steamwright.drawing.pens import BAND, CORNER, INK, PAPER, SHEET_A, SHEET_B, SOFT
from steamwright.drawing.scene import Sheet, Text
from steamwright.drawing.tables import LIST_MM, draw_list, fitted
from steamwright.drawing.text import text_box, width_mm
from steamwright.units import format_length

SCALE = 1000.0 / 32.0
LEAST_STRIP_MM = 12.0
MOST_STRIP_MM = 36.0
MARK_MM = 4.0
TITLES = ("cut", "piece", "tape from", "to", "across from", "to", "long", "wide")


@dataclass(frozen=True, slots=True)
class Blank:
    """A piece on its roll: from and to along the tape, from and to across. [m]"""

    piece: Piece
    x0_m: float
    x1_m: float
    y0_m: float
    y1_m: float


@dataclass(frozen=True, slots=True)
class Strip:
    """A stretch of a roll that fits on the paper, and the blanks on it. [m]"""

    start_m: float
    end_m: float
    blanks: tuple[Blank, ...]


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


def strips_of(blanks: Sequence[Blank], longest_m: float) -> tuple[Strip, ...]:
    """Part a roll where a cut runs right across it, so that no blank is drawn in two halves.

    Parameters
    ----------
    blanks : sequence of Blank
        In cutting order.
    longest_m : float
        What fits on the paper; exceeded only where no cut runs right across. [m]

    Returns
    -------
    strips : tuple of Strip
        From the roll's end on.

    References
    ----------
    own derivation
    """
    groups: list[list[Blank]] = []
    reach = -1.0
    for b in blanks:
        if b.x0_m > reach - 1e-6:
            groups.append([])
        groups[-1].append(b)
        reach = max(reach, b.x1_m)
    strips: list[list[Blank]] = []
    for g in groups:
        if strips and max(b.x1_m for b in g) - min(b.x0_m for b in strips[-1]) <= longest_m:
            strips[-1].extend(g)
        else:
            strips.append(list(g))
    return tuple(Strip(min(b.x0_m for b in s), max(b.x1_m for b in s), tuple(s)) for s in strips)


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
        The roll itself first, then its list.

    References
    ----------
    own derivation
    """
    blanks = blanks_on(d, stock)
    rows = [cut_row(d, b, n) for n, b in enumerate(blanks, 1)]
    columns = fitted(TITLES, rows, LIST_MM)
    sheets: list[Sheet] = []
    strips: list[Strip] | None = None
    while strips is None or strips or rows:
        page = open_page(d, *continued(name, number, len(sheets)), f"Cut sheet, {'remnant' if stock.on_hand else 'roll'} {stock.id}")
        f = page.field
        if strips is None:
            strips = list(strips_of(blanks, (f.width_mm - 8.0) / SCALE))
        y = f.y0_mm + 2.0
        while strips and y + _strip_tall(page, stock, strips[0]) <= f.y1_mm:
            y = _draw_strip(page, stock, strips.pop(0), y)
        if not strips and y < f.y1_mm - 30.0:
            rows = rows[draw_list(page, y, columns, "write on the back", rows) :]
        _column(page, stock, blanks)
        sheets.append(page.finish())
    return tuple(sheets)


def cut_row(d: Digest, b: Blank, n: int) -> tuple[str, ...]:
    """A row of the list of cuts.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    b : Blank
        A blank.
    n : int
        Its place in the order of cutting.

    Returns
    -------
    row : tuple of str
        Number, piece, from and to along the tape, from and to across, its own length and width, what to write on it.

    References
    ----------
    own derivation
    """
    def say(v: float) -> str:
        return format_length(_mark_m(v), d.system)

    words = f"{d.marks[b.piece.id]}   {d.surfaces(b.piece, 3)}{_up(b.piece)}"
    if b.piece.second_at:
        words = f"{d.surfaces(b.piece, 2)}; part them by the flat pattern"
    size = (format_length(b.x1_m - b.x0_m, d.system), format_length(b.y1_m - b.y0_m, d.system))
    return (str(n), d.marks[b.piece.id], say(b.x0_m), say(b.x1_m), say(b.y0_m), say(b.y1_m), *size, words)


def _mark_m(at_m: float) -> float:
    """A place on the roll as list and drawing mark it: blanks that end together are printed alike."""
    return round(at_m, 4)


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


def _ends(strip: Strip) -> list[float]:
    """Where the tape is marked: the far end of every blank."""
    return sorted({_mark_m(b.x1_m) for b in strip.blanks})


def _wide(stock: Stock) -> float:
    return max(LEAST_STRIP_MM, min(stock.width_m * SCALE, MOST_STRIP_MM))


def _strip_tall(page: Page, stock: Stock, strip: Strip) -> float:
    return _wide(stock) + 5.0 + row_depth_mm(_ends(strip), page.field.width_mm - 4.0, page.digest.system, MARK_MM) + 4.0


def _draw_strip(page: Page, stock: Stock, strip: Strip, y_mm: float) -> float:
    """One stretch of the roll with its tape marks; says where the next thing may begin."""
    sketch, f, d = page.sketch, page.field, page.digest
    tall = _wide(stock)
    k = min(SCALE, (f.width_mm - 8.0) / (strip.end_m - strip.start_m))
    view = View(f.x0_mm + 2.0 - strip.start_m * k, y_mm + tall, k)
    across = tall / stock.width_m
    x0, x1 = view.at(strip.start_m, 0.0)[0], view.at(strip.end_m, 0.0)[0]
    sketch.rect("ground", x0, y_mm, x1 - x0, tall, "edge", PAPER)
    for n, b in enumerate(strip.blanks):
        xa, xb = view.at(b.x0_m, 0.0)[0], view.at(b.x1_m, 0.0)[0]
        y_high = view.y_mm - across * b.y1_m
        sketch.rect("pieces", xa, y_high, xb - xa, across * (b.y1_m - b.y0_m), "edge", _tone(b.piece.role, n))
        if b.piece.second_at:
            _parted(page, b, (xa, view.y_mm - across * b.y0_m), (k, across))
            continue
        _name(page, d.marks[b.piece.id], (xa, y_high, xb, view.y_mm - across * b.y0_m))
    marks = [Mark(view.at(x, 0.0)[0], view.y_mm, x) for x in _ends(strip)]
    row = Row(False, view.y_mm + 4.0, 1, view.at(0.0, 0.0)[0], f.x0_mm, f.x1_mm - 2.0, k, d.system, MARK_MM)
    running(sketch, row, marks, (x0, x1))
    return y_mm + _strip_tall(page, stock, strip)


def _parted(page: Page, b: Blank, corner_mm: tuple[float, float], scale: tuple[float, float]) -> None:
    """The cut that parts two pieces on a blank, and the number of either."""
    length, width = b.piece.blank_m or (0.0, 0.0)
    turned = b.piece.cut is not None and b.piece.cut.turned
    (x, y), (along, across) = corner_mm, scale

    def at(p: tuple[float, float]) -> tuple[float, float]:
        s, t = (width - p[1], p[0]) if turned else p
        return x + along * s, y - across * t

    page.sketch.line("edges", at(b.piece.parting_m[0]), at(b.piece.parting_m[-1]), "scissors")
    (x0, y0), (x1, y1) = b.piece.parting_m[0], b.piece.parting_m[-1]
    for letter, side in (("a", 1.0), ("b", -1.0)):
        ring = [c for c in ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
                if side * ((x1 - x0) * (c[1] - y0) - (y1 - y0) * (c[0] - x0)) > 0.0]
        c = shapely.convex_hull(shapely.multipoints([*ring, *b.piece.parting_m])).centroid
        mark = f"{page.digest.marks[b.piece.id]}{letter}"
        mx, my = at((c.x, c.y))
        wide, tall = width_mm(mark, 4.5, True) / 2 + 1.0, 4.5
        _name(page, mark, (mx - wide, my - tall, mx + wide, my + tall))


def _tone(role: Role, n: int) -> str:
    if role is Role.SHEET:
        return SHEET_B if n % 2 else SHEET_A
    return BAND if role is Role.BAND else CORNER


def _name(page: Page, mark: str, box: tuple[float, float, float, float]) -> None:
    """The piece's number on its blank, as large as it has room, upright where it is narrow."""
    x0, y0, x1, y1 = box
    for h in (8.0, 6.0, 4.5, 3.5, 2.5):
        w = width_mm(mark, h, True)
        for long, short, turn in ((x1 - x0, y1 - y0, 0.0), (y1 - y0, x1 - x0, 90.0)):
            if h + 1.6 <= short and w + 1.6 <= long:
                x, y = (x0 + x1) / 2 + (h / 2 if turn else 0.0), (y0 + y1) / 2 + (0.0 if turn else h / 2)
                text = Text((x, y), mark, h, "middle", INK, True, turn)
                page.sketch.placer.take(padded(text_box(text), 0.4))
                page.sketch.put("labels", text)
                return


def _column(page: Page, stock: Stock, blanks: Sequence[Blank]) -> None:
    d = page.digest
    page.heading("Roll")
    page.note(stock.material)
    page.note(f"{format_length(stock.width_m, d.system)} wide, {format_length(stock.length_m, d.system)} long, "
              f"{format_length(stock.used_length_m, d.system)} used.")  # fmt: skip
    area = sum((b.x1_m - b.x0_m) * (b.y1_m - b.y0_m) for b in blanks)
    used = stock.used_length_m * stock.width_m
    if used > 0:
        page.note(f"Blanks are {100 * area / used:.0f} % of the used length.")
    page.note(f"Left on the {'remnant' if stock.on_hand else 'roll'}: {format_length(stock.length_m - stock.used_length_m, d.system)}.")
    page.heading("How to cut")
    page.note("“Tape” is measured from the roll's end, “long” and “wide” are the piece's own.")
    page.note("Hook the tape on the roll's end. Cut in the order of the list; every cut runs from edge to edge of what is left.")
    page.note(
        "“Across” is measured from the edge that is drawn below. Write number, place and top on the back before the next cut. Tick the box."
    )
    if any(b.piece.second_at for b in blanks):
        page.note("A slanted line parts the two pieces of one blank, a and b: mark its ends by the flat pattern, then cut. Number both.")
    page.note("Strips are drawn to scale along the tape only.", 2.6, SOFT)
