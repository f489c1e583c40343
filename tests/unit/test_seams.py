"""Seams found in laid-out rooms, and what moving them does to the sheets and to the proof."""

from __future__ import annotations

from itertools import product

import pytest
import shapely

from steamwright.covering.ground import Terrain
from steamwright.covering.model import Patch, Piece
from steamwright.covering.proof import prove
from steamwright.covering.seams import Seam, find_seams, move_seam
from steamwright.plan.document import plan_json
from steamwright.plan.model import Plan
from steamwright.plan.reread import membrane_room, pieces_of
from steamwright.service.checking import catalog
from tests.built import example

WIDEST_M = 0.127


@pytest.fixture(scope="module")
def plan() -> Plan:
    return example("home-alcove")


@pytest.fixture(scope="module")
def terrain(plan: Plan) -> Terrain:
    return Terrain(plan.room)


@pytest.fixture(scope="module")
def seams(plan: Plan, terrain: Terrain) -> tuple[Seam, ...]:
    return find_seams(terrain, plan.covering.pieces, WIDEST_M)


def least_lap_mm(plan: Plan, pieces: tuple[Piece, ...]) -> float | None:
    lap = prove(plan.room, pieces, plan.covering.lap_required_m, plan.covering.lap_planned_m).least_lap_m
    return None if lap is None else round(lap * 1000, 1)


def test_a_seam_is_two_edges_of_two_sheets_with_the_planned_lap_between(plan: Plan, seams: tuple[Seam, ...]) -> None:
    assert len(seams) >= 4
    patches = {p.id: p.patches for p in plan.covering.pieces}
    for piece in (p for p in plan.covering.pieces if p.second_at):  # the seam names the part of a shared blank
        patches |= {f"{piece.id}{letter}": part for letter, part in zip("ab", piece.members(), strict=True)}
    for seam in seams:
        assert seam.lap_m == pytest.approx(plan.covering.lap_planned_m, abs=1e-5)
        assert seam.to_m - seam.from_m == pytest.approx(seam.lap_m, abs=1e-5)
        assert {sign for _, sign in seam.edges} == {1, -1}
        growing, shrinking = ([patches[edge.piece] for edge, sign in seam.edges if sign == way] for way in (1, -1))
        for stretch in seam.stretches:
            k = "st".index(seam.across)
            assert stretch.facet != seam.stretches[0].facet or stretch.forward[k] == pytest.approx(1.0, abs=1e-4)
            lines = shapely.LineString(stretch.under_m), shapely.LineString(stretch.over_m)
            laps = [p.polygon.intersection(q.polygon).buffer(1e-6) for one, other in product(growing, shrinking)
                    for p in one for q in other if p.facet == q.facet == stretch.facet]
            beside = [lap.intersection(lines[0]).buffer(2 * seam.lap_m) for lap in laps]
            assert any(lap.intersection(near).intersection(lines[1]).length > 0.029 for lap, near in zip(laps, beside, strict=True))
            assert any(all(lap.intersection(line).length > 0.029 for line in lines) for lap in laps)


@pytest.fixture(scope="module")
def parted() -> Plan:
    return example("commercial-tiers")


def on_blank(patches: tuple[Patch, ...]) -> shapely.Geometry:
    return shapely.union_all([shapely.transform(p.polygon, p.at.to_blank) for p in patches if p.at is not None])


