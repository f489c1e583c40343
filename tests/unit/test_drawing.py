"""The sheets: lettering apart, dimensions true, everything that a crew looks for on them."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest
import shapely

from steamwright.covering.model import Patch, Role
from steamwright.drawing.bed import cut_bed, height_at
from steamwright.drawing.control import control_lines
from steamwright.drawing.digest import A3_MM, TABLOID_MM, Digest, digest
from steamwright.drawing.dimension import Mark
from steamwright.drawing.frame import COLUMN_MM, MARGIN_MM
from steamwright.drawing.keep_out import keep_out
from steamwright.drawing.render import sheet_set
from steamwright.drawing.scene import Area, Line, Measure, Sheet, Text
from steamwright.drawing.sheets.cautions import read_cautions
from steamwright.drawing.sheets.elevation import merged
from steamwright.drawing.sheets.orientation import door_direction
from steamwright.drawing.sheets.patterns import patterns_of
from steamwright.drawing.sheets.plan_view import FIXTURES
from steamwright.drawing.sheets.rolls import Blank, blanks_on, cut_row, strips_of
from steamwright.drawing.sheets.schedule import seam_rows
from steamwright.drawing.sheets.section import cutting_plane, slice_solid
from steamwright.drawing.sheets.templates import templates_of
from steamwright.drawing.text import overlapping, text_box
from steamwright.room.bed import slab_plane
from steamwright.room.model import FacetKind
from steamwright.sources import load_sources
from steamwright.units import INCH_M, format_length, parse_length_m
from tests import drawing_room
from tests.built import EXAMPLES, example

JOBS = ("inch", "metric", "home-alcove", "commercial-tiers")


@lru_cache(maxsize=8)
def drawn(job: str) -> tuple[Digest, tuple[Sheet, ...]]:
    plan = drawing_room.plan(job) if job in ("inch", "metric") else example(job)
    d = digest(plan)
    return d, sheet_set(d)


def sheet(job: str, ending: str) -> Sheet:
    return next(s for s in drawn(job)[1] if s.name.endswith(ending))


def untrue(measures: Iterable[Measure], finest_m: float) -> list[str]:
    """Dimensions whose words or whose place on the paper are not their value."""
    out = []
    for m in measures:
        on_paper = math.dist(m.start_mm, m.end_mm) / m.scale_mm_per_m
        said_m = parse_length_m("0 in" if m.content == '0"' else m.content)
        if abs(on_paper - m.value_m) > 1e-6 or abs(said_m - m.value_m) > finest_m:
            out.append(f"{m.content}: {m.value_m} m, on paper {on_paper} m")
    return out


@pytest.mark.parametrize("job", ["inch", "metric", *sorted(p.stem for p in EXAMPLES.glob("*.toml"))])
def test_no_lettering_lies_on_other_lettering_or_off_the_paper(job: str) -> None:
    assert {s.name: overlapping(s) for s in drawn(job)[1] if overlapping(s)} == {}


@pytest.mark.parametrize("job", ["inch", "metric", *sorted(p.stem for p in EXAMPLES.glob("*.toml"))])
def test_no_column_runs_over_its_foot(job: str) -> None:
    for s in drawn(job)[1]:
        left = s.width_mm - MARGIN_MM - COLUMN_MM - 0.1
        rules = [i for layer in s.layers for i in layer.items if isinstance(i, Line) and i.pen == "rule" and i.start_mm[0] > left]
        foot = max(i.start_mm[1] for i in rules if i.start_mm[1] == i.end_mm[1])
        column = [t for t in s.texts() if t.at_mm[0] > left and t.at_mm[1] < foot + 4.0]
        assert [t.content for t in column if text_box(t).bounds()[3] > foot] == [], s.name


@pytest.mark.parametrize("ending", ["section", "plan"])
@pytest.mark.parametrize("job", ["home-alcove", "commercial-tiers", "remodel-curbless"])
def test_no_dimension_of_plan_and_section_crosses_a_wall(job: str, ending: str) -> None:
    s = sheet(job, ending)
    items = [i for layer in s.layers for i in layer.items if getattr(i, "pen", None) == "outline"]
    walls = [(i.start_mm, i.end_mm) for i in items if isinstance(i, Line)]
    walls += [e for i in items if isinstance(i, Area) for ring in i.rings_mm for e in pairwise((*ring, ring[0]))]
    said = {m.content for m in s.measures}
    boxes = {t: shapely.Polygon(text_box(t).corners_mm).buffer(-0.2) for t in s.texts() if t.content in said}
    assert len(boxes) >= 4
    assert len(walls) >= 4
    assert [t for t, b in boxes.items() if any(b.intersects(shapely.LineString(w)) for w in walls)] == []


def test_overlapping_lettering_is_seen() -> None:
    d, sheets = drawn("inch")
    s = sheets[1]
    word = s.texts()[0]
    moved = dataclasses.replace(word, at_mm=(word.at_mm[0] + 1.0, word.at_mm[1] + 1.0))
    layer = dataclasses.replace(s.layers[-1], items=(*s.layers[-1].items, moved))
    assert overlapping(dataclasses.replace(s, layers=(*s.layers[:-1], layer)))
    far = dataclasses.replace(word, at_mm=(d.paper_mm[0] - 1.0, 20.0))
    layer = dataclasses.replace(s.layers[-1], items=(*s.layers[-1].items, far))
    assert (word.content, "edge of the paper") in overlapping(dataclasses.replace(s, layers=(*s.layers[:-1], layer)))


@pytest.mark.parametrize("job", JOBS)
def test_every_dimension_says_what_the_paper_shows(job: str) -> None:
    finest_m = 0.0005 if job == "metric" else INCH_M / 32
    measures = [m for s in drawn(job)[1] for m in s.measures]
    assert len(measures) > 60
    assert untrue(measures, finest_m * 1.001) == []


def test_an_untrue_dimension_is_seen() -> None:
    m = next(m for m in sheet("inch", "wall-c-d").measures if m.value_m > 0.3)
    assert untrue([dataclasses.replace(m, value_m=m.value_m + 0.002)], INCH_M / 32)
    assert untrue([dataclasses.replace(m, end_mm=(m.end_mm[0] + 0.5, m.end_mm[1] + 0.5))], INCH_M / 32)


@pytest.mark.parametrize("job", JOBS)
def test_every_upright_edge_of_a_sheet_is_dimensioned_from_the_plumb_line(job: str) -> None:
    d, sheets = drawn(job)
    checked = 0
    for facet in d.main_facets():
        slug = re.sub(r"[^a-z0-9]+", "-", d.names[facet.id].lower())
        page = next(s for s in sheets if s.name.endswith(slug) and s.measures and s.title.lower().startswith(d.names[facet.id].lower()))
        c = control_lines(d, facet)
        said = [m.content for m in page.measures]
        for piece, patch in d.patches[facet.id]:
            s0, t0, s1, t1 = patch.polygon.bounds
            if piece.role is not Role.SHEET or min(s1 - s0, t1 - t0) < 0.3:
                continue
            for s in (s0, s1):
                edge = patch.polygon.boundary.intersection(shapely.LineString([(s, t0), (s, t1)]))
                if edge.length > 0.3 and facet.polygon.boundary.distance(edge.centroid) > 0.01:
                    assert said.count(format_length(abs(s - c.plumb_s_m), d.system)) >= 2, (page.name, piece.id)
                    checked += 1
    assert checked >= 1


def test_lettering_can_be_read_from_six_feet() -> None:
    for name in ("wall-a-b", "wall-b-c", "wall-c-d", "wall-d-a"):
        s = sheet("inch", name)
        said = {m.content for m in s.measures}
        assert min(t.height_mm for t in s.texts() if t.content.lstrip("↑↓← ") in said) >= 5.0
        assert min(t.height_mm for t in s.texts() if re.fullmatch(r"[SBKC]\d+", t.content) and t.at_mm[0] < 320) >= 6.4
        assert max(t.height_mm for t in s.texts() if re.fullmatch(r"[SBKC]\d+", t.content)) >= 8.0


@pytest.mark.parametrize("job", ["home-alcove", "commercial-tiers"])
def test_every_piece_is_numbered_on_every_facet_that_it_lies_on(job: str) -> None:
    d, sheets = drawn(job)
    lettered: dict[str, set[str]] = {}
    for s in sheets:
        if ", seen" in s.title:
            lettered.setdefault(s.title.split(",")[0].lower(), set()).update(t.content.strip("()") for t in s.texts() if t.at_mm[0] < 320)
    for facet in d.main_facets():
        marks = {d.mark_of(x.piece, x.patch) for x in d.lying(facet.id)}
        assert marks <= lettered[d.names[facet.id].lower()]


def test_what_lies_over_hides_what_lies_under() -> None:
    d, _ = drawn("home-alcove")
    laps = 0
    for facet in d.plan.room.facets:
        lying = d.lying(facet.id)
        whole = shapely.union_all([x.polygon for x in lying])
        assert sum(x.visible.area for x in lying) == pytest.approx(whole.area, abs=1e-9)
        for n, x in enumerate(lying):
            above = shapely.union_all([y.polygon for y in lying[n + 1 :]])
            assert x.visible.intersection(above).area < 1e-9
            assert x.hidden.length == pytest.approx(x.hidden.intersection(above).length, abs=1e-6)
            assert not {y.piece.id for y in lying[n + 1 :]} & set(x.piece.over), "a piece is drawn over one that it lies under"
            laps += x.lap.area > 1e-4
    assert laps > 20


def test_the_ceiling_is_the_mirror_image_of_the_plan() -> None:
    def turn(s: Sheet, words: tuple[str, ...]) -> float:
        at = [next(np.mean(text_box(t).corners_mm, axis=0) for t in s.texts() if t.content == w) for w in words]
        return sum(float(a[0] * b[1] - a[1] * b[0]) for a, b in zip(at, at[1:] + at[:1], strict=True))

    plan, overhead = sheet("inch", "02-plan"), sheet("inch", "ceiling-falls")
    walls = ("A-B", "B-C", "C-D", "D-A")
    assert turn(plan, ("A", "B", "C", "D")) < 0 < turn(overhead, walls)  # y runs down the paper: counter-clockwise is negative


def test_the_ceiling_shows_fall_heights_and_light() -> None:
    d, _ = drawn("inch")
    s = sheet("inch", "ceiling-falls")
    words = {t.content for t in s.texts()}
    assert "2 in/ft" in words
    assert {format_length(drawing_room.ceiling_m(0), "inch"), format_length(drawing_room.ceiling_m(drawing_room.LONG), "inch")} <= words
    light = next(p for p in d.plan.room.penetrations if p.kind == "light")
    x, y, _ = d.facets[light.facet].frame.lift([light.center_m])[0]
    assert {m.content for m in s.measures} == {format_length(float(x), "inch"), format_length(float(y), "inch")}


def test_the_section_measures_headroom_over_floor_and_seat() -> None:
    d, _ = drawn("inch")
    way, through_m = cutting_plane(d.plan.finished)
    assert way == pytest.approx([-1.0, 0.0, 0.0])
    cut = slice_solid(d.plan.finished, way, through_m)
    area = abs(shapely.unary_union(list(shapely.polygonize([shapely.LineString(s) for _, s in cut]).geoms)).area)
    mean_m = (drawing_room.ceiling_m(0) + drawing_room.ceiling_m(drawing_room.LONG)) / 2
    assert area == pytest.approx(drawing_room.LONG * mean_m - drawing_room.BENCH_D * (drawing_room.BENCH_H + 0.005), abs=1e-6)
    said = {m.content for m in sheet("inch", "03-section").measures}
    assert format_length(drawing_room.LONG - drawing_room.BENCH_D, "inch") in said
    over_seat_m = drawing_room.ceiling_m(drawing_room.BENCH_D / 2) - drawing_room.BENCH_H - 0.005
    assert format_length(over_seat_m, "inch") in said


@pytest.mark.parametrize("job", ["inch", "home-alcove", "commercial-tiers", "rafter-slope"])
def test_the_section_measures_heights_at_the_walls_themselves(job: str) -> None:
    """Up from the tile: from that on the bed, where a liner lies under it."""
    d, _ = drawn(job)
    page = sheet(job, "03-section")
    plane = cutting_plane(d.plan.finished)
    cut = slice_solid(d.plan.finished, *plane)
    bed = cut_bed(d, *plane)
    x_all = [x for _, s in cut for x, _ in s]
    upright = [s for f, s in cut if f.kind in (FacetKind.WALL, FacetKind.OPENING) and abs(s[0][0] - s[1][0]) < 0.005]
    for end in (min(x_all), max(x_all)):
        ends = [z for s in upright for x, z in s if abs(x - end) < 0.005]
        tiled = bed.tiled_m(end)
        low = min(ends) if tiled is None or min(ends) > tiled else tiled
        said = [m.value_m for m in page.measures if abs(m.start_mm[0] - m.end_mm[0]) < 1e-6]
        assert min(abs(v - (max(ends) - low)) for v in said) < 2e-4


@pytest.mark.parametrize("job", ["home-alcove", "half-wall-crowded", "rafter-slope", "octagon-hip"])
def test_the_section_shows_the_bed_and_the_liner_in_it(job: str) -> None:
    """The bed as thick as the report says at the drain and at the walls; the liner under it, at the bare floor beside the drain."""
    d, _ = drawn(job)
    report, page = d.plan.pan, sheet(job, "03-section")
    assert "the liner, on a pre-slope" in " ".join(t.content for t in page.texts())
    items = [i for layer in page.layers for i in layer.items]
    k = page.measures[0].scale_mm_per_m
    hatched = shapely.union_all([shapely.Polygon(i.rings_mm[0]).buffer(1e-6) for i in items if isinstance(i, Area) and i.hatch == "bed"])
    way, through_m = cutting_plane(d.plan.finished)
    floor = shapely.union_all([shapely.Polygon(ring).buffer(1e-9) for ring in report.bed_top_m])
    run = shapely.LineString([through_m[:2] - 9 * way[:2], through_m[:2] + 9 * way[:2]]).intersection(floor).length
    assert hatched.bounds[2] - hatched.bounds[0] == pytest.approx(run * k, rel=1e-4)
    spots = [(h.x_m, h.y_m, h.bed_m) for h in report.heights]
    a, b, c = slab_plane(d.plan.survey)
    corners = [p for ring in report.bed_top_m for p in ring]
    for x, y, thick in spots:
        top = max((p for p in corners if math.dist(p[:2], (x, y)) < 1e-3), default=None)
        if top is not None:
            assert top[2] - (a * x + b * y + c) == pytest.approx(thick, abs=1e-6)
    assert min(p[2] - (a * p[0] + b * p[1] + c) for p in corners) == pytest.approx(report.bed_at_drain_m, abs=2e-3)
    lying = [i for i in items if isinstance(i, Line) and i.pen == "teal" and abs(i.end_mm[0] - i.start_mm[0]) > 5.0]
    liner = [hatched.buffer(0.05).contains(shapely.LineString([i.start_mm, i.end_mm])) for i in lying]
    assert liner
    assert all(liner)
    steepest = max(abs(i.end_mm[1] - i.start_mm[1]) / abs(i.end_mm[0] - i.start_mm[0]) for i in lying)
    assert 0.5 / 48 < steepest <= 1 / 48 + 1e-6
    low = min(p[2] - (a * p[0] + b * p[1] + c) for ring in report.liner_m for p in ring)
    assert low == pytest.approx(0.0, abs=3e-3)


def test_the_section_shows_the_bed_under_a_bonded_membrane() -> None:
    """From the bare floor to the membrane face, and no liner; the room stands on its own floor, so heights stay those of the tile."""
    d, _ = drawn("remodel-curbless")
    page = sheet("remodel-curbless", "03-section")
    said = " ".join(t.content for t in page.texts())
    assert "The membrane is bonded on it." in said
    assert "liner" not in said
    plane = cutting_plane(d.plan.finished)
    bed = cut_bed(d, *plane)
    floors = [s for f, s in slice_solid(d.plan.room, *plane) if f.kind is FacetKind.FLOOR]
    over = [max(h for s in floors if (h := height_at(s, x)) is not None) - z
            for (xa, za), (xb, zb) in bed.top for x, z in ((xa + 1e-4, za), (xb - 1e-4, zb))]
    assert min(over) > 0.0
    assert max(over) == pytest.approx(0.002, abs=2e-4)  # mortar and sheet
    thick = [top[1] - foot[1] for tops, feet in zip(bed.top, bed.floor, strict=True) for top, foot in zip(tops, feet, strict=True)]
    assert min(thick) == pytest.approx(d.plan.pan.bed_at_drain_m, abs=1e-3)
    assert max(thick) <= d.plan.pan.bed_at_perimeter_m + 1e-6
    assert {format_length(min(thick), "inch"), format_length(max(thick), "inch")} <= {m.content for m in page.measures}


def test_the_plan_places_drain_and_bench() -> None:
    d, _ = drawn("home-alcove")
    said = [m.value_m for m in sheet("home-alcove", "02-plan").measures]
    (drain,) = [p for p in d.plan.room.penetrations if p.kind == "drain"]
    x, y, _ = d.facets[drain.facet].frame.lift([drain.center_m])[0]
    room = shapely.Polygon([(s.x_m, s.y_m) for s in d.plan.survey.stations])
    for way in ((-9.0, 0.0), (0.0, -9.0)):
        far = room.intersection(shapely.LineString([(x, y), (x + way[0], y + way[1])])).length
        assert min(abs(v - far) for v in said) < 1e-6
    for kind in (FacetKind.BENCH_TOP, FacetKind.CURB_TOP):
        for f in (f for f in d.plan.framing.facets if f.kind is kind):
            flat = shapely.Polygon(f.frame.lift(f.outline_m)[:, :2])
            sides = sorted(math.dist(p, q) for p, q in pairwise(flat.exterior.coords))
            assert min(abs(v - sides[-1]) for v in said) < 5e-3


@pytest.mark.parametrize("job", sorted(p.stem for p in EXAMPLES.glob("*.toml")))
def test_names_of_fixtures_cross_no_outline_on_the_plan(job: str) -> None:
    """A name lies wholly inside what it names, or clear of it with a leader that ends in it."""
    d, _ = drawn(job)
    page = sheet(job, "02-plan")
    items = [i for layer in page.layers for i in layer.items]
    shapes = [shapely.Polygon(i.rings_mm[0]) for i in items if isinstance(i, Area) and i.pen == "edge" and i.fill in FIXTURES.values()]
    names = {f.name for f in d.plan.room.facets if f.kind in FIXTURES}
    written = [t for t in page.texts() if t.content in names]
    feet = [i.end_mm for i in items if isinstance(i, Line) and i.pen == "leader"]
    assert {t.content for t in written} == names
    for t in written:
        box = shapely.Polygon(text_box(t).corners_mm)
        around = [s for s in shapes if s.intersects(box)]
        inside = len(around) == 1 and around[0].contains(box)
        assert inside or (not around and any(s.contains(shapely.Point(f)) for s in shapes for f in feet)), t.content


@pytest.mark.parametrize("job", JOBS)
def test_the_plan_cuts_no_reading_short(job: str) -> None:
    d, _ = drawn(job)
    texts = [t.content for t in sheet(job, "02-plan").texts()]
    assert not [t for t in texts if t.endswith("…")]
    if job == "metric":
        assert all(f"{r.residual_m * 1000:+.1f} mm" in texts for r in d.plan.survey.readings)


def test_the_plan_marks_the_suspect_reading_in_words() -> None:
    s = sheet("inch", "02-plan")
    assert any(t.content.endswith("suspect") and t.height_mm >= 5.0 for t in s.texts())
    clean = drawing_room.plan()
    calm = dataclasses.replace(clean, survey=drawing_room.survey(suspect=False))
    page = next(x for x in sheet_set(digest(calm)) if x.name == "02-plan")
    assert not any("suspect" in t.content for t in page.texts())


def test_a_failing_rule_is_named_on_the_title_sheet() -> None:
    many = drawing_room.plan(failing=40)
    pages = [s for s in sheet_set(digest(many)) if s.name.startswith("01-title")]
    assert sum(t.content == "fails" for s in pages for t in s.texts()) == 40
    assert len(pages) > 1
    assert not any(overlapping(s) for s in pages)
    assert any(t.content == "NOT lap-tight" for t in pages[0].texts())
    warning = next(t for t in pages[0].texts() if t.content.startswith("40 findings fail"))
    name = next(t for t in pages[0].texts() if t.content == many.job.name and t.height_mm == 8.0)
    assert warning.at_mm[1] < name.at_mm[1]  # before anything else
    assert not any("fail:" in t.content for t in sheet("home-alcove", "01-title").texts())


@pytest.mark.parametrize("job", JOBS)
def test_rolls_are_cut_in_order_and_no_blank_is_drawn_in_two(job: str) -> None:
    d, sheets = drawn(job)
    for stock in d.plan.covering.stock:
        blanks = blanks_on(d, stock)
        assert all(a.x0_m <= b.x0_m + 1e-4 for a, b in pairwise(blanks))
        strips = strips_of(blanks, 9.0)
        assert [b for s in strips for b in s.blanks] == list(blanks)
        assert all(s.start_m <= b.x0_m and b.x1_m <= s.end_m for s in strips for b in s.blanks)
        pages = [s for s in sheets if s.title == f"Cut sheet, roll {stock.id}"]
        listed = [t.content for s in pages for t in s.texts() if t.content.isdigit() and t.height_mm < 4 and t.at_mm[0] < 30]
        assert sorted(map(int, listed)) == list(range(1, len(blanks) + 1))


@pytest.mark.parametrize("job", JOBS)
def test_a_cut_has_one_mark_on_drawing_and_list_and_the_piece_its_own_size(job: str) -> None:
    d, sheets = drawn(job)
    for stock in d.plan.covering.stock:
        pages = [s for s in sheets if s.title.endswith(f" {stock.id}") and s.title.startswith("Cut sheet")]
        texts = {t.content for s in pages for t in s.texts()}
        marks = {m.content for s in pages for m in s.measures}
        for b in blanks_on(d, stock):
            assert format_length(round(b.x1_m, 4), d.system) in marks
            assert format_length(b.x1_m - b.x0_m, d.system) in texts
        assert {"long", "wide"} <= texts


def test_marks_are_printed_alike_where_a_tenth_of_a_millimetre_would_turn_them() -> None:
    d, _ = drawn("inch")
    (b, *_) = blanks_on(d, d.plan.covering.stock[0])
    at_m = 74 * 0.3048 + INCH_M / 32
    listed = cut_row(d, dataclasses.replace(b, x1_m=at_m - 3e-5), 1)[3]
    assert listed == format_length(round(at_m - 3e-5, 4), "inch")
    assert listed != format_length(at_m - 3e-5, "inch")


def test_both_ceiling_sheets_measure_a_light_alike() -> None:
    d, sheets = drawn("home-alcove")
    (own,) = [f for f in d.main_facets() if f.kind is FacetKind.CEILING]
    c = control_lines(d, own)
    page = next(s for s in sheets if s.title.startswith("Falls and heights"))
    level = [m.value_m for m in page.measures if abs(m.start_mm[1] - m.end_mm[1]) < 1e-6]
    on_own = [p.center_m[0] - c.plumb_s_m + c.plumb_from_corner_m for p in d.penetrations[own.id]]
    assert level
    assert sorted(level) == pytest.approx(sorted(s * math.hypot(*own.frame.u[:2]) for s in on_own), abs=2e-4)


def test_a_roll_is_parted_only_where_a_cut_runs_right_across() -> None:
    piece = drawing_room.covering(drawing_room.solid()).pieces[0]
    rows = ((0.0, 5.0, 0.0, 0.5), (0.0, 2.0, 0.5, 1.0), (2.0, 3.0, 0.5, 1.0), (3.0, 6.0, 0.5, 1.0), (6.0, 9.0, 0.0, 1.0))
    strips = strips_of([Blank(piece, *r) for r in rows], 7.0)
    assert [(s.start_m, s.end_m, len(s.blanks)) for s in strips] == [(0.0, 6.0, 4), (6.0, 9.0, 1)]


def test_templates_fold_where_two_facets_meet_and_print_at_full_size() -> None:
    d, sheets = drawn("home-alcove")
    shown = templates_of(d)
    assert {m for t in shown for m in t.marks} == {d.marks[p.id] for p in d.pieces.values() if p.role is Role.CORNER_PIECE and p.blank_m}
    for t in shown:
        folds = [c for c in t.creases if c.fold]
        assert len(folds) >= 2
        for c in folds:
            assert math.dist(c.start_m, c.end_m) > 0.05
    page = next(s for s in sheets if "templates" in s.name)
    bar = next(m for m in page.measures if m.content == '6"')
    assert math.dist(bar.start_mm, bar.end_mm) == pytest.approx(152.4)


def test_seams_are_scheduled_with_their_laps() -> None:
    d, _ = drawn("inch")
    rows = {(r[0], r[1]): r[2:] for r in seam_rows(d)}
    assert rows[("S1 / S2", "wall A-B")] == (format_length(drawing_room.LAP_M, "inch"), "S2")
    for job in JOBS:
        told = [r[:2] for r in seam_rows(drawn(job)[0])]
        assert len(told) == len(set(told)), job


def test_no_screws_round_pipes_and_below_the_flood_line() -> None:
    d, _ = drawn("inch")
    wall = next(f for f in d.plan.room.facets if f.name == "C-D")
    pipes, low = keep_out(d, wall)
    for p in d.penetrations[wall.id]:
        assert pipes.contains(shapely.Point(p.center_m).buffer(p.diameter_m / 2 + 0.9 * drawing_room.LAP_M))
    assert low.bounds[3] - low.bounds[1] == pytest.approx(d.plan.pan.flood_line_over_drain_m + INCH_M, abs=1e-9)
    barred = next(f for f in d.plan.room.facets if f.name == "B-C")
    bar = next(p for p in d.penetrations[barred.id] if p.kind == "bar")
    assert not keep_out(d, barred)[0].contains(shapely.Point(bar.center_m))


def test_the_way_to_the_door_is_said_from_where_one_stands() -> None:
    d, _ = drawn("inch")
    said = {f.name: door_direction(d, f, np.array(f.frame.u)) for f in d.main_facets()}
    # the door stands in A-B, at the foot of the plan; the ceiling's sheet has A-B at its upper edge
    assert said == {"A-B": "door in this wall", "B-C": "door on your right →", "C-D": "↓ door behind you", "D-A": "← door on your left",
                    "ceiling": "↑ door towards the upper edge"}


def test_heights_beside_a_wall_say_which_side_of_the_level_line_they_lie() -> None:
    texts = [t.content for t in sheet("inch", "wall-c-d").texts()]
    assert any(t.startswith("↑ ") for t in texts)
    assert any(t.startswith("↓ ") for t in texts)


@pytest.mark.parametrize("job", ["home-alcove", "commercial-tiers", "octagon-hip", "half-wall-crowded"])
def test_names_of_pipes_and_heights_of_the_pan_stand_clear_of_corners(job: str) -> None:
    _, sheets = drawn(job)
    for s in sheets:
        names = [t for t in s.texts() if " ⌀ " in t.content and t.height_mm == 3.5]
        heights = [t for t in s.texts() if t.bold and t.height_mm == 5.0 and t.content.endswith('"')] if s.title == "Pan" else []
        if not s.title.startswith("Wall") and not heights:
            continue
        items = [i for layer in s.layers if layer.name in ("outline", "pieces") for i in layer.items if isinstance(i, Area)]
        rings = [r for i in items if i.pen == "outline" for r in i.rings_mm[1:]] if names else [r for i in items for r in i.rings_mm]
        for t in names or heights:
            box = shapely.Polygon(text_box(t).corners_mm)
            assert not any(box.intersects(shapely.LinearRing(r)) for r in rings), (s.name, t.content)


@pytest.mark.parametrize("job", ["inch", "home-alcove"])
def test_lengths_to_the_left_of_the_plumb_line_say_so(job: str) -> None:
    d, sheets = drawn(job)
    for facet in (f for f in d.main_facets() if f.kind is FacetKind.WALL):
        c = control_lines(d, facet)
        page = next(s for s in sheets if s.title.startswith(d.names[facet.id][:1].upper() + d.names[facet.id][1:]) and s.measures)
        corner = format_length(c.plumb_s_m - facet.polygon.bounds[0], d.system)
        (left, *_) = sorted((t for t in page.texts() if t.content.endswith(f" {corner}") and t.content[0] in "←↑"), key=lambda t: t.at_mm)
        # in turned lettering the arrow turns along, and points to the left on the paper
        assert left.content[0] == ("↑" if left.turn_deg else "←")


def test_what_cannot_be_marked_beside_another_is_dimensioned_once() -> None:
    marks = [Mark(0.0, 0.0, v) for v in (0.5, 0.5016, 0.5031, 0.9)]
    assert [m.value_m for m in merged(marks)] == [0.5, 0.5031, 0.9]
    pipes = [Mark(0.0, 0.0, v, "center") for v in (0.5, 0.501)]
    assert len(merged([*marks, *pipes])) == 5
    for s in drawn("commercial-tiers")[1]:
        if s.title.startswith("Ceiling") and s.measures:
            rows: dict[float, list[float]] = {}
            for m in (m for m in s.measures if m.start_mm[0] == m.end_mm[0] < s.width_mm / 3):
                rows.setdefault(round(m.start_mm[0], 3), []).append(m.end_mm[1] / m.scale_mm_per_m)
            assert all(abs(a - b) > 2.9e-3 for v in rows.values() if len(v) > 3 for a, b in pairwise(sorted(v)))


def test_every_caution_has_a_known_source_and_all_hazards_are_there() -> None:
    keys = set(load_sources())
    card = read_cautions()
    assert all(k in keys for c in card for k in c.sources)
    words = " ".join(c.title + c.text for c in card).lower()
    for hazard in ("scald", "electric", "caustic", "silica", "overhead", "ladder", "ponded water", "mold", "legionella", "outward"):
        assert hazard in words
    page = sheet("inch", "cautions")
    assert {c.title for c in card} <= {t.content for t in page.texts()}
    assert any("from memory" in c.known_from() for c in card)


def test_sheets_are_numbered_in_order_on_the_jobs_paper() -> None:
    for job, paper in (("inch", TABLOID_MM), ("metric", A3_MM)):
        _, sheets = drawn(job)
        names = [s.name for s in sheets]
        assert len(set(names)) == len(names)
        assert names == sorted(names, key=lambda n: f"{n}.svg")
        numbers = [int(s.number.split(".")[0]) for s in sheets]
        assert numbers == sorted(numbers)
        assert set(numbers) == set(range(1, numbers[-1] + 1))
        assert all((s.width_mm, s.height_mm) == paper for s in sheets)
        title = {t.content for t in sheets[0].texts()}
        assert all(s.number in title for s in sheets if not s.name.startswith("01"))


@pytest.mark.parametrize("job", sorted(p.stem for p in EXAMPLES.glob("*.toml")))
def test_the_first_sheet_lists_every_other(job: str) -> None:
    """By itself or, where there are many, from the first to the last of its kind; no title is cut short."""
    _, sheets = drawn(job)
    texts = [t.content for t in sheets[0].texts()]
    assert not [t for t in texts if t.endswith("…") or re.match(r"and \d+ more", t)]
    def place(number: str) -> tuple[int, int]:
        whole, _, part = number.partition(".")
        return int(whole), int(part or 0)

    rows = [t.partition("–") for t in texts if re.fullmatch(r"\d+(\.\d+)?(–\d+\.\d+)?", t)]
    spans = [(place(first), place(last or first)) for first, _, last in rows]
    for s in sheets[1:]:
        assert s.name.startswith("01") or any(low <= place(s.number) <= high for low, high in spans), s.number


@pytest.mark.parametrize("job", ["commercial-tiers", "half-wall-crowded", "octagon-hip"])
def test_no_table_of_these_sheets_cuts_a_name_short(job: str) -> None:
    _, sheets = drawn(job)
    for s in sheets:
        if s.name.endswith(("-pan", "04-room")) or ", seen from inside" in s.title or "patterns" in s.name:
            cut = [t.content for t in s.texts() if t.content.endswith("…")]
            assert not [c for c in cut if not re.fullmatch(r"[SBKC0-9ab, ]+ …", c)], s.name


def test_metric_sheets_are_in_millimetres() -> None:
    for s in drawn("metric")[1]:
        assert all(m.content.endswith(" mm") for m in s.measures)
        assert not any(isinstance(t, Text) and re.search(r"\d+' \d", t.content) for t in s.texts())


def test_a_line_drain_is_drawn_with_arrows_down_the_floor() -> None:
    texts = sheet("remodel-curbless", "-pan").texts()
    fall = [t for t in texts if t.content == "5/16 in/ft" and t.turn_deg]
    assert len(fall) == 4
    (label,) = [t for t in texts if t.content == "line drain"]
    floor = [t.at_mm[1] for t in texts if t.content.startswith(("A ", "B "))]
    assert max(t.at_mm[1] for t in fall) < min(floor)  # between the entry, at the foot of the sheet, and the drain, at its head
    assert label.at_mm[1] < min(t.at_mm[1] for t in fall)


@pytest.mark.parametrize("job", ["home-alcove", "commercial-tiers"])
def test_a_flat_pattern_is_the_piece_that_lies_in_the_room(job: str) -> None:
    """Its points, taken off the roll's tape, are the corners of the patches, and its cut area is theirs."""
    d, _ = drawn(job)
    found = patterns_of(d)
    assert {p.piece.id for p in found} >= {p.id for p in d.pieces.values() if p.role is Role.SHEET and any(q.holes_m for q in p.patches)}
    for p in found:
        assert p.piece.cut is not None
        assert sum(w.area for w in p.whole) == pytest.approx(sum(q.polygon.area for q in p.piece.patches), rel=2e-3)
        for poly in p.whole:
            for x, y in poly.exterior.coords[:-1]:
                marked = [(s.along_m, s.across_m) for s in p.spots] + [(a, b) for a in (0.0, p.long_m) for b in (0.0, p.wide_m)]
                round_off = [abs(math.dist((x, y), (s.along_m, s.across_m)) - s.diameter_m / 2) for s in p.spots if s.what == "arc"]
                assert min([math.dist((x, y), m) for m in marked] + round_off) < 2.5e-3
        sketch = np.array([[s.along_m, s.across_m] for s in p.spots])
        assert sketch.min() > -1e-6
        assert (sketch <= np.array([p.long_m, p.wide_m]) + 1e-6).all()


