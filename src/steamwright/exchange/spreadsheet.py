"""The order as a spreadsheet whose formulas a person can follow."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from steamwright.exchange.tables import (
    FINDING_HEAD,
    ORDER_HEAD,
    PIECE_HEAD,
    ROLL_HEAD,
    Cell,
    finding_rows,
    pack_price_usd,
    piece_rows,
    roll_rows,
)
from steamwright.plan.model import Plan

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

_DATE = datetime(2000, 1, 1)
_TEAL, _PALE, _INK = "FF0F5257", "FFE3EFEE", "FF1B1F23"
_WIDTHS = {
    "Order": (24, 40, 10, 8, 9, 8, 12, 12, 40, 60),
    "Pieces": (9, 12, 10, 13, 24, 40, 30, 16, 16, 10, 18, 14),
    "Rolls": (10, 24, 10, 10, 14, 12, 80),
    "Findings": (15, 11, 24, 12, 6, 12, 9, 22, 18, 18, 60, 60),
}


def order_xlsx(plan: Plan) -> bytes:
    """Write the order as a workbook with the sheets Order, Pieces, Rolls and Findings.

    Packs are rounded up, costs multiplied and added up by formulas in the cells; price cells may be overwritten.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    workbook : bytes
        An XLSX file; the same plan gives the same bytes.

    References
    ----------
    own derivation
    """
    import openpyxl

    book = openpyxl.Workbook()
    book.properties.creator, book.properties.title = "Steamwright", f"Order for {plan.job.name}"
    book.properties.created = _DATE
    sheet = book.worksheets[0]
    sheet.title = "Order"
    _order(sheet, plan)
    _table(book.create_sheet("Pieces"), PIECE_HEAD, piece_rows(plan))
    _rolls(book.create_sheet("Rolls"), plan)
    _table(book.create_sheet("Findings"), FINDING_HEAD, finding_rows(plan))
    _styles(book)
    for each in book.worksheets:
        _dress(each)
    out = io.BytesIO()
    book.save(out)
    return _dateless(out.getvalue())


def _order(sheet: Worksheet, plan: Plan) -> None:
    rows: list[tuple[Cell, ...]] = [
        (x.item, x.name, x.need, x.unit, x.pack, None, pack_price_usd(x), None, ", ".join(x.pieces), x.reason) for x in plan.order]
    _table(sheet, ORDER_HEAD, rows)
    last = len(rows) + 1
    for r in range(2, last + 1):
        sheet[f"F{r}"] = f"=ROUNDUP(C{r}/E{r},0)"
        sheet[f"H{r}"] = f'=IF(G{r}="","",F{r}*G{r})'
        for column in "GH":
            sheet[f"{column}{r}"].number_format = "#,##0.00"
        for column in "CE":
            sheet[f"{column}{r}"].number_format = "0.##"
    sheet[f"G{last + 1}"] = "Total"
    sheet[f"H{last + 1}"] = f"=SUM(H2:H{last})" if rows else 0
    sheet[f"H{last + 1}"].number_format = "#,##0.00"
    unpriced = sum(x.usd is None for x in plan.order)
    notes = ["Need, pack and price may be overwritten: packs, costs and the total follow."]
    notes += [f"{unpriced} of {len(rows)} lines have no price and are not in the total."] if unpriced else []
    for n, note in enumerate(notes, last + 3):
        sheet[f"A{n}"] = note


def _rolls(sheet: Worksheet, plan: Plan) -> None:
    rows = roll_rows(plan)
    _table(sheet, ROLL_HEAD, rows)
    for r in range(2, len(rows) + 2):
        sheet[f"F{r}"] = f"=C{r}-E{r}"
        for column in "CDEF":
            sheet[f"{column}{r}"].number_format = "0.000"


def _table(sheet: Worksheet, head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    for r, row in enumerate([head, *rows], 1):
        for c, value in enumerate(row, 1):
            if value is None or value == "":
                continue
            cell = sheet.cell(row=r, column=c, value=value)
            if isinstance(value, str):
                cell.data_type = "s"  # a name that starts with = is text, never a formula


def _styles(book: Workbook) -> None:
    """Named once: a style for each cell apart would take half of the time that the workbook takes."""
    from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side

    line = Border(bottom=Side(style="hair", color=_INK))
    book.add_named_style(NamedStyle("row mark", alignment=Alignment(vertical="top", wrap_text=False), border=line))
    book.add_named_style(NamedStyle("row text", alignment=Alignment(vertical="top", wrap_text=True), border=line))
    book.add_named_style(NamedStyle("row head", font=Font(bold=True, color=_TEAL), fill=PatternFill("solid", fgColor=_PALE),
                                    alignment=Alignment(vertical="bottom", wrap_text=True)))


def _dress(sheet: Worksheet) -> None:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.properties import PageSetupProperties

    for c, width in enumerate(_WIDTHS[sheet.title], 1):
        sheet.column_dimensions[get_column_letter(c)].width = width
    for row in sheet.iter_rows(min_row=2):
        for n, cell in enumerate(row):
            form = cell.number_format
            cell.style = "row text" if n else "row mark"
            if form != "General":
                cell.number_format = form
    for cell in sheet[1]:
        cell.style = "row head"
    if sheet.title == "Order":
        for r in range(2, sheet.max_row + 1):
            if str(sheet[f"F{r}"].value or "").startswith("="):
                for column in "CEG":
                    sheet[f"{column}{r}"].font = Font(color="FF1F4E79")
            elif sheet[f"G{r}"].value == "Total":
                sheet[f"G{r}"].font = sheet[f"H{r}"].font = Font(bold=True)
    sheet.freeze_panes = "B2"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.print_title_rows = "1:1"


def _dateless(workbook: bytes) -> bytes:
    """Take the clock out of a workbook: the time of saving and the times in the archive."""
    out = io.BytesIO()
    stamp = _DATE.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
    with zipfile.ZipFile(io.BytesIO(workbook)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in sorted(old.namelist(), key=lambda n: (n != "[Content_Types].xml", n)):
            data = old.read(name)
            if name == "docProps/core.xml":
                data = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>" + stamp, data)
            new.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()
