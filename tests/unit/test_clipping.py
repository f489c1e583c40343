"""Cuts of outlines in plain numbers, held to the general overlay."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.covering import clipping
from steamwright.covering.clipping import Clippable
from steamwright.covering.legs import _whole
from steamwright.geometry.outline import area_m2, corners_of, left_of

L_SHAPE = shapely.Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)])
U_SHAPE = shapely.Polygon([(0, 0), (3, 0), (3, 2), (2, 2), (2, 1), (1, 1), (1, 2), (0, 2)])


@st.composite
def stars(draw: st.DrawFn) -> shapely.Polygon:
    """A shape with up to ten corners round a middle, some of them turning inward."""
    count = draw(st.integers(3, 10))
    far = np.array(draw(st.lists(st.floats(0.3, 2.0), min_size=count, max_size=count)))
    turn = 2 * np.pi * np.arange(count) / count + draw(st.floats(0.0, 1.0))
    return shapely.Polygon(np.round(np.stack([far * np.cos(turn), far * np.sin(turn)], axis=1), 3))


@st.composite
def windows(draw: st.DrawFn) -> list[tuple[float, float]]:
    """A rectangle that lies anyhow."""
    x, y, turn = (draw(st.floats(-1.0, 1.0)) for _ in range(3))
    length, width = (draw(st.floats(0.05, 3.0)) for _ in range(2))
    c, s = np.cos(turn), np.sin(turn)
    return [(float(x + c * a - s * b), float(y + s * a + c * b)) for a, b in ((0, 0), (length, 0), (length, width), (0, width))]


@settings(max_examples=300, deadline=None, derandomize=True)
@given(stars(), windows(), st.floats(-0.2, 0.2), st.booleans())
def test_what_lies_in_a_window_is_what_an_overlay_gives(star: shapely.Polygon, window: list[tuple[float, float]], at: float,
                                                        holed: bool) -> None:
    shape = star.difference(shapely.Point(at, 0.0).buffer(0.05)) if holed else star
    if not isinstance(shape, shapely.Polygon) or not shape.is_valid:
        return
    found = shapely.union_all(Clippable.of(shape).inside(window))
    assert found.is_valid
    assert found.symmetric_difference(shape.intersection(shapely.Polygon(window))).area < 1e-6


def test_a_cut_that_leaves_two_parts_is_left_to_the_overlay(monkeypatch: pytest.MonkeyPatch) -> None:
    upper = [(-1.0, 1.5), (4.0, 1.5), (4.0, 3.0), (-1.0, 3.0)]
    assert left_of(corners_of(U_SHAPE), upper[0], upper[1]) is None
    assert sorted(p.area for p in Clippable.of(U_SHAPE).inside(upper)) == pytest.approx([0.5, 0.5])
    # one part needs none, however the shape turns inward elsewhere
    monkeypatch.setattr(clipping, "clip", lambda *_: pytest.fail("an overlay for a plain cut"))
    assert [p.area for p in Clippable.of(U_SHAPE).inside([(-1, -1), (4, -1), (4, 0.5), (-1, 0.5)])] == pytest.approx([1.5])
    assert [p.area for p in Clippable.of(L_SHAPE).inside([(0.5, -1), (4, -1), (4, 3), (0.5, 3)])] == pytest.approx([3.0])


def test_an_edge_on_the_cut_stays_an_edge() -> None:
    corners = corners_of(L_SHAPE)
    assert left_of(corners, (0, 0), (3, 0)) == corners
    assert left_of(corners, (3, 0), (0, 0)) == ()
    below = left_of(corners, (3, 1), (0, 1))
    assert below is not None
    assert shapely.Polygon(below).equals(shapely.box(0, 0, 3, 1))
    assert area_m2(below) == pytest.approx(3.0)
    assert area_m2(below[::-1]) == pytest.approx(-3.0)


def test_a_hole_that_the_window_cuts_is_cut() -> None:
    shape = shapely.box(0, 0, 2, 2).difference(shapely.Point(1, 1).buffer(0.2))
    whole, half, none = (Clippable.of(shape).inside([(0, 0), (2, 0), (2, y), (0, y)]) for y in (1.5, 1.0, 0.5))
    assert [len(p.interiors) for p in whole + half + none] == [1, 0, 0]
    assert half[0].area == pytest.approx(2.0 - (4.0 - shape.area) / 2)


def test_no_part_is_lost_where_edges_all_but_coincide() -> None:
    """Plain overlay of these two gives the first alone."""
    wall = shapely.Polygon([(1.15596, 1.957952261), (0.0, 1.966191445), (0.0, 1.347249346), (1.15596, 1.347249346)])
    ceiling = shapely.Polygon([(-0.074017733, 2.347249346), (5.551115123125783e-17, 1.966191445), (1.15596, 1.957952261),
                               (1.1559600000000003, 2.347249346)])
    assert _whole([wall, ceiling]).area == pytest.approx(wall.area + ceiling.area, abs=1e-6)
