"""Cut sheets of boards: every stock board with the pieces that are cut from it, and the list of cuts."""

from __future__ import annotations

from dataclasses import dataclass

from steamwright.covering.boards.model import Board, StockBound
from steamwright.covering.model import Stock
from steamwright.drawing.digest import Digest
from steamwright.drawing.frame import Page, continued, open_page
from steamwright.drawing.labels import padded
from steamwright.drawing.pens import INK, PAPER, SHEET_A, SHEET_B, SOFT
from steamwright.drawing.scene import Sheet, Text
from steamwright.drawing.sheets.cut_outs import cut_outs_of
from steamwright.drawing.tables import LIST_MM, draw_list, fitted
from steamwright.drawing.text import text_box, width_mm
from steamwright.units import format_length

SCALE = 1000.0 / 32.0
NAME_MM, GAP_MM = 7.0, 6.0
TITLES = ("board", "piece", "along from", "to", "across from", "to")


@dataclass(frozen=True, slots=True)
class Piece:
    """A board piece on its stock: from and to along it, from and to across. [m]"""

    board: Board
    x0_m: float
    x1_m: float
    y0_m: float
    y1_m: float


def board_cuts(d: Digest, name: str, number: str) -> tuple[Sheet, ...]:
    """Draw how the boards are cut: pictures of all stock boards first, then the list.

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
        As many as pictures and list need.

    References
    ----------
    own derivation
    """
    stock = list(d.plan.boards.stock)
    rows = [row for s in stock for row in _rows(d, s)]
    columns = fitted(TITLES, rows, LIST_MM)
    sheets: list[Sheet] = []
    while stock or rows:
        page = open_page(d, *continued(name, number, len(sheets)), "Cut sheet, boards")
        y = page.field.y0_mm
        if stock:
            drawn, y = _pictures(page, stock)
            stock = stock[drawn:]
        if not stock and y < page.field.y1_mm - 30.0:
            rows = rows[draw_list(page, y, columns, "write on the back", rows) :]
        _column(page)
        sheets.append(page.finish())
    return tuple(sheets)


def pieces_on(d: Digest, stock: Stock) -> tuple[Piece, ...]:
    """The pieces of one stock board in cutting order.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    stock : Stock
        A board as it is bought.

    Returns
    -------
    pieces : tuple of Piece
        From its first corner on.

    References
    ----------
    own derivation
    """
    out = []
    for b in d.plan.boards.pieces:
        if b.cut.stock == stock.id:
            along, across = (b.blank_m[1], b.blank_m[0]) if b.cut.turned else b.blank_m
            out.append(Piece(b, b.cut.x_m, b.cut.x_m + along, b.cut.y_m, b.cut.y_m + across))
    return tuple(sorted(out, key=lambda p: (round(p.x0_m, 4), round(p.y0_m, 4))))


def _rows(d: Digest, stock: Stock) -> list[tuple[str, ...]]:
    def say(v: float) -> str:
        return format_length(v, d.system)

    rows: list[tuple[str, ...]] = []
    for p in pieces_on(d, stock):
        trim = ", then trim by the list of cut-outs" if cut_outs_of(p.board) else ""
        where = d.names.get(p.board.facet, p.board.facet)
        rows.append((_number(stock), d.marks[p.board.id], say(p.x0_m), say(p.x1_m), say(p.y0_m), say(p.y1_m), f"{where}{trim}"))
    return rows


def _number(stock: Stock) -> str:
    return str(int(stock.id.rpartition("-")[2]))


def _pictures(page: Page, stock: list[Stock]) -> tuple[int, float]:
    """Stock boards from left to right in rows; says how many were drawn and where the next thing may begin. [mm]"""
    f = page.field
    x, y, tall = f.x0_mm, f.y0_mm, 0.0
    for n, s in enumerate(stock):
        w, h = s.length_m * SCALE, s.width_m * SCALE + NAME_MM
        if x + w > f.x1_mm and x > f.x0_mm:
            x, y, tall = f.x0_mm, y + tall + GAP_MM, 0.0
        if y + h > f.y1_mm:
            return n, f.y1_mm
        _picture(page, s, x, y)
        x, tall = x + w + GAP_MM, max(tall, h)
    return len(stock), y + tall + GAP_MM


def _picture(page: Page, stock: Stock, x_mm: float, y_mm: float) -> None:
    sketch, d = page.sketch, page.digest
    sketch.write("labels", (x_mm, y_mm + 4.2), f"board {_number(stock)}", 3.5, color=SOFT, bold=True)
    top = y_mm + NAME_MM
    low = top + stock.width_m * SCALE
    sketch.rect("ground", x_mm, top, stock.length_m * SCALE, stock.width_m * SCALE, "edge", PAPER)
    for n, p in enumerate(pieces_on(d, stock)):
        left, high = x_mm + p.x0_m * SCALE, low - p.y1_m * SCALE
        w, h = (p.x1_m - p.x0_m) * SCALE, (p.y1_m - p.y0_m) * SCALE
        sketch.rect("pieces", left, high, w, h, "edge", SHEET_B if n % 2 else SHEET_A)
        _name(page, d.marks[p.board.id], left, high, w, h)


def _name(page: Page, mark: str, x_mm: float, y_mm: float, w_mm: float, h_mm: float) -> None:
    """The piece's number, as large as it has room, upright where it is narrow."""
    for size in (5.0, 3.5, 2.5, 1.8):
        wide = width_mm(mark, size, True)
        for long, short, turn in ((w_mm, h_mm, 0.0), (h_mm, w_mm, 90.0)):
            if size + 0.8 <= short and wide + 0.8 <= long:
                at = (x_mm + w_mm / 2 + (size / 2 if turn else 0.0), y_mm + h_mm / 2 + (0.0 if turn else size / 2))
                text = Text(at, mark, size, "middle", INK, True, turn)
                page.sketch.placer.take(padded(text_box(text), 0.2))
                page.sketch.put("labels", text)
                return


def _fewest(bound: StockBound) -> str:
    if bound.proven_optimal:
        return "These pieces cannot be cut from fewer: proven."
    return f"No way to cut these pieces takes fewer than {bound.lower}; whether fewer than {bound.boards} do is not known."


def _column(page: Page) -> None:
    d, boards = page.digest, page.digest.plan.boards
    page.heading("Boards")
    for item in sorted({s.item for s in boards.stock}):
        mine = [s for s in boards.stock if s.item == item]
        size = f"{format_length(mine[0].width_m, d.system)} × {format_length(mine[0].length_m, d.system)}"
        page.note(f"{len(mine)} × {mine[0].material}, {size}")
        page.note(" ".join(_fewest(b) for b in boards.bounds if b.item == item))
    page.note(f"{100 * (1 - boards.waste_ratio):.0f} % of what is bought is cut to pieces.")
    page.heading("How to cut")
    page.note("Every cut runs from edge to edge of what is left. “Along” is measured from the left end, “across” from the edge drawn below."
              " Lay the board face up.")  # fmt: skip
    page.note("Measure the opening before you cut a board that is trimmed.")
    page.heading("Safety")
    page.note("Score and snap, or cut wet or with extraction: the dust harms lungs. Gloves and glasses.")
