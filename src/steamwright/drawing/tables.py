"""Rows of lettering in the drawing field: lists with tab stops, headings and tick boxes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from steamwright.drawing.frame import Page, shorten
from steamwright.drawing.pens import PAPER, TEAL
from steamwright.drawing.text import width_mm, wrap

HEAD_RATIO = 0.8
GAP_MM = 5.0
LIST_MM = 3.6
"""Height of the capitals of a list. [mm]"""

@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: its heading and the width it takes. [mm]"""

    title: str
    width_mm: float


@dataclass(frozen=True, slots=True)
class Grid:
    """Where a table stands and how it looks; ``line_mm`` is the distance of base lines. [mm]"""

    x_mm: float
    y_mm: float
    bottom_mm: float
    columns: tuple[Column, ...]
    height_mm: float = 3.5
    tick: bool = False
    line_ratio: float = 1.95

    @property
    def line_mm(self) -> float:
        """Distance of base lines. [mm]"""
        return self.height_mm * self.line_ratio

    @property
    def width_mm(self) -> float:
        """Width with tick boxes. [mm]"""
        return sum(c.width_mm for c in self.columns) + (self.height_mm * 2.2 if self.tick else 0.0)


def fitted(titles: Sequence[str], rows: Sequence[Sequence[str]], height_mm: float) -> tuple[Column, ...]:
    """Columns as wide as the widest of their texts.

    Parameters
    ----------
    titles : sequence of str
        Their headings.
    rows : sequence of sequence of str
        All rows that they shall hold, also those of further sheets; longer ones than the titles are cut off.
    height_mm : float
        Height of the capitals. [mm]

    Returns
    -------
    columns : tuple of Column
        One a title.

    References
    ----------
    own derivation
    """
    return tuple(Column(title, GAP_MM + max([width_mm(title, height_mm * HEAD_RATIO, True),
                                             *(width_mm(row[k], height_mm, k == 0) for row in rows)]))
                 for k, title in enumerate(titles))


def draw_table(page: Page, grid: Grid, rows: Sequence[Sequence[str]]) -> tuple[int, float]:
    """Draw as many rows as fit.

    Parameters
    ----------
    page : Page
        The sheet.
    grid : Grid
        Place and look.
    rows : sequence of sequence of str
        One text a column; long ones go on in further lines.

    Returns
    -------
    written : (int, float)
        Number of rows drawn (count), the others need another place; and where the table ends [mm].

    References
    ----------
    own derivation
    """
    sketch, h, line = page.sketch, grid.height_mm, grid.line_mm
    indent = h * 2.2 if grid.tick else 0.0
    y, x = grid.y_mm + h, grid.x_mm + indent
    for column in grid.columns:
        sketch.write("labels", (x, y), shorten(column.title, h * HEAD_RATIO, column.width_mm - 1.5), h * HEAD_RATIO, color=TEAL, bold=True)
        x += column.width_mm
    y += h * 0.6
    sketch.line("frame", (grid.x_mm, y), (grid.x_mm + grid.width_mm, y), "teal_thin")
    for n, row in enumerate(rows):
        cells = [wrap(cell, h, c.width_mm - 2.0, k == 0) for k, (cell, c) in enumerate(zip(row, grid.columns, strict=True))]
        tall = max(len(c) for c in cells)
        if y + line * tall + 0.4 * h > grid.bottom_mm:
            return n, y
        x = grid.x_mm + indent
        if grid.tick:
            sketch.rect("labels", grid.x_mm, y + line - h * 1.05, h * 1.1, h * 1.1, "box", PAPER)
        for k, (cell, column) in enumerate(zip(cells, grid.columns, strict=True)):
            for m, part in enumerate(cell):
                if part:
                    sketch.write("labels", (x, y + line * (m + 1)), part, h, bold=k == 0)
            x += column.width_mm
        y += line * tall + 0.25 * h
        sketch.line("frame", (grid.x_mm, y + 0.45 * h), (grid.x_mm + grid.width_mm, y + 0.45 * h), "rule")
        y += 0.2 * h
    return len(rows), y


def draw_list(page: Page, y_mm: float, columns: tuple[Column, ...], words: str, rows: Sequence[Sequence[str]]) -> int:
    """Draw as many rows of a list with tick boxes as fit, over the whole width of the field.

    Parameters
    ----------
    page : Page
        The sheet.
    y_mm : float
        Where it begins. [mm]
    columns : tuple of Column
        All but the last.
    words : str
        Heading of the last, which takes what they leave.
    rows : sequence of sequence of str
        One text a column.

    Returns
    -------
    written : int
        Number of rows drawn (count).

    References
    ----------
    own derivation
    """
    f = page.field
    grid = Grid(f.x0_mm, y_mm, f.y1_mm, columns, LIST_MM, tick=True, line_ratio=1.6)
    return draw_table(page, replace(grid, columns=(*columns, Column(words, f.width_mm - grid.width_mm))), rows)[0]
