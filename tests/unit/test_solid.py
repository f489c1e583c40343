"""Rooms small enough to be reckoned by hand, and rooms that cannot be."""

from __future__ import annotations

import math
from collections import Counter
from random import Random
from typing import Any

import numpy as np
import pytest
from shapely import Polygon, contains_xy

from steamwright.errors import GeometryError, InputError, JobError
from steamwright.geometry.arrangement import surface_edges
from steamwright.geometry.facets import meetings, regions
from steamwright.geometry.halfspace import All, AnyOf, In, Not, half_space, holds, polygon_formula
from steamwright.room.inputs import Room
from steamwright.room.model import CoveredBy, Face, FacetKind, JointKind, Solid
from steamwright.room.solid import build_solid
from steamwright.room.survey_model import WallFix
from tests.measured import all_pieces, report, solid
from tests.property.test_solid import euler, open_edges

BOX = ((0.0, 0.0), (1.5, 0.0), (1.5, 1.0), (0.0, 1.0))
ELL = ((0.0, 0.0), (3.0, 0.0), (3.0, 1.5), (1.2, 1.5), (1.2, 2.7), (0.0, 2.7))
FLAT = {"shape": "flat", "height": "2.4 m"}
DOOR = {"name": "door", "kind": "door", "wall": "A-B", "from": "0.4 m", "width": "0.7 m", "top": "2 m", "setback": "0.1 m"}
NICHE = {"name": "niche", "wall": "B-C", "from": "0.3 m", "bottom": "1.1 m", "width": "0.3 m", "height": "0.4 m", "depth": "0.09 m"}
BENCH = {"name": "bench", "wall": "C-D", "depth": "0.4 m", "height": "0.45 m"}


def room(points: Any = BOX, depth_m: float = 0.0, ceiling: dict[str, Any] | None = None, **more: Any) -> Solid:
    survey = {k: more.pop(k) for k in ("walls", "floor") if k in more}
    more.setdefault("pan", {"drain": "line", "drain_wall": "A-B"})
    found = solid(points, {"ceiling": ceiling or FLAT, **more}, depth_m, **survey)
    assert open_edges(found) < 1e-9
    assert euler(found) == 2
    return found


def area(found: Solid, surface: str) -> float:
    return sum(f.area_m2 for f in found.facets if f.surface == surface)


def angles(found: Solid, *names: str) -> list[float]:
    ids = {f.id for f in found.facets if f.surface in names}
    return [round(j.angle_deg, 3) for j in found.joints if set(j.facets) <= ids]


def test_a_box() -> None:
    found = room()
    assert [f.surface for f in found.facets] == ["floor", "A-B", "B-C", "C-D", "D-A", "ceiling"]
    assert [f.area_m2 for f in found.facets] == pytest.approx([1.5, 3.6, 2.4, 3.6, 2.4, 1.5])
    assert found.volume_m3 == pytest.approx(3.6)
    assert len(found.joints) == 12
    assert all(j.angle_deg == pytest.approx(90) and j.kind is JointKind.INSIDE for j in found.joints)
    assert not found.rims


def test_walls_are_seen_from_the_room() -> None:
    wall = room().facet("facet-02")
    assert wall.frame.v == pytest.approx((0, 0, 1))
    assert wall.frame.u == pytest.approx((-1, 0, 0))  # one who looks at A-B from the room has A on the right
    assert wall.frame.normal == pytest.approx((0, 1, 0))
    assert wall.frame.origin_m == pytest.approx((1.5, 0, 0))


def test_layers_take_their_thickness_from_every_side() -> None:
    found = room(depth_m=0.0127)
    assert found.volume_m3 == pytest.approx((1.5 - 0.0254) * (1 - 0.0254) * (2.4 - 0.0254))


def test_an_ell_has_one_outside_corner() -> None:
    found = room(ELL)
    assert found.volume_m3 == pytest.approx((3 * 1.5 + 1.2 * 1.2) * 2.4)
    assert Counter(j.kind for j in found.joints) == {JointKind.INSIDE: 17, JointKind.OUTSIDE: 1}
    assert angles(found, "C-D", "D-E") == [pytest.approx(270)]


def test_the_same_room_listed_clockwise() -> None:
    found = room(((0, 0), (1.5, 0), (1.5, -1), (0, -1)), niche=[NICHE])
    assert found.volume_m3 == pytest.approx(3.6 + 0.3 * 0.4 * 0.09)
    wall = next(f for f in found.facets if f.surface == "B-C")
    assert wall.frame.u == pytest.approx((0, -1, 0))  # now the first station is on the left
    assert min(s for s, _ in wall.holes_m[0]) == pytest.approx(0.3)
    assert room(niche=[NICHE]).facet("facet-03").holes_m[0][0][0] == pytest.approx(0.7, abs=0.31)


