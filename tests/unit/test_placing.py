"""Placing: what is folded, what takes a band, how corners and crowded pipes are closed, and what a bound may claim."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
import pytest
from shapely import Point

from steamwright.covering.bound import material_bound
from steamwright.covering.corners import reach_needed_m
from steamwright.covering.fans import find_corners
from steamwright.covering.ground import Terrain
from steamwright.covering.layout import leg_needed_m
from steamwright.covering.model import Piece, Role
from steamwright.errors import InputError
from steamwright.plan.model import Plan
from steamwright.room.model import FacetKind
from tests.built import CATALOG, planned
from tests.property.rooms import random_case

LAYERS = [{"material": m} for m in ("porcelain tile",)] + [
    {"material": "modified dry-set mortar", "thickness": "1/8 in"}, {"material": "sheet membrane 0.5 perm"},
    {"material": "modified dry-set mortar", "thickness": "1/16 in"}, {"material": "cement board 1/2 in"}]


def box(**more: Any) -> dict[str, Any]:
    """A room of 5 ft by 4 ft, 8 ft high, without an opening: the plainest there is, and searched but briefly."""
    tape = [("wall", "A-B", 60.0), ("wall", "B-C", 48.0), ("wall", "C-D", 60.0), ("wall", "D-A", 48.0),
            ("diagonal", "A-C", math.hypot(60, 48)), ("diagonal", "B-D", math.hypot(60, 48))]
    room = {"ceiling": {"shape": "slope", "low_wall": "A-B", "height": "90 in", "pitch": "2 in/ft"}, **more.pop("room", {})}
    on = ["walls", "ceiling", "floor", "benches", "niches", "openings", "curbs", "half walls", "columns", "soffits"]
    covering = {"effort": 15} | more.pop("covering", {})
    return {"name": "box", "covering": covering, "survey": {"stations": ["A", "B", "C", "D"], "reading": [
        {"kind": k, "of": of, "is": f"{v:.6f} in"} for k, of, v in tape]}, "room": room,
        "buildup": [{"name": "all", "on": on, "layers": LAYERS}], **more}


def of_role(plan: Plan, role: Role) -> list[Piece]:
    return [p for p in plan.covering.pieces if p.role is role]


def pipe(name: str, along: str, up: str, diameter: str = "1 in") -> dict[str, str]:
    return {"name": name, "kind": "pipe", "on": "A-B", "along": along, "up": up, "diameter": diameter}


def test_bands_close_every_joint_when_a_person_wants_bands() -> None:
    plan = planned(box(covering={"joints": "band"}))
    assert len(of_role(plan, Role.BAND)) == len(plan.room.joints)
    assert all(len({q.facet for q in p.patches}) == 1 for p in of_role(plan, Role.SHEET))
    assert plan.covering.proof.tight


def test_folds_close_every_joint_when_a_person_wants_folds() -> None:
    plan = planned(box(covering={"joints": "fold"}))
    assert of_role(plan, Role.BAND) == []
    assert plan.covering.proof.tight


@pytest.mark.parametrize("benches", [[("bench", "C-D", "18 in", "18 in")],
                                     [("bench", "C-D", "18 in", "18 in"), ("side", "D-A", "16 in", "20 in")]])
@pytest.mark.parametrize("by", ["sheet membrane", "sealed foam board"])
def test_where_folds_are_wanted_a_leg_without_room_gives_way_to_a_band(benches: list[tuple[str, ...]], by: str) -> None:
    """Round a bench the legs onto its front and its top want the same place on the blank of the wall."""
    rows = [dict(zip(("name", "wall", "depth", "height"), row, strict=True), slope="1/4 in/ft") for row in benches]
    job = box(room={"bench": rows}, covering={"joints": "fold"})
    if by != "sheet membrane":
        board = [*LAYERS[:2], {"material": "foam-core coated board 1/2 in"}]
        job["buildup"][0]["on"].remove("benches")
        job["buildup"].append({"name": "boards", "on": ["benches"], "covering": by, "layers": board})
    plan = planned(job)
    assert plan.covering.proof.tight, plan.covering.proof.failures
    assert len(of_role(plan, Role.BAND)) < len(plan.room.joints) / 4


def test_one_joint_asked_to_take_a_band_takes_one() -> None:
    plan = planned(box(covering={"fold": [{"from": "A-B", "onto": "B-C", "by": "band"}]}))
    surfaces = [{plan.room.facet(q.facet).surface for q in p.patches} for p in of_role(plan, Role.BAND)]
    assert {"A-B", "B-C"} in surfaces
    assert plan.covering.proof.tight


def test_a_direction_is_kept() -> None:
    for sheets, axis in (("upright", 1), ("level", 0)):
        plan = planned(box(covering={"joints": "band", "direction": [{"on": "C-D", "sheets": sheets}]}))
        facet = next(f for f in plan.room.facets if f.surface == "C-D")
        strips = [q for p in of_role(plan, Role.SHEET) for q in p.patches if q.facet == facet.id]
        whole = np.ptp(np.array(facet.outline_m), axis=0)[axis]
        assert max(np.ptp(np.array(q.outline_m), axis=0)[axis] for q in strips) == pytest.approx(whole, abs=1e-6)


def test_no_seam_lies_where_a_person_forbids_one() -> None:
    upright = {"joints": "band", "direction": [{"on": "C-D", "sheets": "upright"}]}
    plan = planned(box(covering={**upright, "no_seam": [{"on": "C-D", "from": "30 in", "to": "42 in"}]}))
    facet = next(f for f in plan.room.facets if f.surface == "C-D")
    left = min(s for s, _ in facet.outline_m)
    edges = [s - left for p in of_role(plan, Role.SHEET) for q in p.patches if q.facet == facet.id for s, _ in q.outline_m]
    assert not [e for e in edges if 30 * 0.0254 + 1e-6 < e < 42 * 0.0254 - 1e-6]
    assert plan.covering.proof.tight


def test_an_inside_corner_off_the_square_is_folded_with_a_pleat_and_without_a_cut() -> None:
    plan = planned(box())
    folded = [p for p in of_role(plan, Role.CORNER_PIECE) if p.blank_m is not None]
    assert folded
    for p in folded:
        assert any(q.at is not None and q.at.flipped for q in p.patches)
        assert sum(q.polygon.area for q in p.patches) == pytest.approx(math.pi * 0.1016**2, rel=0.02)


def test_ready_made_corner_pieces_serve_only_within_their_stated_angles() -> None:
    stated = {c.item: c for c in CATALOG.corner_pieces}
    plan = planned(random_case(2).job)
    checked = 0
    for p in of_role(plan, Role.CORNER_PIECE):
        if p.blank_m is None:
            facets = {q.facet for q in p.patches}
            for j in plan.room.joints:
                if set(j.facets) <= facets and not stated[p.item].formed:
                    bend = min(j.angle_deg, 360 - j.angle_deg)
                    assert stated[p.item].angle_min_deg <= bend <= stated[p.item].angle_max_deg
                    checked += 1
    assert checked


def test_pipes_closer_than_a_lap_share_a_collar() -> None:
    pipes = [pipe("hot", "20 in", "44 in"), pipe("cold", "22 1/2 in", "44 in"), pipe("far", "40 in", "44 in")]
    plan = planned(box(room={"penetration": pipes}))
    collars = of_role(plan, Role.COLLAR)
    assert len(collars) == 2
    assert plan.covering.proof.tight
    assert plan.covering.crowded == ()


def test_no_seam_runs_under_a_collars_flange() -> None:
    lap = 0.0635
    for along in ("18 in", "24 in", "30 in", "36 in"):
        plan = planned(box(room={"penetration": [pipe("valve", along, "44 in", "4 in")]}, covering={"joints": "band"}))
        p = next(x for x in plan.room.penetrations if x.name == "valve")
        flange = Point(p.center_m).buffer(p.diameter_m / 2 + lap - 1e-3)
        under = [x.id for x in of_role(plan, Role.SHEET) if any(q.facet == p.facet and q.polygon.intersects(flange) for q in x.patches)]
        assert len(under) == 1, along


def test_a_collar_folds_over_a_joint_that_is_near() -> None:
    plan = planned(box(room={"penetration": [pipe("near", "2 1/2 in", "44 in")]}))
    (collar,) = of_role(plan, Role.COLLAR)
    assert len({q.facet for q in collar.patches}) == 2
    assert plan.covering.proof.tight


def test_a_pipe_in_the_corner_has_to_move_and_the_finding_says_how_far() -> None:
    plan = planned(box(room={"penetration": [pipe("in the corner", "2 1/2 in", "2 1/2 in")]}))
    assert [c for c in plan.covering.crowded if "move it by" in c.sentence and c.move_m > 0.0]
    (told,) = [f.sentence for f in plan.findings if f.verdict == "fail" and "move it by" in f.sentence]
    assert re.search(r'from two joints: no collar folds over both; move it by \d[ /\d]*"', told)
    assert "mm" not in told  # the job is in inches


def test_the_corner_reach_grows_as_the_corner_gets_sharper() -> None:
    corners = find_corners(Terrain(planned(box()).room))
    square = min(reach_needed_m(c, 0.0635) for c in corners)
    assert square == pytest.approx(0.0635 / 2 * (1 + math.sqrt(2)) + 0.006, abs=2e-3)


def test_the_code_lengthens_the_legs_at_pan_and_dam_alone() -> None:
    wishes = planned(box()).job.covering
    assert leg_needed_m(wishes, "UPC", FacetKind.FLOOR, FacetKind.WALL) == pytest.approx(0.1016 + 0.0127)
    assert leg_needed_m(wishes, "IRC", FacetKind.FLOOR, FacetKind.WALL) == pytest.approx(0.0635)
    assert leg_needed_m(wishes, "UPC", FacetKind.WALL, FacetKind.CEILING) == pytest.approx(0.0635)


def test_the_bound_stays_under_every_layout_and_grows_with_the_lap() -> None:
    plan = planned(box())
    c = plan.covering
    for joints in ("band", "fold"):
        other = planned(box(covering={"joints": joints})).covering
        assert other.bound is not None
        assert c.bound is not None
        assert c.bound.lower_m2 < other.bound.used_m2
    wide = plan.job.covering.model_copy(update={"allowance_m": 0.0254})
    assert c.bound is not None
    assert material_bound(plan.room, c.pieces, c.stock, wide).lower_m2 > c.bound.lower_m2


def test_searching_never_costs_more_material_than_folding_everywhere() -> None:
    searched, folded = planned(box(covering={"effort": 300})), planned(box(covering={"joints": "fold"}))
    assert searched.covering.bound is not None
    assert folded.covering.bound is not None
    assert searched.covering.bound.used_m2 <= folded.covering.bound.used_m2 + 1e-9


def test_an_unknown_membrane_and_a_roll_too_narrow_are_told_with_their_place() -> None:
    for covering, path in (({"membrane": "oilcloth"}, "covering.membrane"), ({"roll_width": "4 in"}, "covering.roll_width")):
        with pytest.raises(InputError) as told:
            planned(box(covering=covering))
        assert told.value.path == path
        assert told.value.hint
