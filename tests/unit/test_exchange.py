"""The order as a spreadsheet and as CSV."""

from __future__ import annotations

import csv
import io
import math
import re
import zipfile
from dataclasses import replace

import openpyxl
import pytest

from steamwright.exchange.spreadsheet import order_xlsx
from steamwright.exchange.tables import order_csv
from tests import plans


@pytest.fixture(scope="module")
def book():
    return openpyxl.load_workbook(io.BytesIO(order_xlsx(plans.plan())))


def column(sheet, head):
    names = [c.value for c in sheet[1]]
    return names.index(head) + 1


def follow(sheet, formula):
    """Reckon the few formulas of the sheet by hand; anything else is an error."""
    if not (isinstance(formula, str) and formula.startswith("=")):
        return formula
    def at(address):
        return follow(sheet, sheet[address].value)
    if m := re.fullmatch(r"=ROUNDUP\((\w+)/(\w+),0\)", formula):
        return math.ceil(at(m[1]) / at(m[2]) - 1e-12)
    if m := re.fullmatch(r'=IF\((\w+)="","",(\w+)\*(\w+)\)', formula):
        return "" if at(m[1]) in (None, "") else at(m[2]) * at(m[3])
    if m := re.fullmatch(r"=SUM\(([A-Z])(\d+):\1(\d+)\)", formula):
        values = [at(f"{m[1]}{r}") for r in range(int(m[2]), int(m[3]) + 1)]
        return sum(v for v in values if isinstance(v, (int, float)))
    if m := re.fullmatch(r"=(\w+)-(\w+)", formula):
        return at(m[1]) - at(m[2])
    raise AssertionError(f"{formula} is no formula that a person was promised")


def test_the_sheets(book):
    assert book.sheetnames == ["Order", "Pieces", "Rolls", "Findings"]


def test_the_formulas_give_the_packs_and_costs_of_the_plan(book):
    sheet, order = book["Order"], plans.order()
    for r, line in enumerate(order, 2):
        packs, cost = sheet.cell(r, column(sheet, "Packs")).value, sheet.cell(r, column(sheet, "Cost, USD")).value
        assert packs.startswith("=")
        assert cost.startswith("=")
        assert sheet.cell(r, 1).value == line.item
        assert follow(sheet, packs) == line.packs
        assert follow(sheet, cost) == ("" if line.usd is None else pytest.approx(line.usd))
    total = sheet.cell(len(order) + 2, column(sheet, "Cost, USD")).value
    assert total.startswith("=SUM(")
    assert follow(sheet, total) == pytest.approx(sum(x.usd for x in order if x.usd is not None))


def test_lines_without_a_price_are_told(book):
    notes = [row[0].value for row in book["Order"].iter_rows(min_row=len(plans.order()) + 3) if row[0].value]
    assert any(note.startswith("1 of 5 lines have no price") for note in notes)


def test_every_piece_is_on_the_order_and_in_the_table(book):
    sheet = book["Order"]
    listed = [p for r in range(2, 2 + len(plans.order())) for p in (sheet.cell(r, column(sheet, "Pieces")).value or "").split(", ") if p]
    pieces = [row[0].value for row in book["Pieces"].iter_rows(min_row=2)]
    assert sorted(listed) == sorted(pieces) == ["B1", "C1", "K1", "S1"]
    assert pieces == ["S1", "B1", "K1", "C1"]  # setting order


def test_what_is_left_on_a_roll_is_reckoned(book):
    sheet = book["Rolls"]
    assert follow(sheet, sheet["F2"].value) == pytest.approx(30.0 - 2.1)


def test_findings_come_fails_first(book):
    verdicts = [row[0].value for row in book["Findings"].iter_rows(min_row=2)]
    assert verdicts == ["fails", "too close to tell", "not said", "to do by hand", "holds", "does not apply"]


def test_same_plan_same_bytes_and_no_clock_in_them():
    first = order_xlsx(plans.plan())
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert {i.date_time for i in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert re.findall(rb"20\d\d-\d\d-\d\d", archive.read("docProps/core.xml")) == [b"2000-01-01", b"2000-01-01"]
    assert first == order_xlsx(plans.plan())
    assert order_csv(plans.plan()) == order_csv(plans.plan())


def test_a_name_that_starts_like_a_formula_stays_text():
    plan = plans.plan()
    sly = replace(plan, order=(replace(plan.order[0], name='=HYPERLINK("x")'), *plan.order[1:]))
    cell = openpyxl.load_workbook(io.BytesIO(order_xlsx(sly)))["Order"]["B2"]
    assert cell.data_type == "s"
    assert cell.value == '=HYPERLINK("x")'


def test_csv_holds_the_order():
    rows = list(csv.DictReader(io.StringIO(order_csv(plans.plan()).decode())))
    assert [r["Item"] for r in rows] == [x.item for x in plans.order()]
    for row, line in zip(rows, plans.order(), strict=True):
        assert int(row["Packs"]) * float(row["Pack"]) >= float(row["Need"])
        assert row["Pieces"].split() == list(line.pieces)
        assert row["Cost, USD"] == ("" if line.usd is None else f"{line.usd:.2f}")


def test_an_order_without_prices_totals_nothing():
    plan = plans.plan()
    bare = replace(plan, order=tuple(replace(x, usd=None) for x in plan.order))
    sheet = openpyxl.load_workbook(io.BytesIO(order_xlsx(bare)))["Order"]
    assert follow(sheet, sheet.cell(len(plan.order) + 2, column(sheet, "Cost, USD")).value) == 0