def test_slope_and_area_factor_of_a_ceiling() -> None:
    """66 in of run at 2 in/ft: 11.0 in of drop, 66.91 in along the slope, area factor 1.0138, 9.46 deg (TCNA-SR614, arithmetic)."""
    slope = {"shape": "slope", "low_wall": "D-A", "height": "2 m", "pitch": "2 in/ft"}
    found = room(((0, 0), (1.6764, 0), (1.6764, 1), (0, 1)), ceiling=slope)
    ceiling = next(f for f in found.facets if f.kind is FacetKind.CEILING)
    size = np.ptp(ceiling.outline_m, axis=0)
    assert size[0] / 0.0254 == pytest.approx(66.91, abs=0.005)
    assert ceiling.area_m2 / 1.6764 == pytest.approx(1.0138, abs=5e-5)
    heights = [f.area_m2 for f in found.facets if f.surface in ("B-C", "D-A")]
    assert (heights[0] - heights[1]) / 0.0254 == pytest.approx(11.0)
    assert angles(found, "ceiling", "B-C") == [pytest.approx(90 - 9.46, abs=5e-3)]
    assert angles(found, "ceiling", "D-A") == [pytest.approx(90 + 9.46, abs=5e-3)]


def test_a_ridge_halves_the_drop() -> None:
    """Ridge in the middle of 66 in at 2 in/ft: 5.5 in (TCNA-SR614, arithmetic)."""
    ridge = {"shape": "ridge", "along": "B-C", "height": "2.4 m", "pitch": "2 in/ft"}
    found = room(((0, 0), (1.6764, 0), (1.6764, 1), (0, 1)), ceiling=ridge)
    top = [f for f in found.facets if f.kind is FacetKind.CEILING]
    assert [f.name for f in top] == ["ceiling 1", "ceiling 2"]
    assert area(found, "B-C") == pytest.approx(2.4 - 5.5 * 0.0254)
    assert angles(found, "ceiling") == [pytest.approx(180 - 2 * 9.4623, abs=1e-3)]


def test_a_rafter_cuts_the_walls_down() -> None:
    spots = [{"spots": [["A", "2.4 m"], ["B", "2.4 m"], ["C", "2.4 m"]]}, {"spots": [["D", "1.6 m"], ["C", "1.6 m"], ["B", "2.8 m"]]}]
    found = room(ceiling={"shape": "planes", "plane": spots})
    cut = 0.8 / 1.2  # where the rafter, 1.2 m a metre, meets the level part
    assert area(found, "C-D") == pytest.approx(1.6 * 1.5)
    assert area(found, "B-C") == pytest.approx(2.4 - 0.8 * cut / 2)
    assert found.volume_m3 == pytest.approx(1.5 * (2.4 - 0.8 * cut / 2))
    assert len(next(f for f in found.facets if f.surface == "B-C").outline_m) == 5


def test_a_valley_is_an_outside_joint() -> None:
    spots = [{"spots": [["A", "2.4 m"], ["B", "2.4 m"], ["C", "2.0 m"]]}, {"spots": [["D", "2.4 m"], ["C", "2.4 m"], ["B", "2.0 m"]]}]
    found = room(ceiling={"shape": "planes", "join": "highest", "plane": spots})
    assert angles(found, "ceiling") == [pytest.approx(180 + 2 * math.degrees(math.atan(0.4)), abs=1e-3)]
    assert found.volume_m3 == pytest.approx(1.5 * 2.3)


def test_an_octagon_with_a_hip() -> None:
    n, r = 8, 1.2
    points = [(r * math.cos(math.pi * (k / 4 + 1 / 8)), r * math.sin(math.pi * (k / 4 + 1 / 8))) for k in range(n)]
    found = room(points, ceiling={"shape": "hip", "height": "2.1 m", "apex": "2.4 m", "apex_at": ["0 m", "0 m"]}, depth_m=0.01)
    base = n / 2 * (r * math.cos(math.pi / 8) - 0.01) ** 2 * 2 * math.tan(math.pi / 8)
    pitch = 0.3 / (r * math.cos(math.pi / 8))
    apex = 2.4 - 0.01 * math.hypot(1, pitch)
    eave = apex - pitch * (r * math.cos(math.pi / 8) - 0.01)
    assert Counter(f.kind for f in found.facets) == {FacetKind.FLOOR: 1, FacetKind.WALL: 8, FacetKind.CEILING: 8}
    assert found.volume_m3 == pytest.approx(base * (eave - 0.01 + (apex - eave) / 3))
    assert {len(f.outline_m) for f in found.facets if f.kind is FacetKind.CEILING} == {3}


def test_a_hip_over_an_oblong_has_a_ridge() -> None:
    found = room(ceiling={"shape": "hip", "height": "2.1 m", "pitch": "1:5"}, depth_m=0.01)
    tops = sorted(len(f.outline_m) for f in found.facets if f.kind is FacetKind.CEILING)
    assert tops == [3, 3, 4, 4]


