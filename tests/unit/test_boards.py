"""Boards, their framing and their screws: butts on supports, gaps, stagger, counts, edge distances, bad input."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from steamwright.covering.boards.fasteners import Row, screw_for, screws_of
from steamwright.covering.boards.ground import grounds
from steamwright.covering.boards.lay import lay_boards
from steamwright.covering.boards.model import Boards
from steamwright.covering.boards.practice import practice, spacing_of
from steamwright.covering.model import Patch
from steamwright.cutting.boards import cut_boards
from steamwright.cutting.rolls import Blank
from steamwright.drawing.digest import board_mark, digest
from steamwright.drawing.render import sheet_set
from steamwright.drawing.scene import Circle
from steamwright.drawing.sheets.board_cuts import board_cuts
from steamwright.drawing.sheets.boards import drilling_sheets, framing_sheets
from steamwright.drawing.sheets.cut_outs import cut_out_rows, cut_outs_of
from steamwright.drawing.text import text_box
from steamwright.errors import InfeasibleError, InputError
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.model import Plan
from steamwright.room.model import Face, FacetKind, Penetration
from steamwright.sources import load_sources
from tests import plans
from tests.built import CATALOG, example
from tests.property.rooms import random_job

INCH_M = 0.0254
ROOT = Path(__file__).parents[2]
SEEDS = (0, 1, 3, 6, 9, 12, 14, 17, 20, 23)


@cache
def room(seed: int) -> Plan:
    job = random_job(seed)
    return build(Job.model_validate({**job, "covering": {"effort": 0}}), CATALOG)


def stations(plan: Plan) -> dict[str, tuple[float, float]]:
    return {s.id: (s.x_m, s.y_m) for s in plan.survey.stations}


def box_boards(**changes: object) -> Boards:
    stack = replace(plans.buildup(), **changes)
    return lay_boards(plans.box(Face.FRAMING, 0.0132), plans.box(), (stack,), CATALOG, plans.covering().pieces, {}, None)


def rows_at(spacing_m: float, length_m: float, count: int, half_m: float = 0.75 * INCH_M) -> list[Row]:
    return [Row(f"s{k}", (k * spacing_m, -1.0), (0.0, 1.0), length_m + 2.0, half_m) for k in range(count)]


@pytest.mark.parametrize(("inches", "each"), [(8, 13), (6, 17)])
def test_the_printed_count_of_a_board_of_four_by_eight_feet(inches, each):
    gap = practice("lay", "butt_gap_m") / 2
    board = shapely.box(gap, 0.0, 48 * INCH_M - gap, 96 * INCH_M)
    zone = board.buffer(-3 / 8 * INCH_M, join_style="mitre")
    found = screws_of(board, zone, rows_at(16 * INCH_M, 96 * INCH_M, 4), inches * INCH_M)
    assert len(found) == 4 * each
    for k in range(4):
        up = sorted(p[1] for s, p in found if s == f"s{k}")
        assert len(up) == math.ceil((96 - 0.75) / inches) + 1
        assert max(np.diff(up)) <= inches * INCH_M + 1e-9


@pytest.mark.parametrize(("tags", "thick", "framing", "mil", "inches", "type_"), [
    (("cementitious",), 0.5, "wood stud", None, 1.25, "screw C1002"),
    (("cementitious",), 0.625, "wood stud", None, 1.625, "screw C1002"),
    (("cementitious",), 0.5, "steel stud", 27, 1.25, "screw C1002"),
    (("cementitious",), 0.5, "steel stud", 33, 1.25, "drill-point screw C954"),
    (("foam-core",), 0.5, "wood stud", None, 1.625, "screw C1002 and washer"),
    (("foam-core",), 2.0, "wood joist", None, 3.0, "screw C1002 and washer"),
])  # fmt: skip
def test_the_next_screw_that_is_sold(tags, thick, framing, mil, inches, type_):
    screw = screw_for(tags, thick * INCH_M, False, framing, mil)
    assert (screw.length_m / INCH_M, screw.type) == (pytest.approx(inches), type_)


def test_spacing_by_kind_of_board_and_facet():
    assert [round(x / INCH_M) for x in (spacing_of(("cementitious",)).wall_m, spacing_of(("cementitious",)).overhead_m)] == [8, 6]
    foam = spacing_of(("foam-core", "wet area board"))
    assert (round(foam.wall_m / INCH_M), round(foam.overhead_m / INCH_M), foam.washer) == (12, 6, True)
    for kind in ("cementitious", "foam-core", "gypsum-core", "wood"):
        source = spacing_of((kind,)).source
        assert source == "common practice, no source" or source in load_sources()


def along(plan_or_facet, support):
    a, b = plan_or_facet.frame.drop([support.start_m, support.end_m])
    return shapely.LineString([a, b])


def check_room(plan: Plan) -> None:
    boards, facets = plan.boards, {f.id: f for f in plan.framing.facets}
    supports = {s.id: s for s in boards.supports}
    shapes = {b.id: b.patch.polygon for b in boards.pieces}
    sizes = {s.id: s for s in boards.stock}
    gap = practice("lay", "butt_gap_m")
    for g in grounds(plan.framing, plan.buildups, stations(plan)):
        mine = boards.of(g.facet.id)
        for i, b in enumerate(mine):
            for c in mine[i + 1 :]:
                assert shapely.distance(shapes[b.id], shapes[c.id]) > gap - 1e-6, (b.id, c.id)
        region = shapely.transform(g.region, lambda x: x[:, ::-1]) if g.swapped else g.region
        bare = region.difference(shapely.union_all([shapes[b.id].buffer(gap / 2 + 1e-5, join_style="mitre") for b in mine]))
        holes = [shapely.Point(p.center_m).buffer(p.diameter_m / 2 + 0.0034) for p, _ in g.pipes]
        assert bare.difference(shapely.union_all(holes)).area < 1e-5, g.facet.name
        assert shapely.area(shapely.union_all([shapes[b.id] for b in mine]).difference(region)) < 1e-6
    for b in boards.pieces:
        s0, t0, s1, t1 = shapes[b.id].bounds
        assert b.blank_m == (pytest.approx(s1 - s0, abs=1e-6), pytest.approx(t1 - t0, abs=1e-6))
        long, wide = (b.blank_m[1], b.blank_m[0]) if b.cut.turned else b.blank_m
        stock = sizes[b.cut.stock]
        assert b.cut.x_m + long <= stock.used_length_m + 1e-9 <= stock.length_m + 2e-9
        assert b.cut.y_m + wide <= stock.width_m + 1e-9
    edge = practice("screw", "edge_least_m")
    for f in boards.fasteners:
        at, facet = shapely.Point(f.at_m), facets[f.facet]
        assert supports[f.support].facet == f.facet
        line = along(facet, supports[f.support])
        assert line.distance(at) <= supports[f.support].bearing_m / 2 - 0.003
        assert min(line.project(at), line.length - line.project(at)) >= min(0.0095, line.length / 2) - 1e-6
        assert shapes[f.board].contains(at)
        assert shapes[f.board].boundary.distance(at) >= edge - 1e-6
        for p in plan.framing.penetrations:
            if p.facet == f.facet:
                assert math.dist(p.center_m, f.at_m) > p.diameter_m / 2 + 0.02
    bedded = {i for r in boards.remarks if r.kind == "bedded" for i in r.boards}
    assert {b.id for b in boards.pieces} - bedded == {f.board for f in boards.fasteners}


@pytest.mark.parametrize("seed", SEEDS)
def test_boards_of_random_rooms(seed):
    check_room(room(seed))


@pytest.mark.parametrize("seed", SEEDS[:3])
def test_stock_is_parted_edge_to_edge(seed):
    plan = room(seed)
    on: dict[str, list[tuple[float, float, float, float]]] = {}
    for b in plan.boards.pieces:
        long, wide = (b.blank_m[1], b.blank_m[0]) if b.cut.turned else b.blank_m
        on.setdefault(b.cut.stock, []).append((b.cut.x_m, b.cut.y_m, long, wide))
    assert on
    assert all(parts(rects) for rects in on.values())


def parts(rects):
    """Whether rectangles can be parted by cuts from edge to edge."""
    if len(rects) <= 1:
        return True
    for axis in (0, 1):
        for cut in {r[axis] for r in rects}:
            low = [r for r in rects if r[axis] + r[axis + 2] <= cut + 1e-9]
            high = [r for r in rects if r[axis] >= cut - 1e-9]
            if low and high and len(low) + len(high) == len(rects):
                return parts(low) and parts(high)
    return False


def test_a_pinwheel_cannot_be_parted():
    assert not parts([(0, 0, 2, 1), (2, 0, 1, 2), (1, 2, 2, 1), (0, 1, 1, 2)])


@pytest.mark.parametrize("name", ["home-alcove", "commercial-tiers", "rafter-slope"])
def test_butts_stand_on_supports_and_are_staggered(name):
    plan = example(name)
    check_room(plan)
    facets = {f.id: f for f in plan.framing.facets}
    seen = 0
    for facet, _, line in butts(plan):
        lines = [along(facets[facet], s).buffer(s.bearing_m / 2) for s in plan.boards.supports if s.facet == facet]
        covered = shapely.union_all(lines)
        assert line.difference(covered).length < 0.02, (facet, line)
        seen += 1
    assert seen > 3
    assert not [r for r in plan.boards.remarks if r.kind in ("at_corner", "not_staggered")]


def butts(plan: Plan):
    """Facet, axis that is fixed, and the middle of the gap between neighbouring boards."""
    for facet in dict.fromkeys(b.facet for b in plan.boards.pieces):
        mine = [b.patch.polygon for b in plan.boards.of(facet)]
        for i, p in enumerate(mine):
            for q in mine[i + 1 :]:
                both = p.buffer(0.002, join_style="mitre").intersection(q.buffer(0.002, join_style="mitre"))
                for part in getattr(both, "geoms", [both]):
                    if part.geom_type == "Polygon" and part.length > 0.25:
                        x0, y0, x1, y1 = part.bounds
                        axis = 0 if x1 - x0 < y1 - y0 else 1
                        x, y = (x0 + x1) / 2, (y0 + y1) / 2
                        line = [(x, y0 + 0.02), (x, y1 - 0.02)] if axis == 0 else [(x0 + 0.02, y), (x1 - 0.02, y)]
                        yield facet, axis, shapely.LineString(line)


@pytest.mark.parametrize("name", ["home-alcove", "commercial-tiers", "rafter-slope", "octagon-hip"])
def test_butts_of_neighbouring_courses_never_run_on(name):
    plan = example(name)
    lines: dict[tuple[str, int], list[tuple[float, float, float]]] = {}
    for facet, axis, line in butts(plan):
        (x0, y0), (x1, y1) = line.coords
        lines.setdefault((facet, axis), []).append((x0, y0, y1) if axis == 0 else (y0, x0, x1))
    assert lines
    for facet in {f for f, _ in lines}:
        assert min(run_on(lines.get((facet, axis), [])) for axis in (0, 1)) == 0, facet


def run_on(rows):
    """How often a butt goes on, less than a stud aside, where another one ends: both ways at once make crosses."""
    return sum(abs(a[0] - b[0]) < 16 * INCH_M - 2e-3 and (abs(a[2] - b[1]) < 0.06 or abs(b[2] - a[1]) < 0.06)
               for i, a in enumerate(rows) for b in rows[i + 1 :])  # fmt: skip


def test_boards_in_a_plain_grid_run_on():
    grid = [(1.0, 0.0, 0.9), (1.0, 0.91, 1.8)]
    assert run_on(grid) == 1
    assert run_on([(1.0, 0.0, 0.9), (1.41, 0.91, 1.8)]) == 0


def test_gaps_at_corners_ceiling_and_pan():
    plan = example("home-alcove")
    facet = next(f for f in plan.framing.facets if f.name == "D-A")
    s0, t0, s1, t1 = shapely.union_all([b.patch.polygon for b in plan.boards.of(facet.id)]).bounds
    a0, b0, a1, b1 = facet.polygon.bounds
    found = {k: v / INCH_M for k, v in {"glass": s0 - a0, "corner": a1 - s1, "pan": t0 - b0, "ceiling": b1 - t1}.items()}
    assert found == {"glass": pytest.approx(0.0, abs=1e-3), "corner": pytest.approx(0.125 + 0.5, abs=2e-3),  # before C-D's board
                     "pan": pytest.approx(0.25, abs=2e-2), "ceiling": pytest.approx(0.125 + 0.5, abs=2e-2)}  # fmt: skip
    other = next(f for f in plan.framing.facets if f.name == "C-D")
    ends = shapely.union_all([b.patch.polygon for b in plan.boards.of(other.id)]).bounds
    assert (ends[0] - other.polygon.bounds[0]) / INCH_M == pytest.approx(0.125, abs=2e-3)


def test_backing_frames_blocking_and_ledgers_are_laid_out():
    boards = example("rafter-slope").boards
    kinds = {(s.kind, s.reason) for s in boards.supports}
    for wanted in (("backing", "inside corner"), ("backing", "raked wall top"), ("ledger", "at the wall"), ("frame", "at a bench"),
                   ("frame", "round an opening or niche"), ("plate", "at the ceiling"), ("blocking", "under a butt")):  # fmt: skip
        assert wanted in kinds
    joists = [s for s in boards.supports if s.kind == "joist"]
    assert joists
    assert all(math.dist(s.start_m, s.end_m) < 96.2 * INCH_M for s in joists)


@pytest.mark.parametrize("kind", ["hinge", "clamp", "bar", "blocking_screw"])
def test_what_is_screwed_on_later_gets_blocking_and_keeps_screws_away(kind):
    plan = example("home-alcove")
    facet = next(f for f in plan.framing.facets if f.name == "B-C")
    later = Penetration("penetration-99", facet.id, (0.62, 1.2), 0.008, kind, "grab bar")
    framing = replace(plan.framing, penetrations=(*plan.framing.penetrations, later))
    boards = lay_boards(framing, plan.room, plan.buildups, CATALOG, plan.covering.pieces, stations(plan), None)
    row = next(s for s in boards.supports if s.reason == "for grab bar")
    assert (row.kind, row.facet) == ("blocking", facet.id)
    assert along(facet, row).distance(shapely.Point(later.center_m)) < 1e-6
    assert all(math.dist(f.at_m, later.center_m) > 0.0254 for f in boards.fasteners if f.facet == facet.id)
    assert not any(b.patch.holes_m for b in boards.of(facet.id))


def test_studs_stand_at_their_spacing_from_the_first_corner():
    plan = example("home-alcove")
    facet = next(f for f in plan.framing.facets if f.name == "C-D")
    corner = facet.frame.drop([(*stations(plan)["C"], 0.0)])[0][0]
    studs = [along(facet, s).coords[0][0] for s in plan.boards.supports if s.facet == facet.id and s.kind == "stud"]
    assert studs
    for x in studs:
        bays = abs(corner - x) / 0.4064
        assert abs(bays - round(bays)) < 1e-3
    ends = facet.polygon.bounds[0], facet.polygon.bounds[2]
    stops = sorted([ends[0], *studs, ends[1]])
    assert max(np.diff(stops)) <= 0.4064 + 1e-3


def test_a_butt_between_wide_studs_gets_backing_of_its_own():
    plan = example("commercial-tiers")
    stacks = tuple(replace(b, framing_spacing_m=1.6) if b.framing_spacing_m else b for b in plan.buildups)
    boards = lay_boards(plan.framing, plan.room, stacks, CATALOG, plan.covering.pieces, stations(plan), None)
    assert any((s.kind, s.reason) == ("backing", "under a butt") for s in boards.supports)
    facets = {f.id: f for f in plan.framing.facets}
    for facet, _, line in butts(replace(plan, boards=boards)):
        lines = [along(facets[facet], s).buffer(s.bearing_m / 2) for s in boards.supports if s.facet == facet]
        assert line.difference(shapely.union_all(lines)).length < 0.02, (facet, line)


def test_no_screw_in_pan_or_below_the_flood_line():
    plan = example("home-alcove")
    facets = {f.id: f for f in plan.framing.facets}
    drain = next(plan.room.facet(p.facet).frame.lift([p.center_m])[0][2] for p in plan.room.penetrations if p.kind == "drain")
    flood = drain + plan.pan.flood_line_over_drain_m
    heights = [facets[f.facet].frame.lift([f.at_m])[0][2] for f in plan.boards.fasteners if abs(facets[f.facet].frame.normal[2]) < 0.5]
    assert min(heights) >= flood + 0.0254 - 1e-9
    assert not [f for f in plan.boards.fasteners if facets[f.facet].kind is FacetKind.FLOOR]
    assert {r.kind for r in plan.boards.remarks if facets[r.facet].kind is FacetKind.BENCH_TOP} == {"pan"}


def test_a_top_that_no_membrane_goes_over_takes_no_screw():
    plan = example("home-alcove")
    stacks = tuple(replace(b, covering="sealed foam board") for b in plan.buildups)
    boards = lay_boards(plan.framing, plan.room, stacks, CATALOG, plan.covering.pieces, stations(plan), None)
    facets = {f.id: f for f in plan.framing.facets}
    assert not [f for f in boards.fasteners if facets[f.facet].kind in (FacetKind.BENCH_TOP, FacetKind.CURB_TOP)]
    assert {r.kind for r in boards.remarks if facets[r.facet].kind is FacetKind.BENCH_TOP} == {"bedded"}


def test_no_framing_where_a_board_needs_it_is_refused():
    with pytest.raises(InputError, match="no framing") as caught:
        box_boards(framing_kind="none")
    assert caught.value.path == "buildup[0].framing.kind"
    assert caught.value.hint


def test_boards_on_concrete_are_bedded():
    boards = box_boards(framing_kind="concrete")
    assert boards.pieces
    assert not boards.supports
    assert not boards.fasteners
    assert {r.kind for r in boards.remarks} <= {"bedded", "in_line"}


def test_a_board_of_no_known_size_is_refused():
    with pytest.raises(InputError, match="knows no size"):
        lay_boards(plans.box(Face.FRAMING, 0.0132), plans.box(), (plans.buildup(),), replace(CATALOG, boards=()), (), {}, None)


def test_offcuts_serve_again_and_too_large_is_refused():
    blanks = [Blank(f"b{k}", 0.9, 0.75, True) for k in range(2)] + [Blank(f"c{k}", 0.6, 0.45, True) for k in range(2)]
    found = cut_boards(blanks, 1.524, 0.9144)
    assert len(found.used_length_m) == 2
    with pytest.raises(InfeasibleError):
        cut_boards([Blank("x", 1.6, 0.2, True)], 1.524, 0.9144)


def test_no_cutting_is_under_the_bound_and_exchanges_save_a_board():
    for name, boards, lower in (("home-alcove", 11, 11), ("octagon-hip", 26, 26)):
        bound, = example(name).boards.bounds
        assert (bound.boards, bound.lower, bound.proven_optimal) == (boards, lower, boards == lower)
        assert len(example(name).boards.stock) == boards


def test_exchanges_lay_sawn_boards_again():
    met, plain = 0, 0
    for seed in range(6):
        rng, parts = random.Random(seed), [(1.5, 0.9)] * 3
        while len(parts) < 14:
            parts.sort(key=lambda p: p[0] * p[1])
            a, b = parts.pop()
            c = round((0.3 + 0.4 * rng.random()) * max(a, b), 2)
            parts += [(c, b), (a - c, b)] if a > b else [(a, c), (a, b - c)]
        blanks = [Blank(f"b{k:02d}", round(a, 2), round(b, 2), True) for k, (a, b) in enumerate(parts)]
        found = cut_boards(blanks, 1.5, 0.9)
        assert found.lower_bound == 3
        assert found.proven == (len(found.used_length_m) == 3)
        met += found.proven
        plain += cut_boards(blanks, 1.5, 0.9, work=0).proven
    assert plain == 0
    assert met >= 4


def test_same_room_same_boards():
    assert box_boards() == box_boards()


def test_planted_faults_are_seen():
    plan = room(6)
    b = plan.boards
    wall = next(x for x in b.pieces if plan.framing.facet(x.facet).kind is FacetKind.WALL)
    ring = tuple((s + 0.02, t) for s, t in wall.patch.outline_m)
    moved = replace(wall, patch=replace(wall.patch, outline_m=ring))
    screw = replace(b.fasteners[0], at_m=(b.fasteners[0].at_m[0] + 0.1, b.fasteners[0].at_m[1] + 0.1))
    unheld = tuple(f for f in b.fasteners if f.board != b.fasteners[0].board)
    for bad in (replace(b, pieces=tuple(moved if x is wall else x for x in b.pieces)), replace(b, pieces=b.pieces[1:]),
                replace(b, fasteners=(screw, *b.fasteners[1:])), replace(b, fasteners=unheld)):  # fmt: skip
        with pytest.raises((AssertionError, KeyError)):
            check_room(replace(plan, boards=bad))


def test_every_board_is_on_a_cut_sheet_and_every_screw_on_a_boards_sheet():
    plan = example("home-alcove")
    d = digest(plan)
    cuts, drilled = board_cuts(d, "06", "6"), drilling_sheets(d, "07", "7")
    marks = {board_mark(b) for b in plan.boards.pieces}
    assert len(marks) == len(plan.boards.pieces)
    for pages in (cuts, drilled):
        assert marks <= {t.content for s in pages for t in s.texts()}
    drawn = [(i.center_mm, s) for s in drilled for layer in s.layers for i in layer.items if isinstance(i, Circle) and i.radius_mm == 0.45]
    assert len(drawn) == len(plan.boards.fasteners)
    for (x, y), page in drawn:
        for t in page.texts():
            x0, y0, x1, y1 = text_box(t).bounds()
            assert not (x0 < x < x1 and y0 < y < y1), t.content


def test_cut_outs_of_boards_are_listed_from_the_boards_own_corner():
    plan = example("home-alcove")
    d = digest(plan)
    facets, left = {f.id: f for f in plan.framing.facets}, []
    for b in plan.boards.pieces:
        s0, t0, s1, t1 = b.patch.polygon.bounds
        rest = shapely.box(0.0, 0.0, s1 - s0, t1 - t0)
        for c in cut_outs_of(b):
            if c.diameter_m:
                assert any(math.dist((c.start_m[0] + s0, c.start_m[1] + t0), p.center_m) < 1e-3
                           for p in plan.framing.penetrations if p.facet == b.facet)  # fmt: skip
                rest = rest.difference(shapely.Point(c.start_m).buffer(c.diameter_m / 2))
            elif c.what != "cut":
                rest = rest.difference(shapely.box(*c.start_m, *c.end_m))
        if not any(c.what == "cut" for c in cut_outs_of(b)):
            shape = shapely.transform(b.patch.polygon, lambda p, s=s0, t=t0: p - (s, t))
            left.append(rest.symmetric_difference(shape).area)
    assert max(left) < 0.004 * 3.0  # gaps that run off by an eighth of an inch over the length of a board
    rows = cut_out_rows(d, plan.boards.pieces)
    assert {r[2].split(" ⌀")[0] for r in rows} >= {"hole", "notch"}
    niche = next(f for f in facets.values() if f.holes_m)
    texts = {t.content for s in drilling_sheets(d, "07", "7") if s.title == "Cut-outs of boards" for t in s.texts()}
    assert {d.marks[b.id] for b in plan.boards.of(niche.id) if cut_outs_of(b)} <= texts
    assert all({r[0], r[3], r[5]} <= texts for r in rows)


@pytest.mark.parametrize("name", ["home-alcove", "half-wall-crowded", "commercial-tiers", "remodel-curbless"])
def test_cuts_of_boards_can_be_taped(name):
    """No cut slants by an eighth of an inch or less; what is told takes off all but what a cut of an eighth would leave."""
    eighth_m, checked = 0.0032, 0
    for b in example(name).boards.pieces:
        told = cut_outs_of(b)
        s0, t0, s1, t1 = b.patch.polygon.bounds
        shape = shapely.transform(b.patch.polygon, lambda p, s=s0, t=t0: p - (s, t))
        assert shape.buffer(-7e-4, join_style="mitre").buffer(7.1e-4, join_style="mitre").covers(shape.buffer(-1e-6)), b.id
        rest = shapely.box(0.0, 0.0, s1 - s0, t1 - t0)
        for c in told:
            off = [abs(p - q) for p, q in zip(c.start_m, c.end_m, strict=True)]
            assert c.what != "cut" or min(off) < 1e-9 or min(off) > eighth_m, (b.id, c)
            hole = shapely.Point(c.start_m).buffer(c.diameter_m / 2) if c.diameter_m else shapely.box(*c.start_m, *c.end_m)
            rest = rest if c.what == "cut" else rest.difference(hole)
        if not any(c.what == "cut" for c in told):
            assert rest.symmetric_difference(shape).buffer(-eighth_m / 2 - 1e-5).is_empty, b.id
            checked += 1
    assert checked > 15


@pytest.mark.parametrize(("ring_in", "told"), [
    ([(0, 0), (42.8, 0.06), (42.8, 4.76), (47.4, 4.86), (47.4, 17.4), (0, 17.4)], [("notch", (42.8, 0), (47.4, 4.81))]),
    ([(0, 0), (48, 0.12), (48, 20), (0, 20)], []),
    ([(0, 0), (48, 0.2), (48, 20), (0, 20)], [("cut", (0, 0), (48, 0.2))]),
    ([(0, 0), (30, 0), (30, 20), (17.5, 20.35), (17.5, 30), (0, 30)],
     [("cut", (17.5, 20.35), (30, 20)), ("cut", (17.5, 20.35), (17.5, 30))]),
    ([(5, 0), (30, 0), (30, 20), (0, 20), (0, 12), (3, 12), (3.05, 6), (5, 6)],
     [("notch", (0, 0), (5, 6)), ("notch", (0, 6), (3.025, 12))]),
])  # fmt: skip
def test_a_board_a_little_askew_is_told_as_a_foreman_would(ring_in, told):
    ring = tuple((x * 0.0254, y * 0.0254) for x, y in ring_in)
    board = replace(example("home-alcove").boards.pieces[0], patch=Patch("facet-01", ring, (), None))
    found = cut_outs_of(board)
    assert [c.what for c in found] == [w for w, _, _ in told]
    for c, (_, start, end) in zip(found, told, strict=True):
        assert [v / 0.0254 for v in (*c.start_m, *c.end_m)] == pytest.approx([*start, *end], abs=0.02)


def test_framing_is_drawn_before_the_boards():
    d = digest(example("home-alcove"))
    names = [s.name for s in sheet_set(d)]
    first = {k: next(i for i, n in enumerate(names) if k in n) for k in ("framing", "cut-boards", "07-boards", "wall-b-c")}
    assert list(first.values()) == sorted(first.values())
    assert all(m.content for s in framing_sheets(d, "05", "5") for m in s.measures)
