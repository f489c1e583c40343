"""Random rooms: they close, and a second construction by other means encloses the same air.

The second construction extrudes, trims and unites bodies from the job's numbers; it shares no code with the first.
"""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise
from typing import Any

import manifold3d as m3
import numpy as np
import pytest
from shapely import Polygon

from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy, FacetKind, Solid
from tests.measured import solid
from tests.property.rooms import NAMES, QUOTAS, Case, mirrored, random_case

COUNT = 300
FAR = 9.0


def length(text: str) -> float:
    number, unit = text.rsplit(" ", 1)
    if unit == "in":
        return 0.0254 * sum(float(eval_fraction(p)) for p in number.split())
    assert unit == "m"
    return float(number)


def eval_fraction(text: str) -> float:
    top, _, bottom = text.partition("/")
    return float(top) / float(bottom or 1)


def pitch(text: str) -> float:
    if text.startswith("1:"):
        return 1 / float(text[2:])
    number, unit = text.split()
    assert unit == "in/ft"
    return eval_fraction(number) / 12


def prism(corners: Any, low: float, high: float) -> m3.Manifold:
    ring = np.asarray(corners, float)
    ring = ring if Polygon(ring).exterior.is_ccw else ring[::-1]
    return m3.Manifold.extrude(m3.CrossSection([ring]), high - low).translate((0, 0, low))


def below(body: m3.Manifold, grad: Floats, foot: Floats, height: float) -> m3.Manifold:
    """The part of a body under a plane that rises by ``grad`` from ``height`` at a plan point."""
    n = np.array([-grad[0], -grad[1], 1.0])
    size = float(np.linalg.norm(n))
    return body.trim_by_plane(tuple(-n / size), -float(n @ np.array([*foot, height])) / size)