def test_bench_and_niche() -> None:
    found = room(bench=[BENCH], niche=[NICHE])
    assert area(found, "bench top") == pytest.approx(1.5 * 0.4)
    assert area(found, "bench front") == pytest.approx(1.5 * 0.45)
    assert area(found, "B-C") == pytest.approx(2.4 - 0.4 * 0.45 - 0.12)
    assert area(found, "niche back") == pytest.approx(0.12)
    assert area(found, "niche side left") == pytest.approx(0.4 * 0.09)
    assert found.volume_m3 == pytest.approx(3.6 - 1.5 * 0.4 * 0.45 + 0.12 * 0.09)
    assert angles(found, "bench top", "bench front") == [pytest.approx(270)]
    assert angles(found, "niche sill", "B-C") == [pytest.approx(270)]


def test_layers_narrow_a_niche() -> None:
    found = room(niche=[NICHE], depth_m=0.0127)
    assert area(found, "niche back") == pytest.approx((0.3 - 0.0254) * (0.4 - 0.0254))
    assert area(found, "niche sill") == pytest.approx((0.3 - 0.0254) * 0.09)


@pytest.mark.parametrize("points", [BOX, ((0, 0), (1.5, 0), (1.5, -1), (0, -1))])
def test_left_and_right_are_those_of_one_who_looks_at_the_wall(points: Any) -> None:
    found = room(points, niche=[NICHE], opening=[{**DOOR, "bottom": "0.3 m"}])
    for wall, left, right in (("B-C", "niche side left", "niche side right"), ("A-B", "door jamb left", "door jamb right")):
        frame = next(f for f in found.facets if f.surface == wall).frame
        at = [float(frame.drop(f.frame.lift(f.outline_m)).mean(axis=0)[0]) for s in (left, right) for f in found.facets if f.surface == s]
        assert at[0] < at[1] - 0.29


def test_benches_of_one_height_are_one_seat_and_tiers_are_not() -> None:
    ell = room(bench=[BENCH, {**BENCH, "name": "other", "wall": "D-A"}])
    assert area(ell, "bench top") == pytest.approx(0.4 * 1.5 + 0.4 * 0.6)
    assert sum(f.kind is FacetKind.BENCH_TOP for f in ell.facets) == 1
    tiers = room(bench=[{**BENCH, "depth": "0.8 m"}, {**BENCH, "name": "upper", "height": "0.9 m"}])
    assert area(tiers, "bench top") == pytest.approx(area(tiers, "upper top"))


def test_a_bench_that_ends_on_its_wall_shows_its_end() -> None:
    found = room(bench=[{**BENCH, "to": "1 m"}])
    assert area(found, "bench end right") + area(found, "bench end left") == pytest.approx(0.4 * 0.45)
    assert area(found, "bench end right") == 0  # C-D runs from right to left before one who looks at it: C is to the right


def test_a_bench_that_ends_at_an_outside_corner_goes_on_in_the_wall_round_it() -> None:
    found = room(ELL, pan={}, bench=[{**BENCH, "wall": "D-E"}])
    assert area(found, "C-D") == pytest.approx(1.8 * 2.4 + 0.4 * 0.45)
    assert sum(f.surface == "C-D" for f in found.facets) == 1
    blunt = ((0, 0), (3, 0), (3, 1.5), (2.2, 2.3), (2.2, 3), (0, 3))
    found = room(blunt, 0.0127, pan={}, bench=[{**BENCH, "wall": "B-C"}, {**BENCH, "name": "short", "wall": "D-E"}])
    end = next(f for f in found.facets if f.surface == "short end right")
    assert end.area_m2 > 0.3 * 0.4


def test_sloped_tops_fall_into_the_room() -> None:
    found = room(bench=[{**BENCH, "slope": "1:40"}], niche=[{**NICHE, "sill_slope": "1:30"}])
    for surface, into in (("bench top", (0, -1)), ("niche sill", (-1, 0))):
        normal = next(f for f in found.facets if f.surface == surface).frame.normal
        assert float(normal[:2] @ np.asarray(into)) > 0.02
    assert area(found, "bench front") == pytest.approx(1.5 * (0.45 - 0.01))


def test_a_door_is_a_facet_without_covering() -> None:
    ending = {"ending": "under the frame", "reach": "2 in", "sealed_by": "silicone sealant"}
    found = room(opening=[{**DOOR, "bottom": "0.2 m", **ending}])
    door = next(f for f in found.facets if f.surface == "door")
    assert (door.kind, door.covering_by) == (FacetKind.OPENING, CoveredBy.NONE)
    assert door.area_m2 == pytest.approx(0.7 * 1.8)
    assert {(r.opening, r.ending, r.sealed_by) for r in found.rims} == {(door.id, "under the frame", "silicone sealant")}
    assert len(found.rims) == 4
    assert all(r.reach_m == pytest.approx(0.0508) for r in found.rims)
    assert not any(door.id in j.facets for j in found.joints)


