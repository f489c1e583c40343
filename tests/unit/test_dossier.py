"""The dossier: one PDF with everything in it."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from steamwright.covering.model import Account, Alternative, LayerCount, WishCost
from steamwright.dossier.compile import DossierError, dossier_pdf, size_mm
from steamwright.dossier.contents import cautions, contents
from steamwright.dossier.cutaway import cutaway_svg
from steamwright.dossier.words import breakable, value
from tests import plans

SHEET = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="431.8mm" height="279.4mm" viewBox="0 0 431.8 279.4">'
    b'<text x="9" y="20">B</text></svg>'
)
WIDE = SHEET.replace(b'width="431.8mm" height="279.4mm"', b'height="200mm" width="900mm"')


@pytest.fixture(scope="module")
def reader():
    return PdfReader(io.BytesIO(dossier_pdf(plans.plan(), {"sheets/01-title.svg": SHEET, "sheets/02-cuts.svg": WIDE, "room.dxf": b"0"})))


@pytest.fixture(scope="module")
def text(reader):
    return " ".join(p.extract_text().replace("\u200b", "") for p in reader.pages)


def test_it_is_a_pdf_with_every_part_and_every_drawing(reader, text):
    assert len(reader.pages) == 11  # cover, findings, crew, pieces, rolls, order, pan, survey, build-ups, two drawings
    for part in ("Findings", "For the crew", "Pieces", "Roll cuts", "Order", "Pan", "Survey", "Build-ups"):
        assert part in text


def test_drawings_keep_their_own_size(reader):
    sizes = [(float(p.mediabox.width) * 25.4 / 72, float(p.mediabox.height) * 25.4 / 72) for p in reader.pages]
    assert sizes[0] == pytest.approx((215.9, 279.4), abs=0.1)
    assert sizes[-2] == pytest.approx((431.8, 279.4), abs=0.1)
    assert sizes[-1] == pytest.approx((900.0, 200.0), abs=0.1)


def test_every_piece_roll_and_reading_is_named(text):
    for word in ("S1", "B1", "K1", "C1", "roll-1", "roll-2", *(f"reading-{n:02d}" for n in range(1, 7))):
        assert word in text


def test_fails_come_first_with_what_to_do(reader):
    page = " ".join(reader.pages[1].extract_text().split())
    assert 0 < page.index("fails") < page.index("too close") < page.index("to do by hand") < page.index("holds")
    assert "Slope it at least" in page
    cover = " ".join(reader.pages[0].extract_text().split())
    assert "fails: order and cut nothing until settled" in cover or "fail: order and cut nothing until settled" in cover
    assert cover.index("order and cut nothing") < 40


def test_it_says_on_every_page_that_local_codes_decide(reader):
    for page in reader.pages[:-2]:
        words = " ".join(page.extract_text().split())
        assert "the authority having jurisdiction" in words
        assert "nothing proves the walls" in words


def test_a_suspect_reading_is_named(text):
    words = " ".join(text.split())
    assert "The readings contradict one another" in words
    assert "measure the diagonal B-D again" in words
    assert words.count("Measure again before anything is ordered or cut") == 3  # cover, rolls, order
    assert "the suspect is reading-06 (B-D)" in words


def test_a_covering_that_is_not_tight_says_so_and_where(text):
    words = " ".join(text.split())
    assert "The covering is not lap-tight" in words
    assert "joint-02: no piece crosses it" in words


def test_a_tight_covering_tells_its_spare():
    plan = plans.plan()
    proof = replace(plan.covering.proof, tight=True, least_lap_m=0.0600, where="joint-02", failures=())
    data = contents(replace(plan, covering=replace(plan.covering, proof=proof)), ())
    assert "at least 2.36 in, 0.36 in more than the 2.00 in required" in data["tight"]["sentence"].replace("\u200b", "")


def test_what_wishes_cost_and_other_layouts_take_is_on_paper():
    plan, cost = plans.plan(), Account(1.0, 0.01, -95.0, 1, 0.0)
    others = (Alternative("walls level", {"layout": "walls level"}, Account(16.47, 21.8, 55.0, 14, 370.6), True, 0.0635, 0.4, False),
              Alternative("best by the weights", {}, Account(16.9, 22.0, 57.0, 15, 381.0), True, None, 0.0, True))
    wished = replace(plan.covering, wish_costs=(WishCost("covering.fold[0]", "A-B and B-C closed by a band", cost),), alternatives=others)
    paper = PdfReader(io.BytesIO(dossier_pdf(replace(plan, covering=wished), {})))
    words = " ".join(" ".join(p.extract_text().replace("\u200b", "") for p in paper.pages).split())
    assert "A-B and B-C closed by a band 10.8 ft² of roll more, 1.6 h less, 1 piece more" in words
    assert "walls level 177.3 ft² 72 ft 55 min 14 371 USD 2.50 in layout = \"walls level\"" in words
    assert "This plan: best by the weights 181.9 ft² 72 ft 57 min 15 381 USD –" in words
    assert contents(plan, ())["takes"]["wishes"] == []


@pytest.mark.parametrize("count", range(9, 22))
def test_no_order_row_is_parted_and_the_total_stands_under_the_last_three(count):
    plan = plans.plan()
    line = replace(plan.order[0], pieces=(), usd=None)
    why = "of many words that take some lines "
    order = tuple(replace(line, name=f"thing {n:02d}", reason=f"from-{n:02d} {why * (5 + 3 * n % 7)} to-{n:02d}") for n in range(count))
    paper = PdfReader(io.BytesIO(dossier_pdf(replace(plan, order=order), {})))
    pages = [p.extract_text().replace("\u200b", "") for p in paper.pages]
    for n in range(count):
        (page,) = [p for p in pages if f"from-{n:02d}" in p]
        assert f"to-{n:02d}" in page
        assert f"thing {n:02d}" in page
    (last,) = [p for p in pages if "Total: " in p]
    assert all(f"thing {n:02d}" in last for n in range(count - 3, count))


def test_what_lies_thick_is_a_paragraph_of_its_own():
    plan = plans.plan()
    thick = replace(plan.covering, layers=(LayerCount(plan.room.facets[0].id, 5, (0.1, 0.1)),))
    paper = PdfReader(io.BytesIO(dossier_pdf(replace(plan, covering=thick), {})))
    lines = [line for p in paper.pages for line in p.extract_text().splitlines()]
    assert any(line.startswith("More than three layers lie on one another") for line in lines)


def test_a_cover_that_warns_stays_on_one_page():
    plan = plans.plan()
    doubtful = replace(plan.survey, consistent=False, suspect=plan.survey.readings[-1].id)
    job = plan.job.model_copy(update={"name": "Steam room of the house by the lake, upper floor", "note": "Invented data. " * 12})
    pages = PdfReader(io.BytesIO(dossier_pdf(replace(plan, survey=doubtful, job=job), {}))).pages
    assert "does not apply" in pages[0].extract_text()
    assert pages[1].extract_text().split("Findings")[0].count("\n") < 3


def test_same_plan_same_bytes_and_no_clock_in_them(reader):
    assert reader.metadata.creation_date is None
    assert reader.metadata.modification_date is None
    assert dossier_pdf(plans.plan(), {"a.svg": SHEET}) == dossier_pdf(plans.plan(), {"a.svg": SHEET})


def test_metric_jobs_are_printed_in_metric_on_a4():
    plan = plans.plan()
    metric = PdfReader(io.BytesIO(dossier_pdf(replace(plan, job=plan.job.model_copy(update={"units": "metric"})), {})))
    assert float(metric.pages[0].mediabox.height) == pytest.approx(841.9, abs=0.5)
    assert "m³" in metric.pages[0].extract_text()
    assert "ft" not in metric.pages[3].extract_text()


def test_a_drawing_without_a_size_is_refused():
    with pytest.raises(DossierError, match="millimetres"):
        dossier_pdf(plans.plan(), {"bad.svg": b'<svg viewBox="0 0 10 10"></svg>'})
    assert size_mm("x", WIDE) == (900.0, 200.0)


def test_markup_in_a_name_stays_text():
    plan = plans.plan()
    odd = PdfReader(io.BytesIO(dossier_pdf(replace(plan, job=plan.job.model_copy(update={"name": '#panic() *x* $y$ "'})), {})))
    assert "#panic() *x* $y$" in odd.pages[0].extract_text()


def test_long_words_break_where_they_may():
    assert breakable("short words stay") == "short words stay"
    long = breakable("x" * 40)
    assert long.replace("\u200b", "") == "x" * 40
    assert max(len(part) for part in long.split("\u200b")) == 14
    assert breakable("first-wall/second-wall") == "first-\u200bwall/\u200bsecond-\u200bwall"


@pytest.mark.parametrize(("number", "unit", "shown"), [(None, "in", "–"), (True, "", "yes"), (2.0, "in/ft", "2 in/ft"), ("out", "", "out")])
def test_what_a_finding_compares(number, unit, shown):
    assert value(number, unit) == shown


def test_every_caution_names_a_source_that_exists():
    rows = cautions()
    assert len(rows) >= 10
    assert all(row["source"] and row["text"].endswith((".", "over.")) for row in rows)
    assert any("memory" in row["source"] for row in rows)


def test_the_cutaway_stays_inside_its_picture():
    import re
    svg = cutaway_svg(plans.box()).decode()
    points = [(float(a), float(b)) for a, b in re.findall(r"[ML](-?[\d.]+),(-?[\d.]+)", svg)]
    assert len(points) >= 24
    assert all(0 <= x <= 150 and 0 <= y <= 110 for x, y in points)
