"""Strips over a wall: counted by hand, against a fine grid of offsets, and the same in a mirror."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steamwright.cutting.strip_cover import best_direction, cover_by_strips, fewest_strips_bound
from steamwright.errors import OutOfRangeError

WALL = [(0.0, 0.0), (3.0, 0.0), (3.0, 2.4), (0.0, 2.4)]


def chord(rings: list[list[tuple[float, float]]], level: float) -> float:
    at = sorted(a + (level - b) / (d - b) * (c - a) for ring in rings for (a, b), (c, d) in zip(ring, ring[1:] + ring[:1], strict=True)
                if (b > level) != (d > level))  # fmt: skip
    return sum(at[k + 1] - at[k] for k in range(0, len(at), 2))


def test_a_plain_wall() -> None:
    cover = cover_by_strips(WALL, [], 1.0, 0.05)
    assert (cover.strips, cover.seam_m) == (3, 6.0)
    assert cover.chains[0].slack_m == pytest.approx(3 * 0.95 + 0.05 - 2.4)


def test_the_seam_goes_through_the_opening() -> None:
    hole = [(1.0, 1.2), (2.0, 1.2), (2.0, 1.4), (1.0, 1.4)]
    cover = cover_by_strips(WALL, [hole], 1.5, 0.1)
    (chain,) = cover.chains
    assert (cover.strips, cover.seam_m) == (2, pytest.approx(2.0))
    assert 1.2 <= chain.edges_m[1] + 0.05 <= 1.4


def test_a_wall_just_as_high_as_one_strip_has_no_seam() -> None:
    cover = cover_by_strips(WALL, [], 2.4, 0.1)
    assert (cover.strips, cover.seam_m) == (1, 0.0)


def test_no_play_leaves_one_offset() -> None:
    cover = cover_by_strips(WALL, [], 1.25, 0.1)
    assert (cover.strips, cover.seam_m, cover.chains[0].edges_m) == (2, 3.0, pytest.approx((0.0, 1.15)))


def test_a_gap_in_the_projection_is_not_covered() -> None:
    gap = [(0.0, 0.0), (1.0, 0.0), (1.0, 0.9), (0.0, 0.9)]
    # Two fields joined by a cut of no width, as an opening from side to side leaves them.
    ring = [*gap, (0.0, 3.0), (1.0, 3.0), (1.0, 3.9), (0.0, 3.9), (0.0, 3.0), (0.0, 0.9)]
    cover = cover_by_strips(ring, [], 1.0, 0.1)
    assert (cover.strips, cover.seam_m, len(cover.chains)) == (2, 0.0, 2)


def test_the_better_direction_is_found() -> None:
    flat = [(0.0, 0.0), (4.0, 0.0), (4.0, 0.9), (0.0, 0.9)]
    turned = [(c * math.cos(0.3) - d * math.sin(0.3), c * math.sin(0.3) + d * math.cos(0.3)) for c, d in flat]
    cover = best_direction(turned, [], 1.0, 0.1)
    assert cover.strips == 1
    assert cover.direction_deg == pytest.approx(math.degrees(0.3))


def test_an_overlap_as_wide_as_the_roll_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="overlap"):
        cover_by_strips(WALL, [], 1.0, 1.0)


CM = st.integers(1, 300)


@st.composite
def walls(draw: st.DrawFn) -> list[list[tuple[float, float]]]:
    """An outline with a slope and a drop, and an opening or two side by side, in whole centimetres."""
    a, b = draw(st.integers(60, 300)), draw(st.integers(60, 300))
    rise, step, drop = draw(st.integers(0, 40)), draw(st.integers(10, 50)), draw(st.integers(0, 40))
    outline = [(0, 0), (a, 0), (a, b + rise), (step, b), (step, b - drop), (0, b - drop)]
    holes = []
    for k in range(draw(st.integers(0, 2))):
        x0 = draw(st.integers(52 + k * (a - 52) // 2, 53 + k * (a - 52) // 2)) if a > 70 else 55
        x1 = draw(st.integers(x0 + 1, max(x0 + 1, 52 + (k + 1) * (a - 52) // 2 - 1)))
        y0 = draw(st.integers(1, b - 42)) if b > 43 else 1
        y1 = draw(st.integers(y0 + 1, max(y0 + 1, b - 41)))
        if x1 < a:
            holes.append([(x0, y0), (x0, y1), (x1, y1), (x1, y0)])
    return [[(x / 100, y / 100) for x, y in ring] for ring in (outline, *holes)]


@settings(max_examples=60, deadline=None)
@given(walls(), st.integers(30, 120), st.integers(2, 12), st.sampled_from([0.0, 90.0]))
def test_no_offset_of_a_fine_grid_is_better(rings: list[list[tuple[float, float]]], width_cm: int, overlap_cm: int,
                                            direction: float) -> None:  # fmt: skip
    w, o = width_cm / 100, overlap_cm / 100
    cover = cover_by_strips(rings[0], rings[1:], w, o, direction)
    (chain,) = cover.chains
    seen = rings if direction == 0.0 else [[(y, -x) for x, y in ring] for ring in rings]
    low, high = min(t for _, t in seen[0]), max(t for _, t in seen[0])
    n = cover.strips
    assert n * (w - o) + o >= high - low - 1e-9
    assert n == 1 or (n - 1) * (w - o) + o < high - low
    assert chain.edges_m[0] <= low + 1e-9
    assert chain.edges_m[-1] + w >= high - 1e-9
    grid = [sum(chord(seen, low - chain.slack_m * (k + 0.5) / 997 + j * (w - o) + o / 2) for j in range(1, n)) for k in range(997)]
    assert cover.seam_m <= min(grid) + 1e-9
    # The value is that of the offset itself, seen from one side or the other.
    beside = [sum(chord(seen, e + o / 2 + d) for e in chain.edges_m[1:]) for d in (-1e-7, 1e-7)]
    assert min(abs(b - cover.seam_m) for b in beside) < 1e-4
    assert fewest_strips_bound(rings[0], rings[1:], w) <= n


@settings(max_examples=40, deadline=None)
@given(walls(), st.integers(30, 120))
def test_a_mirrored_wall_costs_the_same(rings: list[list[tuple[float, float]]], width_cm: int) -> None:
    mirrored = [[(-x, -y) for x, y in ring] for ring in rings]
    one, other = (cover_by_strips(r[0], r[1:], width_cm / 100, 0.02) for r in (rings, mirrored))
    assert (one.strips, one.seam_m) == (other.strips, pytest.approx(other.seam_m, abs=1e-9))


def test_a_convex_wall_meets_the_plank_bound() -> None:
    assert fewest_strips_bound(WALL, [], 1.0) == 3
    assert cover_by_strips(WALL, [], 1.0, 0.05).strips == 3