def test_a_hole_of_a_flat_pattern_is_where_the_pipe_is() -> None:
    d, sheets = drawn("home-alcove")
    pipe = next(p for p in d.plan.room.penetrations if p.name == "temperature sensor")
    pattern = next(p for p in patterns_of(d) for q in p.piece.patches if q.facet == pipe.facet and q.holes_m and covers(q, pipe.center_m))
    patch = next(q for q in pattern.piece.patches if q.facet == pipe.facet)
    assert patch.at is not None
    ((x, y),) = patch.at.to_blank(np.array([pipe.center_m]))
    assert pattern.piece.blank_m is not None
    on_roll = (pattern.piece.blank_m[1] - y, x) if pattern.piece.cut and pattern.piece.cut.turned else (x, y)
    (hole,) = [s for s in pattern.spots if s.what == "hole" and math.dist((s.along_m, s.across_m), on_roll) < 1e-3]
    page = next(s for s in sheets if "patterns" in s.name and any(t.content == d.marks[pattern.piece.id] for t in s.texts()))
    texts = [t.content for t in page.texts()]
    assert format_length(hole.along_m, "inch") in texts
    assert format_length(hole.across_m, "inch") in texts


@pytest.mark.parametrize("job", ["inch", "home-alcove", "commercial-tiers"])
def test_no_name_nor_fold_of_a_flat_pattern_lies_over_a_cut(job: str) -> None:
    d, sheets = drawn(job)
    count = 0
    for page in (s for s in sheets if s.title == "Flat patterns"):
        cuts = [shapely.LinearRing(ring) for layer in page.layers if layer.name == "pieces" for i in layer.items if isinstance(i, Area)
                for ring in i.rings_mm]
        for text in (t for t in page.texts() if t.content.startswith("fold ") or t.content.removeprefix("S") in d.names.values()):
            box = shapely.Polygon(text_box(text).corners_mm)
            assert not [cut for cut in cuts if cut.intersects(box)], text.content
            count += 1
    assert count >= 4


