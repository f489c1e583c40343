"""What framing stands on: plates on the slab, studs down to them behind bed, bench and curb, and the sheets that say so."""

from __future__ import annotations

from functools import cache

import pytest
import shapely

from steamwright.covering.boards.footing import feet_of
from steamwright.covering.boards.ground import grounds
from steamwright.covering.boards.model import Support
from steamwright.drawing.digest import digest
from steamwright.drawing.sheets.boards import framing_sheets
from steamwright.plan.build import build
from steamwright.plan.jobfile import read_job
from steamwright.plan.model import Plan
from steamwright.room.bed import slab_plane
from steamwright.room.model import FacetKind
from steamwright.units import format_length
from tests.built import CATALOG, EXAMPLES, example

PAN = """
[[buildup]]
name = "pan"
on = ["floor"]
layers = [
    { material = "porcelain tile" },
    { material = "modified dry-set mortar", thickness = "1/8 in" },
    { material = "sheet membrane 0.5 perm" },
    { material = "modified dry-set mortar", thickness = "1/16 in" },
    { material = "bed mortar", thickness = "1 1/2 in" },
]
framing = { kind = "none" }
"""


@cache
def alcove(membrane: str) -> Plan:
    if membrane == "liner":
        return example("home-alcove")
    text = (EXAMPLES / "home-alcove.toml").read_text("utf-8").replace('membrane = "liner"', 'membrane = "bonded"') + PAN
    return build(read_job(text), CATALOG)


def over_slab_m(plan: Plan, s: Support) -> list[float]:
    a, b, c = slab_plane(plan.survey)
    return sorted(z - a * x - b * y - c for x, y, z in (s.start_m, s.end_m))


@pytest.mark.parametrize("membrane", ["liner", "bonded"])
def test_plates_lie_on_the_slab_and_studs_and_backing_run_down_to_it(membrane: str) -> None:
    plan = alcove(membrane)
    walls = {f.id for f in plan.framing.facets if f.kind in (FacetKind.WALL, FacetKind.BENCH_FACE)}
    mine = [s for s in plan.boards.supports if s.facet in walls]
    plates = [s for s in mine if s.reason == "on the slab"]
    assert {s.facet for s in plates} >= {s.facet for s in mine if s.facet in plan.boards.standing}
    for s in plates:
        assert over_slab_m(plan, s) == pytest.approx([s.bearing_m / 2] * 2, abs=1e-4)
    upright = [s for s in mine if abs(s.end_m[2] - s.start_m[2]) > 0.9 and s.kind in ("stud", "backing")]
    assert len(upright) > 8
    assert all(over_slab_m(plan, s)[0] < 2e-3 for s in upright if over_slab_m(plan, s)[1] > 1.2 and over_slab_m(plan, s)[0] < 1.0)


def test_a_wall_is_framed_behind_a_bench() -> None:
    plan = alcove("liner")
    for f in plan.framing.facets:
        if f.id in plan.boards.standing and f.kind is FacetKind.WALL:
            shape = plan.boards.standing[f.id]
            bottom = shapely.box(*shape.bounds).exterior.coords
            assert shape.area > f.polygon.area - 1e-6
            assert shape.boundary.intersection(shapely.LineString([bottom[2], bottom[3]]).buffer(1e-3)).length > 0.3
    behind = [f for f in plan.framing.facets if f.id in plan.boards.standing and plan.boards.standing[f.id].area > f.polygon.area + 0.1]
    assert behind


def test_boards_that_stand_on_a_bed_have_level_blocking_at_their_lower_edge() -> None:
    plan = alcove("bonded")
    blocking = [s for s in plan.boards.supports if s.reason == "over the pan's bed"]
    assert blocking
    assert all(abs(s.start_m[2] - s.end_m[2]) < 1e-3 for s in blocking)
    rows = {f.support for f in plan.boards.fasteners}
    assert rows & {s.id for s in blocking}
    assert not [s for s in alcove("liner").boards.supports if s.reason == "over the pan's bed"]


def test_a_sloped_slab_carries_sloped_plates() -> None:
    plan = alcove("liner")
    stations = {s.id: (s.x_m, s.y_m) for s in plan.survey.stations}
    (wall,) = [g for g in grounds(plan.framing, plan.buildups, stations, None, (0.0, 0.0, -0.05)) if g.facet.name == "C-D"]
    (foot,) = wall.feet
    assert [wall.lift(p)[2] for p in foot] == pytest.approx([-0.05, -0.05])
    (foot,) = feet_of(wall.facet, wall.edges, (0.02, 0.01, -0.2))
    for p in foot:
        x, y, z = wall.lift(p)
        assert z == pytest.approx(0.02 * x + 0.01 * y - 0.2)


def test_framing_sheets_measure_from_the_slab() -> None:
    plan = alcove("bonded")
    d = digest(plan)
    sheets = framing_sheets(d, "05-framing", "5")
    assert any("Plates lie on the slab" in " ".join(t.content for t in s.texts()) for s in sheets)
    said = {m.content for s in sheets for m in s.measures}
    walls = [f for f in plan.framing.facets if f.kind is FacetKind.WALL and f.id in plan.boards.standing]
    assert walls
    for f in walls:
        _, low, _, high = plan.boards.standing[f.id].bounds
        assert high - low > f.polygon.bounds[3] - f.polygon.bounds[1] + 0.02
        assert format_length(high - low, d.system) in said


def test_framing_sheets_place_pipes_and_lights() -> None:
    plan = alcove("liner")
    d = digest(plan)
    said = {m.content for s in framing_sheets(d, "05-framing", "5") for m in s.measures}
    pipes = [p for p in plan.framing.penetrations if plan.framing.facet(p.facet).kind in (FacetKind.WALL, FacetKind.CEILING)]
    assert len(pipes) > 3
    for p in pipes:
        shape = plan.boards.standing.get(p.facet, plan.framing.facet(p.facet).polygon)
        for at, low in zip(p.center_m, shape.bounds[:2], strict=True):
            assert format_length(at - low, d.system) in said
