"""Sheets of glass fronts and doors: every size is that of the finished opening, leaves hang where the job says."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
import pytest
import shapely

from steamwright.drawing.digest import Digest, digest
from steamwright.drawing.fronts import fronts
from steamwright.drawing.render import sheet_set
from steamwright.drawing.scene import Area, Line, Polyline, Sheet
from steamwright.drawing.sheets.glazing import glazing
from steamwright.drawing.sheets.orientation import door_direction
from steamwright.drawing.text import overlapping
from steamwright.plan.build import build
from steamwright.room.model import Facet, FacetKind
from steamwright.units import INCH_M, format_length
from tests.built import CATALOG, EXAMPLES, example, planned, snippet, with_snippet

GLASS = ("home-alcove", "half-wall-crowded", "octagon-hip", "door-in-glass")
FRAMED = ("commercial-tiers", "rafter-slope", "remodel-curbless", "door-on-curb")


@lru_cache(maxsize=8)
def drawn(name: str) -> tuple[Digest, Sheet]:
    d = digest(example(name) if (EXAMPLES / f"{name}.toml").exists() else snippet(name))
    (front,) = fronts(d)
    return d, glazing(d, front, "12-front", "12")


def opening(d: Digest) -> Facet:
    (facet,) = [f for f in d.plan.finished.facets if f.kind is FacetKind.OPENING]
    return facet


def words(page: Sheet) -> str:
    return " ".join(t.content for t in page.texts())


def spans(page: Sheet) -> list[float]:
    """What dimensions say, and what those in one row come to together. [m]"""
    out = [m.value_m for m in page.measures]
    for y in {round(m.start_mm[1], 3) for m in page.measures}:
        row = [m for m in page.measures if round(m.start_mm[1], 3) == y == round(m.end_mm[1], 3)]
        ends = [p[0] for m in row for p in (m.start_mm, m.end_mm)]
        out += [abs(a - b) / m.scale_mm_per_m for m in row[:1] for a in ends for b in ends]
    return out


def lines(page: Sheet, pen: str) -> list[Line]:
    return [i for layer in page.layers for i in layer.items if isinstance(i, Line) and i.pen == pen]


def runs(page: Sheet, pen: str) -> list[Polyline]:
    return [i for layer in page.layers for i in layer.items if isinstance(i, Polyline) and i.pen == pen and len(i.points_mm) == 3]


@pytest.mark.parametrize("name", [*GLASS, *FRAMED])
def test_every_edge_of_an_opening_is_dimensioned_on_its_finished_face(name: str) -> None:
    d, page = drawn(name)
    corners = opening(d).frame.lift(opening(d).outline_m)
    said = spans(page)
    low_m = float(corners[:, 2].min())
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        level = math.dist(a[:2], b[:2])
        size = level if level > abs(b[2] - a[2]) else abs(float(b[2] - a[2]))
        assert min(abs(v - size) for v in said) < 2e-3, (name, size)
    for a in corners[corners[:, 2] > low_m + 1.5]:  # over the glass at its ends
        assert min(abs(v - (a[2] - min(c[2] for c in corners if math.dist(c[:2], a[:2]) < 0.05))) for v in said) < 1e-3


@pytest.mark.parametrize("name", [*GLASS, *FRAMED])
def test_heights_are_measured_from_the_level_line_of_the_walls(name: str) -> None:
    d, page = drawn(name)
    assert f"Level: {format_length(48 * INCH_M, 'inch')} above 0" in words(page)
    texts = {t.content for t in page.texts()}
    for z in opening(d).frame.lift(opening(d).outline_m)[:, 2]:
        off = z - 48 * INCH_M
        near = [f"{'↑' if off > 0 else '↓'} {format_length(abs(off) + e, 'inch')}" for e in (0.0, 0.0015, -0.0015)]
        assert texts.intersection(near), (name, near)


def test_the_drawing_set_has_it_after_the_walls() -> None:
    for name, slug in (("home-alcove", "-glass-front-a-b"), ("commercial-tiers", "-door-in-wall-a-b")):
        names = [s.name for s in sheet_set(drawn(name)[0])]
        at = next(n for n, s in enumerate(names) if s.endswith(slug))
        assert "-wall-d-a" in names[at - 1]
        assert names[at + 1].endswith("ceiling-falls")


def test_sheets_point_to_the_leaf_or_to_the_glass_where_no_door_is_said() -> None:
    def words(name: str) -> dict[str, str | None]:
        return seen(drawn(name)[0])

    def seen(d: Digest) -> dict[str, str | None]:
        return {f.name: door_direction(d, f, np.array(f.frame.u)) for f in d.main_facets()}

    assert words("home-alcove")["C-D"] == "↓ glass front behind you"
    assert words("door-in-glass")["C-D"] == "↓ door behind you"
    assert words("half-wall-crowded")["half wall front"] == "door on your right →"
    job = example("half-wall-crowded").job
    without = job.model_copy(update={"room": job.room.model_copy(update={"opening": ()})})
    assert seen(digest(build(without, CATALOG)))["half wall front"] == "glass front over this wall"
    assert words("commercial-tiers")["A-B"] == "door in this wall"


def test_a_half_wall_and_its_glass_are_shown() -> None:
    """40 in of half wall on 5 in of curb: the tile's thickness is on both, and their difference between them."""
    d, page = drawn("half-wall-crowded")
    tiled = d.plan.buildups[0].to_tile_m
    said = [m.value_m for m in page.measures]
    for high_in in (40, 5):
        assert min(abs(v - (high_in * INCH_M + tiled)) for v in said) < 1e-3
    assert min(abs(v - 35 * INCH_M) for v in said) < 1e-3
    assert {"half wall", "curb", "bench", "fixed glass", "door", "transom, fixed"} <= {t.content for t in page.texts()}
    assert "names no door in this glass" not in words(page)
    assert "names no door in this glass" in words(drawn("home-alcove")[1])


