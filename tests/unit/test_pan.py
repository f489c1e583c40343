"""Falls of pans, against hand reckoning and a published receptor."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import Point, Polygon

from steamwright.buildup.catalog import load_catalog
from steamwright.covering.cover import cover
from steamwright.covering.inputs import CoveringWishes
from steamwright.errors import GeometryError
from steamwright.room.bed import lay_bed
from steamwright.room.draft import Draft
from steamwright.room.flood import flood_words
from steamwright.room.inputs import Curb, Room
from steamwright.room.model import Face, FacetKind
from steamwright.room.pan import PanReport, drain_places, pan_report, receptor_fall_m
from steamwright.room.pan_advice import higher_curb
from steamwright.room.relief import heights_m
from steamwright.room.survey_model import WallFix
from tests.measured import all_pieces, report, solid
from tests.property.test_solid import euler, open_edges

INCH = 0.0254
ROOT = Path(__file__).parents[2]
FLAT = {"shape": "flat", "height": "2.4 m"}
RECEPTOR = ((0.0, 0.0), (60 * INCH, 0.0), (60 * INCH, 42 * INCH), (0.0, 42 * INCH))
SQUARE = ((0.0, 0.0), (1.2, 0.0), (1.2, 1.2), (0.0, 1.2))
ELL = ((0.0, 0.0), (2.0, 0.0), (2.0, 1.2), (1.2, 1.2), (1.2, 2.0), (0.0, 2.0))


def pan(points: Any, depth_m: float = 0.0, **said: Any) -> tuple[Any, PanReport]:
    more = {k: said.pop(k) for k in ("bench", "opening", "walls", "curb") if k in said}
    walls = more.pop("walls", ())
    room = {"ceiling": FLAT, "pan": said, **more}
    found = solid(points, room, depth_m, walls=walls)
    assert open_edges(found) < 1e-9
    assert euler(found) == 2
    return found, pan_report(report(points, walls), Room.model_validate(room, context={"typed": True}), found)


def slopes(found: Any) -> list[float]:
    """Slope of every floor facet, rise over run."""
    n = [f.frame.normal for f in found.facets if f.kind is FacetKind.FLOOR]
    return sorted(round(float(np.hypot(v[0], v[1]) / v[2]), 9) for v in n)


def test_the_published_receptor() -> None:
    """42 by 60 in, drain in the middle: farthest corner 36.6 in, fall 0.763 in at 1/4 in/ft, 1.526 in at 1/2 in/ft (CTEF-tips)."""
    assert math.hypot(21, 30) == pytest.approx(36.6, abs=0.05)
    assert receptor_fall_m(math.hypot(21, 30) * INCH, 1 / 48) / INCH == pytest.approx(0.763, abs=5e-4)
    assert receptor_fall_m(math.hypot(21, 30) * INCH, 1 / 24) / INCH == pytest.approx(1.526, abs=5e-4)
    _, told = pan(RECEPTOR, membrane="bonded", flat="1 in", pitch="1/4 in/ft", drain_diameter="1/2 in")
    assert told.fall_m / (1 - 0.5 / 21) / INCH == pytest.approx(0.763, abs=5e-4)  # counted to the middle of the drain
    assert {round(c.distance_m / INCH, 1) for c in told.corners} == {36.6}
    dish = told.flood_volume_m3 - 60 * 42 * 2 * INCH**3
    assert pytest.approx(21.8, abs=0.05) == 60 * 42 * 2 / 231  # gal, two inches over a level floor
    share = 1 / 42
    assert dish == pytest.approx(told.fall_m * 60 * 42 * INCH**2 * (1 + share + share**2) / 3)


def test_a_bonded_pan_is_level_along_its_walls_and_steepest_to_the_nearest() -> None:
    found, told = pan(RECEPTOR, membrane="bonded", flat="8 in", pitch="1/4 in/ft")
    near, far = 21 * INCH, math.hypot(21, 30) * INCH
    share = 4 * INCH / near
    assert told.slope_least == pytest.approx(1 / 48)
    assert told.slope_most == pytest.approx(far / near / 48)
    assert slopes(found)[-1] == pytest.approx(far / near / 48)
    assert slopes(found)[0] == 0  # the flat round the drain
    assert told.fall_m == pytest.approx(far * (1 - share) / 48)
    feet = {round(float(p[2]), 9) for f in found.facets if f.kind is FacetKind.WALL for p in f.frame.lift(f.outline_m) if p[2] < 1}
    assert len(feet) == 1
    drain = next(p for p in found.penetrations if p.kind == "drain")
    assert found.facet(drain.facet).frame.normal == pytest.approx((0, 0, 1))


@pytest.mark.parametrize("depth", [0.0, 0.0127])
def test_the_wall_stays_level_on_every_face_and_with_leaning_walls(depth: float) -> None:
    lean = [WallFix("A-B", 0.01, 0.01, 0.01, 0.0, False, 0.0)]
    found, _ = pan(RECEPTOR, depth, membrane="bonded", flat="8 in", pitch="1/4 in/ft", walls=lean)
    feet = [float(p[2]) for f in found.facets if f.kind is FacetKind.WALL for p in f.frame.lift(f.outline_m) if p[2] < 1]
    assert len(feet) == 8
    assert max(feet) - min(feet) < 1e-8


def test_water_and_mortar_of_a_square_pan() -> None:
    """A square frustum: the bed's volume and the water's add up to that of the box between slab and flood line."""
    _, told = pan(SQUARE, membrane="bonded", flat="0.3 m", pitch="1/4 in/ft", bed_at_drain="0.04 m")
    fall = 0.6 * math.sqrt(2) * 0.75 / 48
    share = 0.25
    dish = fall * 1.44 * (1 + share + share**2) / 3
    assert told.flood_volume_m3 == pytest.approx(1.44 * 0.0508 + dish)
    assert told.bed_volume_m3 == pytest.approx(1.44 * (0.04 + fall) - dish)
    assert told.flood_mass_kg == pytest.approx(told.flood_volume_m3 * 998.2)
    assert told.bed_at_perimeter_m == pytest.approx(0.04 + fall)


def test_a_corner_more_than_twice_as_far_cannot_have_a_level_perimeter() -> None:
    long = ((0.0, 0.0), (2.4, 0.0), (2.4, 0.9), (0.0, 0.9))
    _, told = pan(long)
    assert not told.feasible
    assert "more than 2" in told.sentence
    assert told.drain_places == ()  # half of 2.4 m is far more than twice half of 0.9 m, wherever the drain is
    _, off = pan(SQUARE, drain_at=["0.3 m", "0.3 m"])
    assert not off.feasible
    p = np.asarray(SQUARE)
    assert off.drain_places
    for x, y in off.drain_places:
        near = min(x, y, 1.2 - x, 1.2 - y)
        assert np.hypot(*(p - (x, y)).T).max() <= 2 * near
    _, good = pan(SQUARE)
    assert good.feasible
    assert "impossible" not in good.sentence


def test_drain_places_lie_on_a_grid_of_two_inches() -> None:
    said = Room.model_validate({"ceiling": FLAT}, context={"typed": True}).pan
    places = drain_places(said, SQUARE)
    assert places[0] == pytest.approx((0.6, 0.6), abs=0.03)
    steps = {round((x - places[0][0]) / 0.0508, 6) % 1 for x, _ in places}
    assert steps == {0.0}


def test_a_constant_pitch_rises_along_the_walls() -> None:
    found, told = pan(RECEPTOR, membrane="bonded", perimeter="constant pitch", pitch="5/16 in/ft", flat="8 in")
    assert slopes(found) == pytest.approx([0, *[5 / 192] * 4])
    heights = [h.over_drain_m for h in told.heights]
    assert max(heights) == pytest.approx((30 - 4) * INCH * 5 / 192)
    assert min(heights) == pytest.approx((21 - 4) * INCH * 5 / 192)
    assert told.slope_least == pytest.approx(30 / math.hypot(21, 30) * 5 / 192)  # out of the corner, along the valley
    assert told.feasible
    assert "not level" in told.sentence
    _, flat = pan(RECEPTOR, perimeter="constant pitch", pitch="1/4 in/ft", flat="8 in")
    assert not flat.feasible  # 1/4 in/ft square to the walls is 0.205 in/ft along the valley
    assert flat.advice == 'Write pitch = "5/16 in/ft" under [room.pan]'


LONG = ((0.0, 0.0), (2.4, 0.0), (2.4, 0.9), (0.0, 0.9))
FORKED = ((0.0, 0.0), (3.0, 0.0), (3.0, 2.0), (2.0, 2.0), (2.0, 1.0), (1.0, 1.0), (1.0, 2.0), (0.0, 2.0))


@pytest.mark.parametrize(("points", "said"), [
    (LONG, {}), (LONG, {"perimeter": "constant pitch"}), (SQUARE, {"drain_at": ["0.3 m", "0.3 m"]}), (ELL, {}), (FORKED, {"flat": "8 in"}),
    (ELL, {"drain_at": ["0.8 m", "0.8 m"], "perimeter": "constant pitch"}), (RECEPTOR, {"pitch": "1/2 in/ft"}),
    (RECEPTOR, {"drain": "line", "drain_wall": "A-B", "pitch": "1/8 in/ft"})])
def test_the_advice_is_one_change_and_following_it_ends_the_matter(points: Any, said: dict[str, Any]) -> None:
    _, told = pan(points, **said)
    assert not told.feasible
    written = told.advice.removeprefix("Write ").removesuffix(" under [room.pan]")
    written = written.replace(" and ", "\n").replace(", drain_wall", "\ndrain_wall")
    _, after = pan(points, **(said | tomllib.loads(written)))
    assert after.feasible
    assert after.advice == ""


def test_a_line_drain_gives_one_plane() -> None:
    found, told = pan(RECEPTOR, membrane="bonded", drain="line", drain_wall="B-C", pitch="1/4 in/ft")
    assert slopes(found) == pytest.approx([1 / 48])
    assert told.fall_m == pytest.approx(60 * INCH / 48)
    assert not [p for p in found.penetrations if p.kind == "drain"]
    assert told.bed_volume_m3 == pytest.approx(60 * 42 * INCH**2 * (0.0381 + 30 * INCH / 48))
    assert told.flood_volume_m3 == pytest.approx(60 * 42 * INCH**2 * (0.0508 - 30 * INCH / 48))


def test_the_pan_ends_at_the_bench() -> None:
    bench = [{"name": "bench", "wall": "C-D", "depth": "15 in", "height": "18 in"}]
    found, _ = pan(RECEPTOR, membrane="bonded", pitch="1/4 in/ft", flat="6 in", bench=bench)
    front = next(f for f in found.facets if f.surface == "bench front")
    low = [float(p[2]) for p in front.frame.lift(front.outline_m) if p[2] < 0.3]
    assert len(low) == 2
    assert low[0] == pytest.approx(low[1])
    assert len(slopes(found)) == 5


def test_a_pan_with_a_reflex_corner_falls_from_every_wall_to_one_drain() -> None:
    found, told = pan(ELL, membrane="bonded", pitch="1/4 in/ft", flat="8 in", drain_at=["0.8 m", "0.8 m"])
    assert len(slopes(found)) == 7
    assert told.bed_volume_m3 == pytest.approx(sum(
        f.area_m2 * f.frame.normal[2] * f.frame.lift([f.polygon.centroid.coords[0]])[0][2]
        for f in found.facets if f.kind is FacetKind.FLOOR))
    with pytest.raises(GeometryError, match="outside corner"):
        pan(((0, 0), (3, 0), (3, 2), (2, 2), (2, 1), (1, 1), (1, 2), (0, 2)), membrane="bonded", flat="8 in")


def test_a_constant_pitch_runs_round_an_outside_corner_and_nowhere_ponds() -> None:
    said = Room.model_validate({"ceiling": FLAT, "pan": {"perimeter": "constant pitch", "pitch": "3/8 in/ft", "flat": "8 in",
                                                         "drain_at": ["0.8 m", "0.8 m"]}}, context={"typed": True}).pan
    found, told = pan(ELL, membrane="bonded", pitch="3/8 in/ft", flat="8 in", drain_at=["0.8 m", "0.8 m"], perimeter="constant pitch")
    assert told.feasible
    assert slopes(found) == pytest.approx([0, *[1 / 32] * (len(slopes(found)) - 1)])
    bed = lay_bed(Draft(Face.FRAMING, lambda _s, _k: 0.0, all_pieces), said, ELL, 0.0, None)
    assert bed is not None
    floor = Polygon(ELL)
    for x in np.arange(0.05, 2.0, 0.1):
        for y in np.arange(0.05, 2.0, 0.1):
            if floor.contains(Point(x, y)) and math.hypot(x - 0.8, y - 0.8) > 0.3:
                nearer = (x + 0.01 * (0.8 - x), y + 0.01 * (0.8 - y))
                lower, upper = heights_m(said, bed, [nearer, (x, y)])
                assert lower < upper - 1e-6


def test_a_curbless_entry_runs_on_from_the_edge_of_the_pan() -> None:
    door = [{"name": "entry", "kind": "door", "wall": "A-B", "from": "20 in", "width": "24 in", "top": "80 in", "setback": "4 in",
             "curbless": True}]
    for said in ({"flat": "8 in"}, {"drain": "line", "drain_wall": "C-D"}, {"flat": "8 in", "perimeter": "constant pitch"}):
        found, _ = pan(RECEPTOR, 0.01, membrane="bonded", pitch="1/4 in/ft", opening=door, **said)
        sill = next(f for f in found.facets if f.surface == "entry sill")
        floors = {f.id for f in found.facets if f.kind is FacetKind.FLOOR}
        meet = [j for j in found.joints if sill.id in j.facets and set(j.facets) & floors]
        assert len(meet) == 1
        assert meet[0].angle_deg == pytest.approx(180, abs=math.degrees(1 / 24))


def floor_area_m2(found: Any) -> float:
    """Size of the floor in plan."""
    return sum(f.area_m2 * f.frame.normal[2] for f in found.facets if f.kind is FacetKind.FLOOR)


@pytest.mark.parametrize("said", [{"perimeter": "constant pitch", "pitch": "3/8 in/ft"}, {}, {"membrane": "bonded", "pitch": "1/4 in/ft"},
                                  {"membrane": "bonded", "perimeter": "constant pitch", "pitch": "3/8 in/ft"},
                                  {"drain": "line", "drain_wall": "A-B"}])
@pytest.mark.parametrize("points", [ELL, ((0.0, 0.0), (2.0, 0.0), (2.002, 1.2), (1.2, 1.203), (1.2, 2.0), (0.003, 2.0))])
def test_the_bed_is_reckoned_once_over_all_of_the_open_floor(points: Any, said: dict[str, Any]) -> None:
    """Edges that face the same way, as two walls of an L do, have one plane of a constant pitch, whose bed was counted twice."""
    bench = [{"name": "bench", "wall": "B-C", "from": "0.1 m", "to": "0.6 m", "depth": "15 in", "height": "18 in"}]
    found, told = pan(points, flat="8 in", drain_at=["0.7 m", "0.75 m"], bench=bench, **said)
    assert told.floor_area_m2 == pytest.approx(floor_area_m2(found), rel=1e-6)
    low = told.bed_at_drain_m
    assert told.floor_area_m2 * low < told.bed_volume_m3 < told.floor_area_m2 * (low + told.fall_m)


def test_edges_that_face_nearly_the_same_way_share_one_plane() -> None:
    """Two planes whose directions differ by hundredths of a degree part in a crease that nobody can strike off, and three in a sliver."""
    nearly = ((0.0, 0.0), (2.0, 0.0), (2.002, 1.2), (1.2, 1.203), (1.2, 2.0), (0.003, 2.0))
    found, told = pan(nearly, membrane="bonded", perimeter="constant pitch", pitch="3/8 in/ft", flat="8 in", drain_at=["0.7 m", "0.75 m"])
    assert len(slopes(found)) == 5
    assert all(f.slope == pytest.approx(1 / 32, rel=4e-3) for f in told.walls)


def test_a_bed_whose_planes_run_on_under_a_bench_is_not_reckoned_there() -> None:
    """The drain lies behind the line of the bench's end, so that the planes are those of the whole plan."""
    bench = [{"name": "bench", "wall": "C-D", "to": "0.9 m", "depth": "15 in", "height": "18 in"}]
    wide = ((0.0, 0.0), (1.8, 0.0), (1.8, 1.5), (0.0, 1.5))
    found, told = pan(wide, membrane="bonded", pitch="1/4 in/ft", flat="8 in", drain_at=["1.2 m", "0.7 m"], bench=bench)
    assert told.floor_area_m2 == pytest.approx(1.8 * 1.5 - 0.9 * 15 * INCH)
    assert told.floor_area_m2 == pytest.approx(floor_area_m2(found))