def test_a_curbless_sill_lies_in_the_floor() -> None:
    found = room(opening=[{**DOOR, "curbless": True}], depth_m=0.01)
    assert angles(found, "floor", "door sill") == [pytest.approx(180)]
    assert next(j.kind for j in found.joints if j.angle_deg > 179 and j.angle_deg < 181) is JointKind.FLAT


def test_a_curb_fills_the_door_up_to_its_top() -> None:
    found = room(opening=[DOOR], curb=[{"name": "curb", "wall": "A-B", "width": "0.1 m", "height": "0.1 m"}])
    assert area(found, "door") == pytest.approx(0.7 * 1.9)
    assert area(found, "curb top") == pytest.approx(1.5 * 0.1 + 0.7 * 0.1)
    assert area(found, "door sill") == 0


def test_half_wall_with_glass_and_a_bench_that_runs_out_under_it() -> None:
    found = room(wall=[{"side": "A-B", "kind": "glass", "ending": "under the channel", "reach": "1 in"}],
                 half_wall=[{"name": "half wall", "wall": "A-B", "to": "0.8 m", "thickness": "0.1 m", "height": "0.9 m"}],
                 bench=[{**BENCH, "wall": "B-C", "past_glass": "0.05 m"}])
    assert area(found, "A-B glass") == pytest.approx(1.5 * 2.4 - 0.8 * 0.9 - 0.4 * 0.45)
    names = {f.id: f.surface for f in found.facets}
    ends = {(names[r.facet], r.ending, round(r.reach_m, 4)) for r in found.rims}
    assert ("half wall top", "under the channel", 0.0254) in ends
    assert {e[0] for e in ends if e[1:] == ("runs on under the glass", 0.05)} == {"bench top"}


def test_a_leaning_wall() -> None:
    found = room(walls=[WallFix("A-B", 0.02, 0.02, 0.02, 0.0, False, 0.0)])
    assert found.volume_m3 == pytest.approx(3.6 + 1.5 * 2.4 * 2.4 * 0.02 / 2)
    assert angles(found, "A-B", "floor") == [pytest.approx(90 + math.degrees(math.atan(0.02)), abs=1e-3)]


@pytest.mark.parametrize(("start", "end", "outside"), [(0.0, 0.02, False), (0.02, 0.0, True), (0.01, -0.01, True)])
def test_a_twisted_wall_is_two_facets_through_its_corners(start: float, end: float, outside: bool) -> None:
    found = room(walls=[WallFix("A-B", 0.0, start, end, 0.01, True, 0.0)])
    assert sum(f.surface == "A-B" for f in found.facets) == 2
    corners = {tuple(np.round(p, 6)) for f in found.facets if f.surface == "A-B" for p in f.frame.lift(f.outline_m)}
    assert corners == {(0, 0, 0), (1.5, 0, 0), (0, round(-2.4 * start, 6), 2.4), (1.5, round(-2.4 * end, 6), 2.4)}
    assert (angles(found, "A-B")[0] > 180) is outside


def test_heights_count_from_the_lowest_floor_and_the_floor_follows_its_readings() -> None:
    floor = [("A", 0.01), ("B", -0.02), ("C", -0.01), ("D", 0.02)]
    found = room(floor=floor, bench=[BENCH])
    assert next(f for f in found.facets if f.surface == "ceiling").frame.origin_m[2] == pytest.approx(2.38)
    feet = {tuple(np.round(p, 6)) for f in found.facets if f.surface == "A-B" for p in f.frame.lift(f.outline_m)}
    assert {(0, 0, 0.01), (1.5, 0, -0.02)} <= feet
    top = next(f for f in found.facets if f.surface == "bench top")
    assert top.frame.origin_m[2] == pytest.approx(0.43)


def test_a_ceiling_height_taken_on_the_tile_is_carried_to_the_framing() -> None:
    said = Room.model_validate({"ceiling": {**FLAT, "face": "tile"}, "pan": {"drain": "line"}}, context={"typed": True})
    thick = {Face.FRAMING: 0.0, Face.MEMBRANE: 0.02, Face.TILE: 0.03}
    got = [build_solid(report(BOX), said, lambda _s, k, f=face: thick[f], face, all_pieces, lambda _s, _k, f: thick[f])
           for face in (Face.FRAMING, Face.TILE)]
    tops = [f.frame.origin_m[2] for s in got for f in s.facets if f.kind is FacetKind.CEILING]
    assert tops == pytest.approx([2.4 + 0.06, 2.4 + 0.03])
    lows = [f.frame.origin_m[2] for s in got for f in s.facets if f.kind is FacetKind.FLOOR]
    assert tops[1] - lows[1] == pytest.approx(2.4)


