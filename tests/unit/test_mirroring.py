"""A room and its image: each is the other's, only one runs clockwise, and a clash is told in the room's own places."""

from __future__ import annotations

import numpy as np
import pytest

from steamwright.covering.cover import cover
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.mirroring import mirrored_pieces, mirrored_solid, mirrored_wishes, runs_clockwise
from steamwright.covering.proof import prove
from steamwright.errors import ClashError
from steamwright.plan.model import Plan
from steamwright.room.model import Solid
from tests.built import CATALOG, planned
from tests.property.rooms import random_case


@pytest.fixture(scope="module")
def plan() -> Plan:
    return planned(random_case(1).job)


@pytest.fixture(scope="module")
def room(plan: Plan) -> Solid:
    return plan.room


def test_the_image_of_the_image_is_the_room(room: Solid) -> None:
    again = mirrored_solid(mirrored_solid(room))
    for a, b in zip(room.facets, again.facets, strict=True):
        assert b.frame.lift(b.outline_m) == pytest.approx(a.frame.lift(a.outline_m), abs=1e-9)
        assert np.stack([b.frame.u, b.frame.v]) == pytest.approx(np.stack([a.frame.u, a.frame.v]), abs=1e-12)
    assert [(j.id, j.start_m, j.end_m) for j in again.joints] == [(j.id, j.start_m, j.end_m) for j in room.joints]
    assert runs_clockwise(room) is not runs_clockwise(mirrored_solid(room))


def test_outlines_of_the_image_run_counter_clockwise_and_lie_where_the_mirror_shows_them(room: Solid) -> None:
    for a, b in zip(room.facets, mirrored_solid(room).facets, strict=True):
        assert b.polygon.area == pytest.approx(a.polygon.area)
        assert b.polygon.exterior.is_ccw
        there, here = b.frame.lift(b.outline_m) * [1.0, -1.0, 1.0], a.frame.lift(a.outline_m)
        assert np.linalg.norm(there[:, None] - here[None], axis=2).min(axis=1) == pytest.approx(0.0, abs=1e-9)
        assert b.frame.normal == pytest.approx(a.frame.normal * [1.0, -1.0, 1.0], abs=1e-12)


def test_pieces_are_as_tight_in_the_image_and_come_back_as_they_were(plan: Plan, room: Solid) -> None:
    image = mirrored_solid(room)
    pieces = mirrored_pieces(room, plan.covering.pieces)
    lap = plan.covering.lap_planned_m
    assert prove(image, pieces, plan.covering.lap_required_m, lap).least_lap_m == pytest.approx(plan.covering.proof.least_lap_m, abs=2e-4)
    for a, b in zip(plan.covering.pieces, mirrored_pieces(image, pieces), strict=True):
        for p, q in zip(a.patches, b.patches, strict=True):
            assert q.polygon.symmetric_difference(p.polygon).area < 1e-9
            if p.at is not None and q.at is not None:
                assert q.at.to_blank(np.array(p.outline_m)) == pytest.approx(p.at.to_blank(np.array(p.outline_m)), abs=1e-9)


def test_a_clash_in_a_room_that_runs_clockwise_offers_a_place_that_works_there(room: Solid) -> None:
    assert runs_clockwise(room)
    wall = max((f for f in room.facets if f.kind.value == "wall" and f.covering_by.value == "pieces" and f.name == f.surface),
               key=lambda f: f.area_m2)

    def with_seam(at: str) -> CoveringWishes:
        return CoveringWishes.model_validate({"seam": [{"on": wall.name, "along": at}]}, context={"typed": True})

    with pytest.raises(ClashError, match="narrower") as caught:
        cover(room, with_seam("1 in"), CATALOG)
    offered = caught.value.hint.split('along = "')[1].split('"')[0]
    assert float(offered.split()[0]) < 0.3
    assert cover(room, with_seam(offered), CATALOG).proof.tight


def test_a_zone_across_sheets_that_may_lie_either_way_has_no_image(room: Solid) -> None:
    rows = [{"on": "A-B", "from": "0.5 m", "to": "0.9 m"}]
    assert mirrored_wishes(room, CoveringWishes.model_validate({"no_seam": rows}, context={"typed": True})) is None
