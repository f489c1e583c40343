"""The bound on the material: every step of its proof on real coverings, and a room reckoned by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import unary_union

from steamwright.covering.blanks import read_blanks
from steamwright.covering.bound import SPARE_M, Needed, least_material_m2, material_bound
from steamwright.covering.lying import Row, rows_of
from steamwright.covering.model import Piece, Role
from steamwright.covering.room_facts import room_facts
from steamwright.covering.shrink import Shrink
from steamwright.plan.model import Plan
from steamwright.room.model import CoveredBy, FacetKind, Solid
from tests.built import planned
from tests.property.rooms import random_case
from tests.unit.test_placing import box


def random_plan(seed: int, **covering: object) -> Plan:
    return planned(random_case(seed).job | ({"covering": covering} if covering else {}))


def kept_by_cut_pieces(room: Solid, pieces: list[Piece], lap_m: float) -> dict[str, dict[str, shapely.Geometry]]:
    """What the judge leaves of every cut piece, by piece and facet."""
    facts = room_facts(room)
    rows, faults, _ = rows_of(facts, pieces)
    assert faults == []
    groups: dict[int, list[Row]] = {}
    for row in rows:
        groups.setdefault(row.piece, []).append(row)
    lying, faults = read_blanks(pieces, groups, lap_m / 2)
    assert faults == []
    kept: dict[str, dict[str, shapely.Geometry]] = {p.id: {} for p in pieces}
    for one, shape in zip(lying, Shrink(facts, lying, lap_m / 2).left(np.arange(len(lying)), lap_m), strict=True):
        on = kept[pieces[one.piece].id]
        on[one.facet] = unary_union([shape, on[one.facet]]) if one.facet in on else shape
    return kept


@pytest.mark.parametrize("seed", [12, 110])
def test_each_step_of_the_proof_holds_on_a_covering(seed: int) -> None:
    plan = random_plan(seed)
    covering, wishes = plan.covering, plan.job.covering
    lap_m = min(covering.lap_planned_m, covering.proof.least_lap_m or 0.0)
    needed = Needed(plan.room, [p for p in covering.pieces if p.blank_m is None or p.role is Role.CORNER_PIECE], lap_m)
    kept = kept_by_cut_pieces(plan.room, [p for p in covering.pieces if p.blank_m is not None], lap_m)
    on: dict[str, list[shapely.Geometry]] = {}
    total = 0.0
    for p in covering.pieces:
        if p.blank_m is None:
            continue
        counted = 0.0
        for facet, shape in kept[p.id].items():
            on.setdefault(facet, []).append(shape)
            counted += shape.intersection(needed.on(next(f for f in plan.room.facets if f.id == facet))[0]).area
        if p.role is Role.CORNER_PIECE:
            # corner pieces count with their blanks, and nothing that they keep is asked of the other pieces
            assert counted < 1e-6, p.id
            total += p.blank_m[0] * p.blank_m[1]
            continue
        # of a blank no more than what is half a lap inside its edge
        assert counted <= (p.blank_m[0] - lap_m) * (p.blank_m[1] - lap_m) + 1e-4, p.id
        total += counted / (1.0 - lap_m / wishes.roll_width_m)
    for facet in plan.room.facets:
        left, _ = needed.on(facet)
        # all that the bound counts is kept by a cut piece, a hair along the edges of facets apart
        assert left.difference(unary_union(on.get(facet.id, []))).buffer(-1e-3).area < 1e-6, facet.name
    assert covering.bound is not None
    assert total <= covering.bound.used_m2


def test_the_bound_of_a_plain_box_is_what_a_pencil_gives() -> None:
    plan = planned(box(room={"ceiling": {"shape": "flat", "height": "90 in"}, "pan": {"membrane": "liner"}}))
    wishes, room = plan.job.covering, plan.room
    lap_m = wishes.lap_required_m + wishes.allowance_m
    sides = {f.kind: f for f in room.facets}
    x0, y0, x1, y1 = sides[FacetKind.CEILING].polygon.bounds
    a, b, height = x1 - x0, y1 - y0, sides[FacetKind.WALL].polygon.bounds[3] - sides[FacetKind.WALL].polygon.bounds[1]
    assert sides[FacetKind.FLOOR].covering_by is CoveredBy.OTHER
    ready = [p for p in plan.covering.pieces if p.blank_m is None]
    assert len(ready) == 8
    # a quarter disc on every facet of a corner, drawn back by half a lap; the floor's strip loses what lies in it
    reach = max(math.hypot(*x) for x in _from_corner(plan)) - lap_m / 2 + SPARE_M
    quarter = math.pi / 4 * reach**2
    walls = 2 * (a + b) * height - 16 * quarter
    ceiling = a * b - 4 * quarter
    over = (a - 2 * 0.15) * (b - 2 * 0.15)
    deep = lap_m / 2
    strip = 2 * (a + b) * deep - 4 * deep**2 - 4 * (2 * _under_an_arc(reach, deep) - deep**2)
    width = 1.0 - lap_m / wishes.roll_width_m
    by_hand = ((walls + ceiling - over + strip) / (1 - lap_m / wishes.longest_m) + over / (1 - lap_m / wishes.longest_overhead_m)) / width
    assert least_material_m2(room, plan.covering.pieces, wishes) == pytest.approx(by_hand, rel=2e-3)


def _under_an_arc(radius_m: float, deep_m: float) -> float:
    """Area of a quarter disc nearer than a depth to one of its straight edges. [m²]"""
    return 0.5 * (deep_m * math.sqrt(radius_m**2 - deep_m**2) + radius_m**2 * math.asin(deep_m / radius_m))


def _from_corner(plan: Plan) -> list[tuple[float, float]]:
    """Points of the ceiling's corner pieces from the nearest corner."""
    ceiling = next(f for f in plan.room.facets if f.kind is FacetKind.CEILING)
    corners = shapely.get_coordinates(ceiling.polygon)
    points = [x for p in plan.covering.pieces if p.blank_m is None for q in p.patches if q.facet == ceiling.id for x in q.outline_m]
    return [tuple(min((np.subtract(x, c) for c in corners), key=lambda d: float(np.hypot(*d)))) for x in points]