CURB = [{"name": "curb", "wall": "B-C", "width": "4 in", "height": "5 in", "slope": "1/4 in/ft"}]


def test_a_bonded_pan_is_flooded_two_inches_deep_at_the_threshold() -> None:
    """The bed at a curb that is far from the drain is high already; the curb has to stand over that and two inches."""
    found, told = pan(RECEPTOR, membrane="bonded", perimeter="constant pitch", pitch="3/8 in/ft", flat="8 in", curb=CURB,
                      drain_at=["15 in", "21 in"])
    foot = (60 - 4 - 15 - 4) * INCH / 32
    assert told.flood_to == "threshold"
    assert told.flood_foot_over_drain_m == pytest.approx(foot)
    assert told.flood_line_over_drain_m == pytest.approx(foot + 2 * INCH)
    low = 1.5 * INCH
    assert told.curb_over_drain_m == pytest.approx(5 * INCH - 4 * INCH / 48 - low)
    assert told.flood_line_over_drain_m <= told.curb_over_drain_m
    assert higher_curb([Curb.model_validate(CURB[0], context={"typed": True})], told).startswith('Write height = "4 3/4 in" for curb')
    line = told.flood_line_over_drain_m + low
    deep = sum(f.area_m2 * f.frame.normal[2] * (line - f.frame.lift([f.polygon.centroid.coords[0]])[0][2])
               for f in found.facets if f.kind is FacetKind.FLOOR)
    assert told.flood_volume_m3 == pytest.approx(deep)  # no place of this floor stands out of the water