@pytest.mark.parametrize("by_m", [-0.03, 0.03])
def test_a_seam_of_a_sheet_that_shares_its_blank_moves_as_far_as_the_other_part_lets_it(parted: Plan, by_m: float) -> None:
    pieces = parted.covering.pieces
    terrain = Terrain(parted.room)
    before = {p.id: p for p in pieces if p.second_at}
    names = {f"{name}{letter}": name for name in before for letter in "ab"}
    found = [s for s in find_seams(terrain, pieces, WIDEST_M) if any(e.piece in names for e, _ in s.edges)]
    assert len(found) >= 5
    held, followed = set[str](), set[str]()
    for seam in found:
        moved = move_seam(terrain, pieces, seam, by_m, 3.0, 6.0)  # what holds a sheet is the other part alone
        mine = {e.piece for e, _ in seam.edges}
        for piece in (p for p in moved.pieces if p.id in before):
            was = before[piece.id]
            (a, b), (c, d) = piece.members(), was.members()
            assert (len(a), len(b), piece.id, len(piece.parting_m)) == (len(c), len(d), was.id, len(was.parting_m))
            assert on_blank(a).intersection(on_blank(b)).area < 1e-6
            assert piece.blank_m is not None
            assert shapely.box(-1e-6, -1e-6, piece.blank_m[0] + 1e-6, piece.blank_m[1] + 1e-6).covers(on_blank((*a, *b)))
            assert not any(on_blank(part).buffer(-1e-4).intersects(shapely.LineString(piece.parting_m)) for part in (a, b))
            for letter, part, other in (("a", a, c), ("b", b, d)):
                if f"{piece.id}{letter}" not in mine:
                    assert [p.outline_m for p in part] == [p.outline_m for p in other]
            held |= {piece.id} & set(moved.held)
            followed |= {piece.id} if (a, b) != (c, d) else set()
    assert followed
    assert held or by_m < 0


def test_nothing_moved_is_nothing_changed(plan: Plan, terrain: Terrain, seams: tuple[Seam, ...]) -> None:
    moved = move_seam(terrain, plan.covering.pieces, seams[0], 0.0, 1.0, 6.0)
    assert moved.pieces == plan.covering.pieces
    assert moved.held == ()


def test_a_seam_moved_on_a_roll_that_is_wide_enough_keeps_its_lap(plan: Plan, terrain: Terrain, seams: tuple[Seam, ...]) -> None:
    """The planned lap goes along with the seam, over folds too; only at a gable the judge may be a little sterner."""
    laps_mm = []
    for seam in seams:
        for by_m in (-0.02, 0.02):
            moved = move_seam(terrain, plan.covering.pieces, seam, by_m, 3.0, 6.0)
            assert moved.held == ()
            laps_mm.append(least_lap_mm(plan, moved.pieces))
    assert laps_mm.count(63.5) >= 0.75 * len(laps_mm), laps_mm


@pytest.mark.parametrize(("by_m", "lap_mm", "tight"), [(0.012, 51.5, True), (0.013, 50.5, False), (0.02, 43.5, False)])
def test_a_sheet_as_wide_as_its_roll_pays_with_the_lap(plan: Plan, terrain: Terrain, seams: tuple[Seam, ...], by_m: float,
                                                       lap_mm: float, tight: bool) -> None:
    widths = {p.id: p.blank_m[1] for p in plan.covering.pieces if p.blank_m is not None}
    seam, full, sign = next((s, edge.piece, sign) for s in seams if len(s.edges) == 2
                            for edge, sign in s.edges if edge.axis == 1 and widths[edge.piece] > 0.9999)
    moved = move_seam(terrain, plan.covering.pieces, seam, sign * by_m, 1.0, 6.0)
    assert moved.held == (full,)
    proof = prove(plan.room, moved.pieces, 0.0508, 0.0635)
    assert proof.tight is tight
    assert proof.least_lap_m is not None
    assert round(proof.least_lap_m * 1000, 1) == lap_mm
    assert tight or full in proof.failures[0]


def test_a_kept_plan_taken_up_again_is_the_same_plan(plan: Plan) -> None:
    again = membrane_room(plan.job, catalog())
    assert again == plan.room
    pieces = pieces_of(plan_json(plan))
    assert [p.id for p in pieces] == [p.id for p in plan.covering.pieces]
    assert prove(again, pieces, 0.0508, 0.0635) == plan.covering.proof