@pytest.mark.parametrize("seed", [17, 44, 133])
def test_no_layout_of_a_random_room_uses_less_than_its_bound(seed: int) -> None:
    for covering in ({}, {"joints": "fold"}, {"roll_width": "1.5 m"}):
        plan = random_plan(seed, **covering)
        used = sum(s.used_length_m * s.width_m for s in plan.covering.stock)
        assert least_material_m2(plan.room, plan.covering.pieces, plan.job.covering) < used, covering


def test_the_bound_lets_off_what_rims_and_ready_made_pieces_take() -> None:
    plan = random_plan(12)
    pieces, wishes = plan.covering.pieces, plan.job.covering
    assert least_material_m2(plan.room, pieces, wishes) < least_material_m2(plan.room, [p for p in pieces if p.blank_m is not None], wishes)
    sealed = replace(plan.room, rims=())
    short = replace(plan.room, rims=tuple(replace(r, reach_m=0.0) for r in plan.room.rims))
    assert least_material_m2(short, pieces, wishes) < least_material_m2(sealed, pieces, wishes)
    # what runs on past a rim is asked for
    assert least_material_m2(short, pieces, wishes) < least_material_m2(plan.room, pieces, wishes)


@pytest.mark.parametrize("seed", [12, 105])
def test_what_runs_on_past_rims_lies_half_a_lap_inside_some_blank(seed: int) -> None:
    plan = random_plan(seed)
    covering = plan.covering
    cut = [p for p in covering.pieces if p.blank_m is not None]
    lap_m = min(covering.lap_planned_m, covering.proof.least_lap_m or 0.0)
    needed = Needed(plan.room, [p for p in covering.pieces if p.blank_m is None or p.role is Role.CORNER_PIECE], lap_m)
    kept = kept_by_cut_pieces(plan.room, cut, lap_m)
    asked = 0
    for facet in plan.room.facets:
        strip = needed.past_rims(facet)
        for x in (np.array([x.x, x.y]) for x in shapely.get_parts(shapely.extract_unique_points(shapely.segmentize(strip, 0.1)))):
            asked += 1
            foot = facet.polygon.boundary.interpolate(facet.polygon.boundary.project(shapely.Point(x)))
            inside = [np.minimum(b := q.at.to_blank(x)[0], np.array(p.blank_m) - b).min() >= lap_m / 2 - 2e-4 for p in cut
                      for q in p.patches if q.facet == facet.id and q.at is not None
                      and kept[p.id][facet.id].buffer(1.5e-3).covers(foot)]
            assert any(inside), (facet.name, x)
    assert asked > 20


def test_rolls_that_hold_less_than_the_bound_are_not_called_a_proof() -> None:
    plan = random_plan(12)
    c = plan.covering
    assert c.bound is not None
    assert not c.bound.proven_optimal
    least = least_material_m2(plan.room, c.pieces, plan.job.covering)
    met = material_bound(plan.room, c.pieces, [replace(c.stock[0], used_length_m=least / c.stock[0].width_m)], plan.job.covering)
    assert met.proven_optimal
    assert met.gap_ratio == pytest.approx(0.0, abs=1e-12)