def test_what_stands_out_of_the_water_is_no_water() -> None:
    """With its threshold near the drain the far end of a floor stays dry; there is no less than no water over it."""
    door = [{"name": "entry", "kind": "door", "wall": "A-B", "from": "20 in", "width": "24 in", "top": "80 in", "setback": "4 in",
             "curbless": True}]
    _, told = pan(((0.0, 0.0), (1.2, 0.0), (1.2, 6.0), (0.0, 6.0)), membrane="bonded", perimeter="constant pitch", pitch="1/2 in/ft",
                  flat="8 in", drain_at=["0.6 m", "0.5 m"], opening=door)
    foot = (0.6 - 4 * INCH) / 24  # at the ends of the door's stretch the planes of the side walls are lower than that of A-B
    assert told.flood_foot_over_drain_m is not None
    assert told.flood_foot_over_drain_m <= foot
    run = told.flood_line_over_drain_m * 24 + 4 * INCH  # from the drain to where the water ends
    assert 0 < told.flood_volume_m3 < 1.2 * (0.5 + run) * told.flood_line_over_drain_m
    assert told.flood_volume_m3 > 1.2 * run * told.flood_line_over_drain_m / 2


def test_a_liner_is_flooded_on_its_pre_slope() -> None:
    _, told = pan(RECEPTOR, membrane="liner", pitch="3/8 in/ft", flat="8 in", curb=CURB, drain_at=["28 in", "21 in"])
    assert told.flood_foot_over_drain_m == pytest.approx((60 - 4 - 28 - 4) * INCH / 48)
    assert told.flood_line_over_drain_m == pytest.approx((60 - 4 - 28 - 4) * INCH / 48 + 2 * INCH)
    assert flood_words(told, "inch") == 'to 2 1/2" over the weep holes, which is 2" deep at the threshold'