def test_a_curved_wall_comes_as_chords() -> None:
    found = room(wall=[{"side": "C-D", "radius": "0.75 m", "sagitta": "0.02 m", "bulge": "outward"}])
    chords = [f for f in found.facets if f.surface == "C-D"]
    assert len(chords) == math.ceil(math.pi / (2 * math.acos(1 - 0.02 / 0.75)))
    half = math.pi / len(chords) / 2
    assert found.volume_m3 == pytest.approx(3.6 + 2.4 * len(chords) * 0.75**2 * math.sin(half) * math.cos(half))
    inward = room(wall=[{"side": "C-D", "radius": "1.5 m", "bulge": "inward"}])
    assert inward.volume_m3 < 3.6


def test_walls_in_one_line_stay_two() -> None:
    points = ((0, 0), (0.7, 0), (1.5, 0), (1.5, 1), (0, 1))
    found = room(points, pan={})
    assert area(found, "A-B") == pytest.approx(0.7 * 2.4)
    assert area(found, "B-C") == pytest.approx(0.8 * 2.4)
    assert angles(found, "A-B", "B-C") == [pytest.approx(180)]
    front = room(points, pan={}, wall=[{"side": "B-C", "kind": "glass"}], depth_m=0.0127)
    assert area(front, "A-B return") == pytest.approx(0.0127 * (2.4 - 0.0254))


@pytest.mark.parametrize("off", [-3e-3, -4e-4, -1e-6, 1e-8, 2e-5, 1e-3, 3e-3])
@pytest.mark.parametrize("more", [{}, {"wall": [{"side": "B-C", "kind": "glass"}]}, {"bench": [{**BENCH, "wall": "D-E"}]}])
def test_walls_in_one_line_but_for_what_a_tape_leaves_open_stay_two(off: float, more: dict[str, Any]) -> None:
    """A station in the middle of a wall is hardly ever found in line to the last hair, before the wall or behind it."""
    found = room(((0, 0), (0.7, off), (1.5, 0), (1.5, 1), (0, 1)), depth_m=0.018, pan={"membrane": "bonded", "flat": "8 in"}, **more)
    names = [f.surface for f in found.facets]
    assert {"A-B", "B-C glass" if "wall" in more else "B-C"} <= set(names)
    assert ("A-B return" in names) == ("wall" in more)
    assert not any(max(abs(c) for c in p) > 3 for f in found.facets for p in f.frame.lift(f.outline_m))


@pytest.mark.parametrize("lean", [0.003, -0.003])
@pytest.mark.parametrize("floor", [[], [("A", 0.01), ("B", 0.0), ("C", -0.01), ("D", 0.0), ("E", 0.0)]])
def test_walls_in_one_line_that_lean_apart_are_parted_by_returns(lean: float, floor: list[tuple[str, float]]) -> None:
    """They cross where the stations were taken, above or below the floor: there each stands before the other."""
    points = ((0, 0), (0.7, 0), (1.5, 0), (1.5, 1), (0, 1))
    walls = [WallFix("A-B", lean, lean, lean, 0.0, False, 0.0)]
    found = room(points, depth_m=0.018, pan={}, walls=walls, floor=floor)
    back, front = ("A-B return", "B-C return") if lean < 0 else ("B-C return", "A-B return")
    assert area(found, back) == pytest.approx(abs(lean) * 2.4**2 / 2, rel=0.05)
    assert area(found, front) < 1e-6


@pytest.mark.parametrize("start", range(8))
@pytest.mark.parametrize("rise", [0.0, 0.2])
@pytest.mark.parametrize("off", [-1e-9, 0.0, 1e-9])
def test_walls_of_one_plane_round_a_corner_are_told_apart(start: int, rise: float, off: float) -> None:
    cup: Any = ((0, 0), (3.2, 0), (3.2, 2 + off), (2, 2), (2, 1), (1, 1), (1, 2 + off), (0, 2 - off))
    points = cup[start:] + cup[:start]
    arms = [f"{'ABCDEFGH'[(k - start) % 8]}-{'ABCDEFGH'[(k + 1 - start) % 8]}" for k in (2, 6)]
    low = f"{'ABCDEFGH'[-start % 8]}-{'ABCDEFGH'[(1 - start) % 8]}"
    ceiling = {"shape": "slope", "low_wall": low, "height": "2.4 m", "pitch": f"{rise}:1"} if rise else FLAT
    found = room(points, pan={}, ceiling=ceiling)
    assert area(found, arms[0]) == pytest.approx(1.2 * (2.4 + 2 * rise))
    assert area(found, arms[1]) == pytest.approx(2.4 + 2 * rise)