class Other:
    """The air of a case, by bodies."""

    def __init__(self, case: Case) -> None:
        self.p, self.room = case.points_m, case.job["room"]
        self.ccw = Polygon(self.p).exterior.is_ccw

    def wall(self, name: str) -> tuple[Floats, Floats, Floats, float]:
        i = NAMES.index(name[0])
        a, b = self.p[i], self.p[(i + 1) % len(self.p)]
        size = math.dist(a, b)
        d = (b - a) / size
        return a, d, np.array([-d[1], d[0]]) * (1 if self.ccw else -1), size

    def strip(self, name: str, start: float, end: float, near: float, far: float, low: float, high: float) -> m3.Manifold:
        """A box along a wall, from ``near`` to ``far`` before its foot."""
        a, d, n, _ = self.wall(name)
        return prism([a + d * s + n * t for s, t in ((start, near), (end, near), (end, far), (start, far))], low, high)

    def air(self) -> m3.Manifold:
        air = self.floored(self.roofed(prism(self.p, -1.0, FAR)))
        for row in self.room.get("niche", []):
            air += self.niche(row)
        for row in self.room.get("opening", []):
            air += self.opening(row)
        for kind, deep in (("bench", "depth"), ("curb", "width"), ("half_wall", "thickness")):
            for row in self.room.get(kind, []):
                air -= self.standing(row, length(row[deep]))
        for row in self.room.get("soffit", []):
            air -= self.strip(row["wall"], -2, 9, -2, length(row["depth"]), length(row["underside"]), FAR)
        return air

    def roofed(self, body: m3.Manifold) -> m3.Manifold:
        c = self.room["ceiling"]
        if c["shape"] == "flat":
            return below(body, np.zeros(2), np.zeros(2), length(c["height"]))
        if c["shape"] == "planes":
            parts = [self.under_spots(body, row) for row in c["plane"]]
            return parts[0] + parts[1] if c.get("join") == "highest" else parts[0] ^ parts[1]
        if c["shape"] == "hip" and "apex" in c:
            return self.cone(length(c["height"]), length(c["apex"]), np.array([length(x) for x in c["apex_at"]]))
        h, s = length(c["height"]), pitch(c["pitch"])
        if c["shape"] == "slope":
            a, _, n, _ = self.wall(c["low_wall"])
            return below(body, n * s, a, h)
        if c["shape"] == "hip":
            for i in range(len(self.p)):
                a, _, n, _ = self.wall(NAMES[i])
                body = below(body, n * s, a, h)
            return body
        a, _, n, _ = self.wall(c["along"])
        across = (self.p - a) @ n
        top = a + n * (across.min() + across.max()) / 2
        return below(below(body, n * s, top, h), -n * s, top, h)

    def under_spots(self, body: m3.Manifold, row: dict[str, Any]) -> m3.Manifold:
        q = [np.array([*self.p[NAMES.index(s)], length(z)]) for s, z in row["spots"]]
        n = np.cross(q[1] - q[0], q[2] - q[0])
        return below(body, -n[:2] / n[2], q[0][:2], q[0][2])

    def cone(self, low: float, apex: float, at: Floats) -> m3.Manifold:
        """The plan is convex, and so is the air under its hips."""
        return m3.Manifold.hull_points(np.asarray([[*at, apex], *([*q, z] for q in self.p for z in (-1.0, low))]))

    def pan_m(self) -> tuple[Floats, float, float, float]:
        """Drain, height at the drain, height along the walls, size of the flat over that of the floor."""
        pan, shape = self.room["pan"], Polygon(self.p)
        drain = np.array([shape.centroid.x, shape.centroid.y])
        near = min(float((drain - self.wall(NAMES[i])[0]) @ self.wall(NAMES[i])[2]) for i in range(len(self.p)))
        share = length(pan["flat"]) / 2 / near
        far = max(math.dist(drain, q) for q in self.p)
        return drain, 0.0381, 0.0381 + pitch(pan["pitch"]) * (1 - share) * far, share

    def floored(self, body: m3.Manifold) -> m3.Manifold:
        pan = self.room["pan"]
        if pan["membrane"] == "liner":
            return body.trim_by_plane((0, 0, 1), 0.0)
        if pan["drain"] == "line":
            a, _, n, _ = self.wall(pan["drain_wall"])
            return body - below(body, n * pitch(pan["pitch"]), a, 0.0381)
        drain, low, edge, share = self.pan_m()
        flat = drain + share * (self.p - drain)
        points = [*([*q, low] for q in flat), *([*q, z] for q in self.p for z in (edge, FAR))]
        return body ^ m3.Manifold.hull_points(np.asarray(points))  # over a convex plan the air over the bed is convex

    def standing(self, row: dict[str, Any], deep: float) -> m3.Manifold:
        a, _, n, size = self.wall(row["wall"])
        end = length(row["to"]) if "to" in row else size + 1
        body = self.strip(row["wall"], -1, end, -1, deep, -2.0, FAR)
        return below(body, -n * pitch(row.get("slope", "0 in/ft")), a, length(row["height"]))

    def niche(self, row: dict[str, Any]) -> m3.Manifold:
        a, _, n, _ = self.wall(row["wall"])
        start, low = length(row["from"]), length(row["bottom"])
        body = self.strip(row["wall"], start, start + length(row["width"]), -length(row["depth"]), 0.02, 0.0, low + length(row["height"]))
        return body - below(body, -n * pitch(row["sill_slope"]), a, low)

    def opening(self, row: dict[str, Any]) -> m3.Manifold:
        start = length(row["from"])
        low, pan = length(row["bottom"]), self.room["pan"]
        if low == 0 and pan["membrane"] == "bonded" and pan["drain"] == "point":
            low = self.pan_m()[2]
        body = self.strip(row["wall"], start, start + length(row["width"]), -length(row["setback"]), 0.02, -1.0, length(row["top"]))
        if row["bottom"] == "0 m" and pan["membrane"] == "bonded" and pan["drain"] == "line":
            return self.floored(body)
        return body.trim_by_plane((0, 0, 1), low)


def open_edges(room: Solid) -> float:
    """Length of edge along which the facets do not close, found by adding directed lengths on every line. [m]"""
    total: Counter[tuple[Any, ...]] = Counter()
    rows = []
    for f in room.facets:
        for ring in (f.outline_m, *f.holes_m):
            p = f.frame.lift(ring)
            rows += list(zip(p, np.roll(p, -1, axis=0), strict=True))
    ends = np.unique(np.round([q for row in rows for q in row], 9), axis=0)
    for a, b in rows:
        d = b - a
        size = float(np.linalg.norm(d))
        d = d / size
        t = (ends - a) @ d
        on = np.abs(ends - a - t[:, None] * d).max(axis=1) < 1e-5
        stops = sorted({0.0, size, *(round(float(x), 6) for x in t[on] if 1e-5 < x < size - 1e-5)})
        for s, e in pairwise(stops):
            if e - s < 1e-5:
                continue
            q, r = (tuple(np.round(a + d * x + 3.7e-5, 4) + 0.0) for x in (s, e))  # off the ties of rounding
            total[min(q, r), max(q, r)] += 1 if q < r else -1
    return sum(math.dist(*k) for k, v in total.items() if v)