def test_the_upc_fills_up_to_the_rough_threshold() -> None:
    said = {"ceiling": FLAT, "curb": CURB, "pan": {"membrane": "bonded", "flat": "8 in"}}
    found = solid(RECEPTOR, said)
    told = pan_report(report(RECEPTOR), Room.model_validate(said, context={"typed": True}), found, code="UPC")
    assert told.flood_line_over_drain_m == told.curb_over_drain_m
    assert flood_words(told, "metric").endswith("over the drain, up to the top of the rough threshold")


@pytest.mark.parametrize("depth", [0.0, 0.0127])
@pytest.mark.parametrize("beside_m", [0.0005, 0.003])
def test_no_crease_ends_a_hair_beside_a_corner(depth: float, beside_m: float) -> None:
    """A drain as far from the bench's front as from its end: the crease between their planes meets the bench's corner or nearly so."""
    bench = [{"name": "bench", "wall": "D-A", "from": "0 m", "to": "0.9 m", "depth": "0.5 m", "height": "0.45 m"}]
    lean = [WallFix("B-C", 0.008, 0.008, 0.008, 0.0, False, 0.0)]
    found, told = pan(((0.0, 0.0), (1.9, 0.0), (1.9, 1.9), (0.0, 1.9)), depth, membrane="bonded", perimeter="constant pitch",
                      pitch="3/8 in/ft", flat="8 in", drain_at=[f"{0.9 + beside_m} m", "0.6 m"], bench=bench, walls=lean)
    floors = {f.id for f in found.facets if f.kind is FacetKind.FLOOR}
    assert len(floors) == 5
    assert min(math.dist(j.start_m, j.end_m) for j in found.joints if set(j.facets) & floors) > 0.05
    assert 0.97 / 32 < min(f.slope for f in told.walls) <= max(f.slope for f in told.walls) < 1.001 / 32