@pytest.mark.parametrize("apart", [1e-10, 1e-9, 1e-8, 3e-7, 1e-6, 3e-6, 1e-5])
def test_surfaces_that_nearly_coincide_leave_no_gap(apart: float) -> None:
    """Two shoulders in one line whose walls lean almost alike, and benches almost of one height."""
    tee = ((0, 0), (2, 0), (2, 1), (4, 1), (4, 2), (-2, 2), (-2, 1), (0, 1))
    lean = [WallFix("C-D", 0.003, 0.003, 0.003, 0.0, False, 0.0), WallFix("G-H", *[0.003 + apart] * 3, 0.0, False, 0.0)]
    bench = [{**BENCH, "wall": "A-B"}, {**BENCH, "name": "other", "wall": "B-C", "height": f"{0.45 + apart:.12f} m"}]
    said = {"ceiling": FLAT, "bench": bench, "pan": {"membrane": "bonded", "flat": "8 in"}}
    found, plain = (solid(tee, said, 0.0164, walls=w) for w in (lean, (lean[0], WallFix("G-H", *[0.003] * 3, 0.0, False, 0.0))))
    assert np.abs(sum(f.area_m2 * f.frame.normal for f in found.facets)).max() < 3e-6  # a surface that closes to 1e-6 m has no resultant
    assert found.volume_m3 == pytest.approx(plain.volume_m3, abs=20 * apart + 1e-9)


def test_columns_and_soffits() -> None:
    big = solid(((0, 0), (3, 0), (3, 3), (0, 3)), {
        "ceiling": FLAT, "pan": {"drain_at": ["0.5 m", "0.5 m"]},
        "column": [{"name": "post", "at": ["1.5 m", "1.5 m"], "size": ["0.3 m", "0.2 m"], "turned_deg": 30}],
        "soffit": [{"name": "soffit", "wall": "A-B", "depth": "0.3 m", "underside": "2.1 m"}]})
    assert big.volume_m3 == pytest.approx((9 - 0.06) * 2.4 - 3 * 0.3 * 0.3)
    assert area(big, "soffit underside") == pytest.approx(0.9)
    assert len(big.facets[0].holes_m) == 1
    assert euler(big) == 0  # a room round a column is a ring
    assert open_edges(big) < 1e-9


def test_penetrations_come_to_lie_on_their_facets() -> None:
    holes = [{"name": "valve", "kind": "valve", "on": "B-C", "along": "0.7 m", "up": "0.8 m", "diameter": "4 in"},
             {"name": "light", "kind": "light", "on": "ceiling", "at": ["0.5 m", "0.4 m"], "diameter": "4 in"},
             {"name": "hook", "kind": "blocking_screw", "on": "bench front", "along": "0.2 m", "up": "0.3 m", "diameter": "1/4 in"}]
    found = room(bench=[BENCH], penetration=holes, pan={}, depth_m=0.01)
    places = {p.name: found.facet(p.facet).frame.lift([p.center_m])[0] for p in found.penetrations}
    assert places["valve"] == pytest.approx((1.49, 0.7, 0.8))
    assert places["light"] == pytest.approx((0.5, 0.4, 2.39))
    assert places["hook"] == pytest.approx((1.3, 0.59, 0.3))
    assert places["drain"][:2] == pytest.approx((0.75, 0.3))
    assert found.penetrations[0].kind == "drain"


