"""What is seen in plain numbers, without an overlay, is what the overlay would show."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
import shapely

from steamwright.covering import fields, legs, setting
from steamwright.covering.ground import Terrain
from steamwright.covering.numbering import same_places
from steamwright.plan.model import Plan
from tests.built import planned
from tests.property.rooms import random_case

SEEDS = (60, 66)
LAP_M = 0.0635


@pytest.fixture(scope="module", params=SEEDS)
def plan(request: pytest.FixtureRequest) -> Plan:
    return planned(random_case(request.param).job)


def terrain_of(plan: Plan) -> Terrain:
    terrain = Terrain(plan.room, LAP_M, lambda *_: LAP_M)
    # corner pieces at some corners only
    terrain.reaches_m = {p: 2 * LAP_M for j in plan.room.joints[::4] for p in (j.start_m, j.end_m)}
    return terrain


def flat(plan: Plan) -> dict[tuple[str, ...], bool]:
    terrain = terrain_of(plan)
    ways = [w for n in (1, 2) for w in combinations(terrain.joints, n)]
    return {w: fields.develop(terrain, terrain.joints[w[0]].facets[0], w) is not None for w in ways}


def test_fields_lie_flat_as_the_overlay_says(plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    plain = flat(plan)
    assert set(plain.values()) == {True, False}
    monkeypatch.setattr(fields, "_beside", lambda *_: False)
    assert flat(plan) == plain


def test_pieces_lap_as_the_overlay_says(plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    pieces = list(plan.covering.pieces)
    plain = [p.over for p in setting.lapped(pieces)]
    monkeypatch.setattr(setting, "DEEP_M", math.inf)
    assert [p.over for p in setting.lapped(pieces)] == plain
    assert any(plain)


def test_shapes_whose_boxes_alone_overlap_do_not_lap() -> None:
    notched = shapely.Polygon([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)])
    low, high = shapely.Polygon([(0, 0), (1, 0), (0, 1)]), shapely.Polygon([(1, 0.02), (1, 1), (0.02, 1)])
    pairs = [(notched, shapely.box(1, 1, 2, 2)), (low, high), (notched, shapely.box(0.5, 0.5, 3, 3)), (low, shapely.box(0, 0, 0.5, 0.5))]
    one, other = np.array(pairs, dtype=object).T
    assert setting._overlap(one, other).tolist() == [False, False, True, True]


def test_a_corner_piece_makes_good_what_the_overlay_says(plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    def cramped() -> list[float]:
        terrain = terrain_of(plan)
        return [legs.cramped_m(terrain, j, f) for j in terrain.joints.values() for f in j.facets]

    plain = cramped()
    assert max(plain) > 0.0
    monkeypatch.setattr(legs, "_by_a_corner", lambda *_: False)
    assert cramped() == pytest.approx(plain)


def test_a_piece_lies_where_it_lay_and_no_other_does(plan: Plan) -> None:
    pieces = plan.covering.pieces
    assert same_places(pieces, pieces[::-1]) == {p.id: p.id for p in pieces}
    assert same_places(pieces, pieces[1:]) == {p.id: p.id for p in pieces[1:]}