def test_a_leaf_beside_a_half_wall_keeps_its_place_for_its_own_words() -> None:
    _, page = drawn("half-wall-crowded")
    (run,) = runs(page, "hidden")
    (latch, low), (hinge, _), (_, high) = run.points_mm
    for text in (t for t in page.texts() if t.content in ("door", "opens out", "hinges right") and t.at_mm[0] > latch - 1.0):
        assert high + text.height_mm < text.at_mm[1] < low - 1.0, text
    others = [m for m in page.measures if abs(m.value_m - 35 * INCH_M) < 1e-3 or abs(m.start_mm[1] - m.end_mm[1]) > 1.0]
    inside = [m for m in others if latch + 1.0 < m.start_mm[0] < hinge - 1.0]
    ends = {round(y, 1) for m in inside for y in (m.start_mm[1], m.end_mm[1])}
    assert len(inside) >= 2
    assert round(high, 1) in ends
    assert all(min(abs(y - high) for y in (m.start_mm[1], m.end_mm[1])) < 0.2 for m in inside)  # the leaf's, and the glass over it


def test_a_leaf_in_glass_hangs_where_the_job_says() -> None:
    """28 in wide, 20 in from station A, its hinges at the left of one who looks from inside; it opens away, so its lines are dashed."""
    d, page = drawn("door-in-glass")
    (front,) = fronts(d)
    ((leaf,),) = [p.leaves for p in front.panes]
    s0, _, s1, t1 = leaf.polygon.bounds
    assert s1 - s0 == pytest.approx(28 * INCH_M, abs=1e-6)
    a = next(s for s in d.plan.survey.stations if s.id == "A")
    at = front.frame.lift([(s0, 0.0), (s1, 0.0), (s0, t1)])
    assert min(math.dist(p[:2], (a.x_m, a.y_m)) for p in at[:2]) == pytest.approx(20 * INCH_M, abs=2e-3)
    assert at[2][2] == pytest.approx(78 * INCH_M + min(z for _, z in d.plan.survey.floor_m), abs=1e-6)
    said = [m.value_m for m in page.measures]
    assert min(abs(v - 28 * INCH_M) for v in said) < 1e-6
    assert min(abs(v - (t1 - leaf.polygon.bounds[1])) for v in said) < 1e-3
    assert {"door", "opens out", "hinges left", "transom, fixed", "fixed glass"} <= {t.content for t in page.texts()}
    (run,) = runs(page, "hidden")
    x = [p[0] for p in run.points_mm]
    assert x[1] < x[0] - 10.0
    assert x[0] == pytest.approx(x[2])