def covers(patch: Patch, at_m: tuple[float, float]) -> bool:
    """Whether a hole of a patch goes round a point."""
    return any(shapely.Polygon(h).contains(shapely.Point(at_m)) for h in patch.holes_m)


def test_a_niche_is_dimensioned_on_its_wall() -> None:
    """Its sides from the plumb line, its sill and head from the level line."""
    d, _ = drawn("home-alcove")
    wall = next(f for f in d.main_facets() if f.holes_m)
    hole = np.array(wall.holes_m[0])
    lines = control_lines(d, wall)
    said = {m.content for m in sheet("home-alcove", "wall-c-d").measures}
    for s in (hole[:, 0].min(), hole[:, 0].max()):
        assert format_length(abs(s - lines.plumb_s_m), "inch") in said
    for t in (hole[:, 1].min(), hole[:, 1].max()):
        assert format_length(abs(t - lines.level_t_m), "inch") in said


@pytest.mark.parametrize("job", ["inch", *sorted(p.stem for p in EXAMPLES.glob("*.toml"))])
def test_no_plumb_line_lies_beside_the_edge_of_an_opening_or_a_sheet(job: str) -> None:
    """A line an eighth of an inch from an edge cannot be snapped, nor measured from."""
    d, _ = drawn(job)
    for facet in (f for f in d.main_facets() if f.kind is FacetKind.WALL and f.polygon.bounds[2] > 0.6):
        at = control_lines(d, facet).plumb_s_m
        for ring in (facet.outline_m, *facet.holes_m):
            for (sa, ta), (sb, tb) in zip(ring, ring[1:] + ring[:1], strict=True):
                assert abs(sa - sb) > 0.02 * abs(ta - tb) or abs(sa - at) > 0.05, facet.name


@pytest.mark.parametrize(("job", "wall", "name"), [
    ("inch", "wall-a-b", "door"), ("commercial-tiers", "08-wall-a-b", "door"), ("rafter-slope", "10-wall-c-d", "door"),
    ("remodel-curbless", "08-wall-a-b", "entry"),
])  # fmt: skip
def test_a_door_is_named_on_its_wall_also_where_it_stands_back(job: str, wall: str, name: str) -> None:
    _, sheets = drawn(job)
    assert name in {t.content for t in sheet(job, wall).texts()}
    others = [s for s in sheets if ", seen from inside" in s.title and not s.name.endswith(wall) and " in wall " not in s.title]
    assert not [s.name for s in others if name in {t.content for t in s.texts()} and not s.name.endswith(f"{wall}_02")]


def test_a_curb_under_a_liner_says_that_screws_would_pierce_it() -> None:
    _, sheets = drawn("home-alcove")
    warned = [s.name for s in sheets if "-boards" in s.name and "wrapped over the curb" in " ".join(t.content for t in s.texts())]
    curbs = [s.name for s in sheets if "-boards" in s.name and any(t.content in ("curb top", "curb front") and t.bold for t in s.texts())]
    assert warned
    assert warned == curbs