@pytest.mark.parametrize("drain", ["center", ["41 in", "16 in"], ["36 in", "15 1/2 in"], ["35 1/2 in", "15 5/8 in"]])
def test_the_pitched_floor_of_an_ell_with_a_bench_is_covered_lap_tight(drain: Any) -> None:
    """A taped L, nowhere quite square: its bench's end, C-D and E-F face nearly the same way, and so do D-E and B-C."""
    ell = ((0.0, 0.0), (2.8004, 0.0), (2.7985, 1.8558), (1.57, 1.8561), (1.5704, 2.618), (0.0018, 2.6162))
    bench = [{"name": "bench", "wall": "F-A", "to": "6 ft", "depth": "20 in", "height": "18 in", "slope": "1/4 in/ft"}]
    found, told = pan(ell, 0.0148, membrane="bonded", perimeter="constant pitch", pitch="3/8 in/ft", drain_at=drain, bench=bench)
    assert told.feasible
    assert len(slopes(found)) == 5
    laid = cover(found, CoveringWishes(), load_catalog(), "IRC", stop=lambda: True)
    assert laid.proof.tight, laid.proof.failures


def test_every_edge_and_corner_of_the_floor_has_a_name_of_its_own() -> None:
    ell = ((0.0, 0.0), (2.8, 0.0), (2.8, 1.86), (1.57, 1.86), (1.57, 2.62), (0.0, 2.62))
    bench = [{"name": "bench", "wall": "F-A", "to": "6 ft", "depth": "20 in", "height": "18 in"}]
    seat = [{"name": "seat", "wall": "A-B", "from": "50 in", "to": "70 in", "depth": "6 in", "height": "18 in"}]
    curb = [{"name": "curb", "wall": "B-C", "width": "4 in", "height": "5 in"}]
    _, point = pan(ell, 0.01, membrane="bonded", perimeter="constant pitch", pitch="3/8 in/ft", flat="8 in",
                   drain_at=["41 in", "19 in"], bench=bench, curb=curb)
    _, line = pan(ell, 0.01, membrane="bonded", drain="line", drain_wall="B-C", bench=bench + seat)
    for told, some in ((point, {"bench front", "bench end left", "curb front", "A-B"}), (line, {"A-B (1)", "A-B (2)", "seat front"})):
        edges, corners = [f.start for f in told.walls], [f.start for f in told.corners]
        assert some <= set(edges)
        assert len(set(edges)) == len(edges)
        assert len(set(corners)) == len(corners)
        assert len({h.at for h in told.heights}) == len(told.heights)
        assert {"A", "D", "E", "bench front at bench end left"} <= set(corners)


def test_the_center_of_an_ell_is_the_middle_of_its_widest_part_that_sees_all_of_it() -> None:
    """As the reference of job files says: the heel of this L is 1 m square, and only from there water runs straight from both legs."""
    slim = ((0.0, 0.0), (3.0, 0.0), (3.0, 1.0), (1.0, 1.0), (1.0, 3.0), (0.0, 3.0))  # its centroid lies behind the outside corner
    _, told = pan(slim, membrane="bonded", flat="8 in", pitch="1/4 in/ft")
    assert told.drain_m == pytest.approx((0.5, 0.5), abs=0.002)
    page = (ROOT / "docs" / "reference" / "job.md").read_text("utf-8")
    assert "middle of the widest part of the floor to which it can" in page