@pytest.mark.parametrize("units", ["inch", "metric"])
def test_widths_under_the_glass_stand_under_what_they_measure(units: str) -> None:
    d = digest(planned(with_snippet("door-in-glass") | {"units": units}))
    page = glazing(d, fronts(d)[0], "12-front", "12")
    low = sorted({round(m.start_mm[1], 3) for m in page.measures if abs(m.start_mm[1] - m.end_mm[1]) < 1e-6})[-2]
    chain = [m for m in page.measures if round(m.start_mm[1], 3) == low == round(m.end_mm[1], 3)]
    assert len(chain) == 4
    for m in chain:
        over = [t for t in page.texts() if t.content == m.content and abs(t.at_mm[1] - low) < 8.0]
        assert any(m.start_mm[0] < t.at_mm[0] < m.end_mm[0] for t in over), m.content
    assert overlapping(page) == ()


def test_a_leaf_that_opens_in_is_drawn_in_full_and_hinged_right_at_the_right() -> None:
    said = with_snippet("door-in-glass")
    said["room"]["opening"][0] |= {"swing": "in", "hinge": "right"}
    d = digest(planned(said))
    page = glazing(d, fronts(d)[0], "12-front", "12")
    (run,) = runs(page, "thin")
    assert run.points_mm[1][0] > run.points_mm[0][0] + 10.0
    assert runs(page, "hidden") == []


@pytest.mark.parametrize("name", [*GLASS, *FRAMED])
def test_it_shows_where_the_covering_ends_and_that_glass_is_measured_after_tile(name: str) -> None:
    d, page = drawn(name)
    text = words(page)
    assert "measured after tile" in text
    assert "common practice, no source" in text
    (front,) = fronts(d)
    assert front.rims
    for r in front.rims:
        assert r.ending.split()[0] in text
        assert format_length(r.reach_m, "inch") in text
    drawn_mm = sum(math.dist(i.start_mm, i.end_mm) for i in lines(page, "rim_thin"))
    room_m = sum(math.dist(r.start_m, r.end_m) for r in front.rims)
    assert drawn_mm == pytest.approx(room_m * page.measures[0].scale_mm_per_m, rel=1e-3)


@pytest.mark.parametrize("name", [*GLASS, *FRAMED])
def test_nothing_on_it_lies_over_something_else(name: str) -> None:
    _, page = drawn(name)
    assert overlapping(page) == ()
    foot = max(i.start_mm[1] for i in lines(page, "rule") if i.start_mm[1] == i.end_mm[1])
    assert [t.content for t in page.texts() if t.at_mm[0] > 320 and foot - 1.0 < t.at_mm[1] < foot + 3.0] == []


def test_a_framed_door_tells_its_rough_opening_and_the_depth_of_its_jambs() -> None:
    d, page = drawn("commercial-tiers")
    rough = next(f for f in d.plan.framing.facets if f.kind is FacetKind.OPENING).polygon.bounds
    assert rough[2] == pytest.approx(34 * INCH_M, abs=1e-6)
    assert f"{format_length(rough[2], 'inch')} × {format_length(rough[3], 'inch')} in the framing" in words(page)
    jamb = next(f for f in d.plan.finished.facets if f.kind is FacetKind.JAMB)
    assert format_length(jamb.polygon.bounds[2], "inch") in words(page)
    clear = opening(d).polygon.bounds
    assert min(abs(m.value_m - clear[2]) for m in page.measures) < 1e-6
    layers = [i for layer in page.layers for i in layer.items if isinstance(i, Area) and layer.name == "pieces" and i.pen == "thin"]
    k = page.measures[0].scale_mm_per_m
    shown = sum(shapely.Polygon(i.rings_mm[0], i.rings_mm[1:]).area for i in layers) / k**2
    (pane,) = fronts(d)[0].panes
    assert shown == pytest.approx(pane.framing.area - pane.finished.area, rel=1e-6)
