"""Narrow surfaces: what is folded onto one that is narrower than a lap runs on over its far side, and the room is lap-tight."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.layout import choose_materials
from steamwright.covering.model import Piece, Role
from steamwright.errors import ClashError
from steamwright.plan.build import build
from steamwright.plan.job import Job
from steamwright.plan.jobfile import read_job
from steamwright.plan.model import Plan
from tests.built import CATALOG, planned
from tests.unit.test_placing import LAYERS, box, of_role, pipe

ON = ["walls", "ceiling", "floor", "benches", "niches", "openings", "curbs", "half walls", "columns", "soffits"]
ENDING = {"ending": "under the frame", "reach": "2 1/2 in", "sealed_by": "silicone sealant"}
BONDED = {"membrane": "bonded", "drain": "point", "pitch": "1/4 in/ft"}


def niche(start: str, **more: str) -> dict[str, str]:
    size = {"bottom": "44 in", "width": "14 in", "height": "14 in", "depth": "3 1/2 in"}
    return {"name": "niche", "wall": "C-D", "from": start} | size | more


def surfaces(plan: Plan, piece: Piece) -> set[str]:
    return {plan.room.facet(q.facet).surface for q in piece.patches}


@pytest.mark.parametrize("start", ["1 in", "1 1/2 in", "2 in", "2 1/2 in", "3 in", "3 1/2 in"])
@pytest.mark.parametrize("joints", ["best", "band", "fold"])
def test_a_niche_may_stand_near_a_corner(start: str, joints: str) -> None:
    plan = planned(box(room={"niche": [niche(start)]}, covering={"joints": joints}))
    assert plan.covering.proof.tight, plan.covering.proof.failures


def test_a_band_on_a_narrow_strip_runs_on_round_its_far_edge() -> None:
    plan = planned(box(room={"niche": [niche("2 in")]}, covering={"joints": "band"}))
    lying = [surfaces(plan, p) for p in of_role(plan, Role.BAND)]
    assert any({"B-C", "C-D"} < on and any(name.startswith("niche side") for name in on) for on in lying)
    wide = planned(box(room={"niche": [niche("20 in")]}, covering={"joints": "band"}))
    assert all(len(p.patches) == 2 for p in of_role(wide, Role.BAND))


@pytest.mark.parametrize("start", ["1 1/2 in", "2 1/4 in"])
def test_a_window_may_stand_near_a_corner(start: str) -> None:
    window = {"name": "window", "kind": "window", "wall": "C-D", "from": start, "width": "20 in", "bottom": "48 in", "top": "66 in",
              "setback": "2 in", **ENDING}
    plan = planned(box(room={"opening": [window]}))
    assert plan.covering.proof.tight, plan.covering.proof.failures


@pytest.mark.parametrize("flat", ["5 in", "6 in", "8 in", "12 in"])
def test_the_flange_of_a_drain_lies_over_the_breaks_of_the_bed(flat: str) -> None:
    plan = planned(box(room={"pan": {**BONDED, "flat": flat}}))
    assert plan.covering.proof.tight, plan.covering.proof.failures
    assert not plan.covering.crowded


def ell(at: tuple[float, float]) -> dict[str, Any]:
    """An L of 90 by 84 in with a bench along its long side."""
    p = [(0, 0), (90, 0), (90, 44), (48, 44), (48, 84), (0, 84)]
    names = "ABCDEF"
    pairs = [(i, (i + 1) % 6) for i in range(6)] + [(0, 2), (0, 3), (0, 4), (1, 3), (1, 5), (3, 5)]
    rows = [{"kind": "wall" if k < 6 else "diagonal", "of": f"{names[a]}-{names[b]}", "is": f"{math.dist(p[a], p[b]):.6f} in"}
            for k, (a, b) in enumerate(pairs)]
    bench = {"name": "bench", "wall": "A-B", "depth": "16 in", "height": "18 in", "slope": "1/4 in/ft"}
    return {"name": "ell", "survey": {"stations": list(names), "turns": {"D": "right"}, "reading": rows},
            "room": {"ceiling": {"shape": "flat", "height": "90 in"}, "bench": [bench],
                     "pan": {**BONDED, "flat": "8 in", "drain_at": [f"{x} in" for x in at]}},
            "buildup": [{"name": "all", "on": ON, "layers": LAYERS}], "covering": {"effort": 20}}


@pytest.mark.parametrize("away", [0.35, 0.5, 0.75, 1.0, 1.5])
def test_the_flat_of_a_drain_may_lie_near_a_bench(away: float) -> None:
    """Between flat and bench a strip of the bed is left, which is narrower than a lap."""
    job = ell((24.0, 16 + 0.75 + 4 + away))
    plan = build(Job.model_validate(job, context={"typed": True}), CATALOG)
    assert plan.covering.proof.tight, plan.covering.proof.failures


def test_two_curbs_of_glass_that_meet_are_closed_up_to_the_glass() -> None:
    """Where their tops meet a hair beside the glass, that hair of an edge is a rim, too."""
    walls = [{"side": s, "kind": "glass", **ENDING} for s in ("A-B", "B-C")]
    curbs = [{"name": f"curb {s}", "wall": s, "width": "6 in", "height": "5 in", "slope": "1/2 in/ft"} for s in ("A-B", "B-C")]
    job = box(room={"wall": walls, "curb": curbs})
    for row in job["survey"]["reading"]:
        if row["of"] == "B-D":
            row["is"] = f"{math.hypot(60, 48) + 0.05:.6f} in"
    plan = planned(job)
    assert plan.covering.proof.tight, plan.covering.proof.failures


def test_pipes_that_no_collar_holds_say_what_to_change() -> None:
    outlet = {**pipe("steam outlet", "20 in", "40 in"), "kind": "steam_outlet"}
    two = planned(box(room={"penetration": [outlet, pipe("arm", "23 in", "40 in")]}))
    assert any("part them by at least 2 9/16" in c.sentence for c in two.covering.crowded)
    large = planned(box(room={"penetration": [pipe("duct", "30 in", "40 in", "9 in")]}))
    assert any("those for a pipe hold" in c.sentence for c in large.covering.crowded)
    lap = planned(box(room={"penetration": [pipe("arm", "30 in", "40 in")]}, covering={"lap_required": "3 in"}))
    assert any("lower covering.lap_required" in c.sentence for c in lap.covering.crowded)


def test_rolls_are_not_called_like_remnants_on_hand() -> None:
    rows = [{"id": name, "material": "sheet membrane 0.5 perm", "length": "100 in", "width": "39 in"} for name in ("R1", "R2")]
    plan = planned(box(covering={"remnant": rows}))
    stock = {s.id: s for s in plan.covering.stock}
    assert len(stock) == len(plan.covering.stock)
    assert any(s.on_hand for s in stock.values())
    assert any(not s.on_hand and s.item == "sheet 0.5 perm" for s in stock.values())
    for p in plan.covering.pieces:
        if p.cut is not None and p.blank_m is not None:
            reach = p.blank_m[p.cut.turned] + p.cut.x_m
            assert reach <= stock[p.cut.stock].length_m + 1e-9


@pytest.mark.parametrize(("key", "value"), [("longest", "6 in"), ("roll_length", "8 in"), ("longest_overhead", "10 in"),
                                            ("band_roll_length", "3 in")])
def test_pieces_hardly_longer_than_their_laps_are_refused(key: str, value: str) -> None:
    with pytest.raises(ClashError, match="too short") as wrong:
        planned(box(covering={key: value}))
    assert wrong.value.path == f"covering.{key}"
    assert "10 15/16" in wrong.value.hint
    choose_materials(CoveringWishes.model_validate({key: "10 15/16 in"}, context={"typed": True}), CATALOG, "IRC")


def test_a_piece_that_no_roll_holds_is_told_with_the_roll_that_would() -> None:
    with pytest.raises(ClashError, match="does not fit a roll") as wrong:
        planned(box(covering={"roll_length": "14 in", "joints": "band"}))
    assert wrong.value.path == "covering.roll_length"
    assert "give a roll of at least" in wrong.value.hint


def test_edges_of_many_pieces_that_all_but_coincide_are_reckoned() -> None:
    """Plain overlay of floats gives up on the sheets of one wall of this room."""
    plan = build(read_job((Path(__file__).parents[1] / "data" / "grazing.toml").read_text(encoding="utf-8"), CATALOG.materials), CATALOG)
    assert plan.covering.account.usd > 0.0


@pytest.mark.parametrize("more", [0.0, 0.005, 0.01, 0.02, 0.035, 0.06, 0.2])
def test_a_hip_over_a_room_that_is_square_but_for_the_tape_is_closed_at_its_point(more: float) -> None:
    """A ridge shorter than a hair is none: hips meet in one point. [in]"""
    job = box(room={"ceiling": {"shape": "hip", "height": "84 in", "pitch": "2 in/ft"}})
    sizes = {"A-B": 60.0, "C-D": 60.0, "B-C": 60.0 + more, "D-A": 60.0 + more}
    for row in job["survey"]["reading"]:
        row["is"] = f"{sizes.get(row['of'], math.hypot(60, 60 + more)):.6f} in"
    plan = planned(job)
    assert plan.covering.proof.tight, plan.covering.proof.failures


@pytest.mark.parametrize("away", ["1/2 in", "1 in", "1 1/4 in"])
@pytest.mark.parametrize("bottom", ["4 3/4 in", "5 in"])
def test_a_door_may_stand_near_a_corner(away: str, bottom: str) -> None:
    """The folded corner piece under it runs on over jamb and sill, which would lie on one another on its blank."""
    door = {"name": "door", "kind": "door", "wall": "C-D", "from": away, "width": "28 in", "bottom": bottom, "top": "78 in",
            "setback": "4 1/2 in", **ENDING}
    plan = planned(box(room={"opening": [door], "pan": BONDED}))
    assert plan.covering.proof.tight, plan.covering.proof.failures


@pytest.mark.parametrize(("long", "short"), [("14 in", "16 in"), ("16 in", "14 in"), ("16 in", "18 in"), ("20 in", "12 in")])
def test_seats_of_an_l_may_differ_in_depth(long: str, short: str) -> None:
    """The deeper seat falls further: between the two is a step of a hair, thinner than what its joints are told apart by."""
    seats = [{"name": name, "wall": wall, "depth": depth, "height": "18 in", "slope": "1/4 in/ft"}
             for name, wall, depth in (("long", "C-D", long), ("short", "D-A", short))]
    job = box(room={"bench": seats})
    next(r for r in job["survey"]["reading"] if r["of"] == "A-C")["is"] = "78 in"
    plan = planned(job)
    assert plan.covering.proof.tight, plan.covering.proof.failures