def euler(room: Solid) -> int:
    """Corners less edges plus faces, a face with holes counted as if cut open; 2 for a body without handles."""
    edges = 0
    pairs = [*((j.start_m, j.end_m) for j in room.joints), *((r.start_m, r.end_m) for r in room.rims)]
    ends = {p for q in pairs for p in q}
    for a, b in pairs:
        d = np.subtract(b, a)
        t = [(np.subtract(e, a) @ d) / (d @ d) for e in ends if np.linalg.norm(np.cross(np.subtract(e, a), d)) < 1e-5 * np.linalg.norm(d)]
        edges += 1 + sum(1e-5 < x < 1 - 1e-5 for x in t)  # a corner on a stretch parts it
    return len(ends) - edges + sum(1 - len(f.holes_m) for f in room.facets)


@pytest.mark.parametrize("block", range(10))
def test_random_rooms_close_and_enclose_the_air_of_a_second_construction(block: int) -> None:
    for seed in range(block * COUNT // 10, (block + 1) * COUNT // 10):
        case = random_case(seed)
        room = solid(case.points_m, case.job["room"])
        other = Other(case).air()
        assert room.volume_m3 > 0.5, seed
        assert room.volume_m3 == pytest.approx(other.volume(), rel=1e-6), seed
        assert sum(f.area_m2 for f in room.facets) == pytest.approx(other.surface_area(), rel=1e-6), seed
        assert open_edges(room) < 1e-4, seed
        assert euler(room) == 2, seed


@pytest.mark.parametrize("block", range(4))
def test_mirrored_rooms_have_equal_quantities(block: int) -> None:
    for seed in range(block, 60, 4):
        case = random_case(seed)
        one, two = (solid(c.points_m, c.job["room"], 0.0164) for c in (case, mirrored(case)))
        assert two.volume_m3 == pytest.approx(one.volume_m3, rel=1e-9), seed
        areas = [sorted((f.kind, round(f.area_m2, 7)) for f in room.facets) for room in (one, two)]
        assert areas[0] == areas[1], seed
        angles = [sorted(round(j.angle_deg, 4) for j in room.joints) for room in (one, two)]
        assert angles[0] == angles[1], seed


def test_layers_take_the_room_that_an_offset_takes() -> None:
    for seed in range(0, 60, 3):
        case = random_case(seed)
        bare, lined = (solid(case.points_m, case.job["room"], d) for d in (0.0, 1e-4))
        covered = sum(f.area_m2 for f in bare.facets if f.covering_by is not CoveredBy.NONE)
        assert bare.volume_m3 - lined.volume_m3 == pytest.approx(covered * 1e-4, rel=2e-3), seed
        assert [f.surface for f in bare.facets] == [f.surface for f in lined.facets], seed


def test_the_random_rooms_hold_their_quotas() -> None:
    facts: Counter[str] = Counter()
    sizes = set()
    for seed in range(COUNT):
        case = random_case(seed)
        facts.update(case.facts)
        sizes.add(len(case.points_m))
    for fact, share in QUOTAS.items():
        assert facts[fact] >= share * COUNT, fact
    assert min(sizes) == 3
    assert max(sizes) == 12


def test_each_random_room_has_a_hole_within_six_inches_of_a_joint() -> None:
    for seed in range(0, COUNT, 5):
        case = random_case(seed)
        room = solid(case.points_m, case.job["room"])
        near = []
        for p in room.penetrations:
            if p.kind == "drain":
                continue
            at = room.facet(p.facet).frame.lift([p.center_m])[0]
            for j in room.joints:
                if p.facet in j.facets:
                    a, b = np.asarray(j.start_m), np.asarray(j.end_m)
                    t = np.clip((at - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
                    near.append(float(np.linalg.norm(at - a - t * (b - a))))
        assert min(near) < 0.1524, seed
        assert all(f.kind is not FacetKind.OPENING or f.covering_by is CoveredBy.NONE for f in room.facets)
