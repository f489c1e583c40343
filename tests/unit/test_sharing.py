"""Two pieces on one blank: how they nest, in which order they are set, and that nothing else comes of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.affinity
import shapely.ops
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.covering import trial
from steamwright.covering.model import Piece, apart
from steamwright.covering.nesting import CUT_M, Nest, nested, outline
from steamwright.covering.proof import prove
from steamwright.plan.build import build
from steamwright.plan.document import plan_json
from steamwright.plan.job import Job
from steamwright.plan.model import Plan
from steamwright.plan.pinning import piece_pin, pin_row
from steamwright.plan.reread import pieces_of
from tests.built import CATALOG, job_of, planned
from tests.property.rooms import random_case

HIPPED = 60


def plan_of(seed: int, **covering: object) -> Plan:
    return build(job_of({**random_case(seed).job, "covering": covering}), CATALOG)


@pytest.fixture(scope="module")
def hipped() -> Plan:
    return planned(random_case(HIPPED).job)


def remeasured(job: Job) -> Job:
    """The same room with one reading a sixteenth longer."""
    wall = next(k for k, r in enumerate(job.survey.reading) if r.kind == "wall" and r.is_m is not None)
    row = job.survey.reading[wall]
    readings = [*job.survey.reading[:wall], row.model_copy(update={"is_m": (row.is_m or 0.0) + 0.0015875}), *job.survey.reading[wall + 1:]]
    return job.model_copy(update={"survey": job.survey.model_copy(update={"reading": tuple(readings)})})


def images(piece: Piece) -> list[shapely.Geometry]:
    return [shapely.union_all([shapely.transform(q.polygon, q.at.to_blank) for q in part if q.at is not None]) for part in piece.members()]


def check(nest: Nest, first: np.ndarray, second: np.ndarray) -> None:
    one, other = shapely.Polygon(nest.first.points(first)), shapely.Polygon(nest.second.points(second))
    line = shapely.LineString(nest.parting_m)
    assert one.distance(other) > CUT_M - 1e-6
    assert min(one.distance(line), other.distance(line)) > CUT_M / 2 - 1e-6
    assert shapely.box(0, 0, *nest.blank_m).buffer(1e-6).covers(shapely.union_all([one, other]))
    assert len(shapely.ops.split(shapely.box(0, 0, *nest.blank_m), shapely.affinity.scale(line, 1.001, 1.001)).geoms) == 2
    alone = np.prod(np.ptp(first, axis=0)) + np.prod(np.ptp(second, axis=0))
    assert nest.gain_m2 == pytest.approx(alone - nest.blank_m[0] * nest.blank_m[1])


def test_two_equal_triangles_make_a_rectangle() -> None:
    triangle = np.array([(0.0, 0.0), (2.0, 0.0), (0.0, 1.0)])
    nest = nested(outline(triangle), outline(triangle), 1.1, 3.0)
    assert nest is not None
    check(nest, triangle, triangle)
    # nothing is lost but the cut
    assert nest.gain_m2 == pytest.approx(2.0, abs=4e-3)


def test_what_is_too_wide_for_the_roll_is_no_nest() -> None:
    triangle = np.array([(0.0, 0.0), (2.0, 0.0), (0.0, 1.0)])
    assert nested(outline(triangle), outline(triangle), 0.9, 3.0) is None
    square = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    assert nested(outline(square), outline(square), 1.1, 3.0) is None


points = st.lists(st.tuples(st.floats(0.0, 2.0), st.floats(0.0, 1.0)), min_size=3, max_size=7)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(points, points)
def test_no_place_on_a_fine_grid_is_better(a: list[tuple[float, float]], b: list[tuple[float, float]]) -> None:
    rings = []
    for some in (a, b):
        hull = shapely.convex_hull(shapely.multipoints(np.round(some, 2)))
        if hull.area < 0.05:
            return
        ring = shapely.get_coordinates(shapely.orient_polygons(hull))[:-1]
        rings.append(ring - ring.min(axis=0))
    nest = nested(outline(rings[0]), outline(rings[1]), 9.0, 9.0)
    alone = sum(float(np.prod(np.ptp(r, axis=0))) for r in rings)
    least = alone
    one = shapely.Polygon(rings[0])
    wide, tall = np.ptp(rings[0], axis=0)
    for sign in (1.0, -1.0):
        other = sign * rings[1]
        other = other - other.min(axis=0)
        w, h = np.ptp(other, axis=0)
        for up in (0.0, tall - h):
            steps = np.arange(-w, wide + 0.02, 0.02)
            moved = shapely.polygons(other[None] + np.stack([steps, np.full_like(steps, up)], axis=1)[:, None])
            apart_ = shapely.area(shapely.intersection(moved, one)) < 1e-9
            for x in steps[apart_]:
                least = min(least, (max(wide, x + w) - min(0.0, x)) * (max(tall, up + h) - min(0.0, up)))
    if nest is None:
        assert least > alone - 0.03 * (tall + 1.0)
    else:
        check(nest, *rings)
        assert alone - nest.gain_m2 < least + 0.03 * (max(tall, 1.0) + 1.0)


def test_a_hipped_room_takes_less_roll_with_shared_blanks(hipped: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trial, "share_blanks", lambda solid, pieces, wishes, before: tuple(pieces))
    alone = plan_of(HIPPED)
    assert not any(p.second_at for p in alone.covering.pieces)
    shared = [p for p in hipped.covering.pieces if p.second_at]
    assert len(shared) >= 2
    assert hipped.covering.account.material_m2 < 0.99 * alone.covering.account.material_m2
    assert hipped.covering.account.usd < alone.covering.account.usd
    # a blank less is no piece less to set, and every lap stays
    assert hipped.covering.account.pieces == alone.covering.account.pieces
    assert hipped.covering.account.seam_m == pytest.approx(alone.covering.account.seam_m, abs=1e-3)
    assert hipped.covering.proof.tight
    assert hipped.covering.proof.least_lap_m == alone.covering.proof.least_lap_m


def test_a_new_plan_joins_what_lay_on_one_blank_and_nothing_else(hipped: Plan) -> None:
    shared = {p.id: [q.facet for q in p.patches] for p in hipped.covering.pieces if p.second_at}
    after = build(remeasured(hipped.job), CATALOG, before=hipped)
    assert {p.id: [q.facet for q in p.patches] for p in after.covering.pieces if p.second_at} == shared
    assert after.covering.proof.tight
    alone = replace(hipped, covering=replace(hipped.covering, pieces=tuple(replace(p, second_at=0) for p in hipped.covering.pieces)))
    assert not any(p.second_at for p in build(remeasured(hipped.job), CATALOG, before=alone).covering.pieces)


def test_the_cut_parts_the_two_and_each_keeps_its_letter(hipped: Plan) -> None:
    for piece in (p for p in hipped.covering.pieces if p.second_at):
        one, other = images(piece)
        line = shapely.LineString(piece.parting_m)
        assert one.distance(other) > 0.9 * CUT_M
        assert not line.intersects(one)
        assert not line.intersects(other)
        assert [p.id for p in apart([piece])] == [f"{piece.id}a", f"{piece.id}b"]


def test_numbers_and_order_stay_whole(hipped: Plan) -> None:
    pieces = hipped.covering.pieces
    assert [p.place_no for p in pieces] == list(range(1, len(pieces) + 1))
    place = {p.id: p.place_no for p in pieces}
    assert all(place[i] < p.place_no for p in pieces for i in p.over)


def test_a_cut_that_is_left_out_is_a_false_fold(hipped: Plan) -> None:
    covering = hipped.covering
    def beside(p: Piece) -> float:
        return float(images(p)[0].buffer(1.2 * CUT_M).intersection(images(p)[1]).area)

    # the two that run along each other the farthest
    piece = max((p for p in covering.pieces if p.second_at), key=beside)
    one, other = images(piece)
    a, b = (np.array(p.coords[0]) for p in shapely.ops.nearest_points(other, one)[:2])
    moved = tuple(replace(q, at=replace(q.at, x_m=q.at.x_m + (b - a)[0], y_m=q.at.y_m + (b - a)[1]))
                  for q in piece.patches[piece.second_at:] if q.at is not None)
    wrong = replace(piece, patches=(*piece.patches[:piece.second_at], *moved))
    proof = prove(hipped.room, [wrong if p is piece else p for p in covering.pieces], 0.0508, 0.0635)
    assert any("no fold between" in f for f in proof.failures)


def test_a_parted_blank_that_is_cut_stays_one(hipped: Plan) -> None:
    piece = next(p for p in hipped.covering.pieces if p.second_at)
    row = pin_row(piece_pin(hipped, piece.id, "cut"))
    after = plan_of(HIPPED, piece=[row])
    same = next(p for p in after.covering.pieces if p.id == piece.id)
    assert same.second_at == piece.second_at
    assert np.allclose(same.parting_m, piece.parting_m, atol=1e-6)
    assert after.covering.proof.tight


def test_the_plan_file_holds_the_cut(hipped: Plan) -> None:
    again = pieces_of(plan_json(hipped))
    assert [(p.second_at, len(p.parting_m)) for p in again] == [(p.second_at, len(p.parting_m)) for p in hipped.covering.pieces]