PIPE = {"name": "pipe", "kind": "pipe", "on": "B-C", "along": "0.5 m", "up": "1 m", "diameter": "1 in"}
GLASS = {"side": "A-B", "kind": "glass", "ending": "under the channel", "reach": "1 in"}
LEAF = {"name": "leaf", "kind": "door", "wall": "A-B", "from": "0.1 m", "width": "0.6 m", "top": "2 m"}
LOW_WALL = {"name": "half wall", "wall": "A-B", "from": "0.7 m", "thickness": "0.1 m", "height": "0.9 m"}
CURB = {"name": "curb", "wall": "A-B", "to": "0.7 m", "width": "0.1 m", "height": "0.1 m"}
WRONG = [
    ({"wall": [GLASS], "opening": [{**LEAF, "top": "2.5 m"}]}, "room.opening[0].top"),
    ({"wall": [GLASS], "opening": [{**LEAF, "width": "0.8 m"}], "half_wall": [LOW_WALL]}, "room.opening[0].width"),
    ({"wall": [GLASS], "opening": [{**LEAF, "bottom": "0.05 m"}], "curb": [CURB]}, "room.opening[0].bottom"),
    ({"wall": [GLASS], "opening": [LEAF], "soffit": [{"name": "box", "wall": "A-B", "depth": "0.2 m", "underside": "1.9 m"}]},
     "room.opening[0].top"),
    ({"ceiling": {"shape": "flat", "height": "0.02 m"}}, "room.ceiling"),
    ({"ceiling": {"shape": "ridge", "along": "A-B", "height": "2.4 m", "pitch": "5:1"}}, "room.ceiling"),
    ({"ceiling": {"shape": "slope", "height": "2.4 m", "pitch": "1:6"}}, "room.ceiling.low_wall"),
    ({"ceiling": {"shape": "flat"}}, "room.ceiling.height"),
    ({"ceiling": {"shape": "planes", "plane": [{"spots": [["A", "2 m"], ["B", "2 m"], ["Z", "2 m"]]}]}}, "room.ceiling.plane[0].spots[2]"),
    ({"opening": [{**DOOR, "from": "1 m"}]}, "room.opening[0]"),
    ({"opening": [{**DOOR, "top": "2.5 m"}]}, "room.opening[0].top"),
    ({"opening": [{**DOOR, "wall": "A-C"}]}, "room.opening[0].wall"),
    ({"niche": [{**NICHE, "from": "0.9 m"}]}, "room.niche[0]"),
    ({"niche": [NICHE, {**NICHE, "name": "second", "from": "0.5 m"}]}, "room.niche[1].from"),
    ({"niche": [{**NICHE, "bottom": "2.2 m"}]}, "room.niche[0].height"),
    ({"niche": [{**NICHE, "bottom": "0.3 m", "from": "0.5 m"}], "bench": [BENCH]}, "room.niche[0]"),
    ({"bench": [{**BENCH, "to": "2 m"}]}, "room.bench[0]"),
    ({"bench": [{**BENCH, "height": "2.5 m"}]}, "room.bench[0].height"),
    ({"bench": [{**BENCH, "depth": "1.2 m"}]}, "room.pan"),
    ({"penetration": [{**PIPE, "up": "3 m"}]}, "room.penetration[0]"),
    ({"penetration": [{**PIPE, "along": "0.005 m"}]}, "room.penetration[0]"),
    ({"penetration": [{**PIPE, "on": "B-D"}]}, "room.penetration[0].on"),
    ({"penetration": [{**PIPE, "up": None}]}, "room.penetration[0]"),
    ({"penetration": [PIPE, {**PIPE, "name": "twin", "up": "1.01 m"}]}, "room.penetration[1]"),
    ({"wall": [{"side": "A-Z"}]}, "room.wall[0].side"),
    ({"wall": [{"side": "A-B", "radius": "0.5 m"}]}, "room.wall[0].radius"),
    ({"pan": {"membrane": "bonded", "drain_at": ["3 m", "3 m"]}}, "room.pan.drain_at"),
]


@pytest.mark.parametrize(("said", "path"), WRONG)
def test_what_cannot_be_built_is_told_with_its_place(said: dict[str, Any], path: str) -> None:
    with pytest.raises(InputError) as caught:
        room(**said)
    told = caught.value.mistakes if isinstance(caught.value, JobError) else (caught.value,)
    assert path in {m.path for m in told}
    assert all(m.detail and m.hint for m in told)


def test_a_leaf_stands_on_the_curb_beside_the_half_wall() -> None:
    for bottom in ({}, {"bottom": "0.1 m"}):
        room(wall=[GLASS], opening=[{**LEAF, **bottom}], half_wall=[LOW_WALL], curb=[CURB])


@pytest.mark.parametrize(("height", "closes"), [("1.3 m", "7 7/8\""), ("1.7 m", "1' 3 3/4\""), ("1.11 m", "3/8\"")])
def test_a_seat_that_closes_part_of_a_niche_is_told(height: str, closes: str) -> None:
    seat = {"name": "seat", "wall": "B-C", "depth": "0.4 m", "height": height}
    with pytest.raises(GeometryError, match=rf"room.niche\[0\].bottom: seat stands before niche and closes {closes} of its height"):
        room(niche=[NICHE], bench=[seat])
    room(niche=[NICHE], bench=[seat | {"height": "1.1 m"}])
    room(niche=[NICHE], bench=[seat | {"from": "0.7 m"}])


def test_several_mistakes_are_told_at_once() -> None:
    with pytest.raises(JobError) as caught:
        room(opening=[{**DOOR, "from": "1 m"}], niche=[{**NICHE, "from": "0.9 m"}])
    assert [m.path for m in caught.value.mistakes] == ["room.opening[0]", "room.niche[0]"]


def test_walls_that_cross() -> None:
    with pytest.raises(GeometryError, match="cross"):
        room(((0, 0), (1.5, 0), (0, 1), (1.5, 1)))


def test_air_in_two_parts() -> None:
    with pytest.raises(GeometryError, match="2 parts"):
        room(((0, 0), (3, 0), (3, 1), (0, 1)), pan={"drain_at": ["0.5 m", "0.5 m"]},
             column=[{"name": "wall", "at": ["1.5 m", "0.5 m"], "size": ["0.2 m", "2 m"]}])


def simple_polygon(rng: Random, count: int) -> list[tuple[float, float]]:
    """Random points, tours uncrossed until none cross."""
    p = [(rng.random(), rng.random()) for _ in range(count)]
    while True:
        for i in range(count):
            for j in range(i + 2, count - (i == 0)):
                if _cross(p[i], p[i + 1], p[j], p[(j + 1) % count]):
                    p[i + 1: j + 1] = p[i + 1: j + 1][::-1]
                    break
            else:
                continue
            break
        else:
            return p if Polygon(p).exterior.is_ccw else p[::-1]


def _cross(a: Any, b: Any, c: Any, d: Any) -> bool:
    def side(p: Any, q: Any, r: Any) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def test_bodies_that_touch_along_an_edge_stay_two() -> None:
    """Two blocks of a chequerboard: eight facets, of which no outline runs through the edge that they share twice."""
    planes = [half_space(n, p, i) for i, (n, p) in enumerate((
        ((1, 0, 0), (0, 0, 0)), ((1, 0, 0), (1, 0, 0)), ((-1, 0, 0), (2, 0, 0)),
        ((0, 1, 0), (0, 0, 0)), ((0, 1, 0), (0, 1, 0)), ((0, -1, 0), (0, 2, 0)), ((0, 0, 1), (0, 0, 0)), ((0, 0, -1), (0, 0, 1))))]
    inside = [In(i) for i in range(8)]
    near = All((inside[0], Not(inside[1]), inside[3], Not(inside[4]), inside[6], inside[7]))
    far = All((inside[1], inside[2], inside[4], inside[5], inside[6], inside[7]))
    where, edges = surface_edges(AnyOf((near, far)), planes, np.full(3, -1.0), np.full(3, 3.0))
    found = regions(where, edges, [h.key for h in planes])
    assert sorted(len(r.outline) for r in found) == [4] * 12
    meets, open_m = meetings(found, edges.vertices_m)
    assert open_m == 0
    assert len(meets) == 24
    assert {round(m.angle_deg, 6) for m in meets} == {90.0}


def test_bodies_that_touch_at_two_corners_keep_their_own_outlines() -> None:
    """A fork of five cells round one that it touches at two corners: seen from above a fork and a square."""
    planes = [half_space((1, 0, 0), (i, 0, 0), 0) for i in range(4)] + [half_space((0, 1, 0), (0, i - 1, 0), 0) for i in range(4)]
    planes += [half_space((0, 0, 1), (0, 0, 0), 1), half_space((0, 0, -1), (0, 0, 1), 2)]
    at = ((0, 0), (0, -1), (1, -1), (2, -1), (2, 0), (1, 1))
    cells = [All((In(x), Not(In(x + 1)), In(5 + y), Not(In(6 + y)), In(8), In(9))) for x, y in at]
    where, edges = surface_edges(AnyOf(tuple(cells)), planes, np.full(3, -2.0), np.full(3, 4.0))
    found = regions(where, edges, [h.key for h in planes])
    assert sorted(len(r.outline) for r in found if r.key == 2) == [4, 8]
    assert meetings(found, edges.vertices_m)[1] == 0


def test_the_formula_of_a_polygon_holds_inside_it() -> None:
    rng = Random(99)  # the 187th polygon needs the endless first and last edges of a chain in its hull
    for _ in range(190):
        p = simple_polygon(rng, rng.randrange(3, 24))
        planes = [half_space((a[1] - b[1], b[0] - a[0], 0), (*a, 0), 0) for a, b in zip(p, p[1:] + p[:1], strict=True)]
        formula = polygon_formula(p, [In(i) for i in range(len(p))])
        q = np.array([(rng.uniform(-0.5, 1.5), rng.uniform(-0.5, 1.5), 0.0) for _ in range(300)])
        assert str(formula).count("In(") == len(p)
        assert (holds(formula, planes, q) == contains_xy(Polygon(p), q[:, 0], q[:, 1])).all()


def test_what_closes_an_opening_is_named_with_what_it_closes() -> None:
    tall = {"name": "tall bench", "wall": "D-A", "depth": "0.5 m", "height": "0.45 m"}
    with pytest.raises(GeometryError) as wrong:
        room(bench=[tall], opening=[{**DOOR, "bottom": "0.1 m"}])
    assert wrong.value.path == "room.opening[0]"
    assert "tall bench stands in front of door at A-B" in wrong.value.detail
    assert "tall bench" in wrong.value.hint


def test_a_drain_as_wide_as_its_flat_is_refused_with_the_least_flat() -> None:
    with pytest.raises(GeometryError, match="takes the whole flat") as wrong:
        room(pan={"membrane": "bonded", "flat": "6 in", "drain_diameter": "6 in"})
    assert wrong.value.path == "room.pan.flat"
    assert '8"' in wrong.value.hint
    room(pan={"membrane": "bonded", "flat": "8 in", "drain_diameter": "6 in"})
