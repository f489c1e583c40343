"""Running on: what is folded onto a surface that is narrower than a lap goes on over that one's far joint."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import shapely
from shapely import Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from steamwright.covering.draft import SLIVER_M2, Base, clip, polygons, quad, spans_along, touching, without
from steamwright.covering.ground import Terrain
from steamwright.geometry.frame import Floats, Point2
from steamwright.geometry.outline import corners_of
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import Joint

ALONG_RATIO = 0.7
"""How nearly a far joint runs along the near one: the cosine of the angle between them."""
PAST_M = 1e-4
SHORTEST_M = 2e-3
SLIT_M = 1e-3


@dataclass(frozen=True, slots=True)
class Onward:
    """A part of a leg or band beyond the narrow surface; ``to_here`` carries it into that one's plane, ``past`` is the joint there."""

    past: str
    facet: str
    polygon: Polygon
    to_here: Motion

    def image(self) -> Polygon:
        """The part in the plane of the narrow surface."""
        return self.to_here.polygon(self.polygon)


def run_on(terrain: Terrain, facet: str, over: Joint, strip_m: Sequence[Point2], patches: Sequence[Polygon],
           seen: frozenset[str]) -> tuple[Onward, ...]:
    """Where a strip along a joint reaches past a far joint of the surface that it lies on, and what then lies beyond.

    Parameters
    ----------
    terrain : Terrain
        The room.
    facet : str
        The surface that the strip lies on.
    over : Joint
        The joint along which it lies.
    strip_m : sequence of (float, float)
        The whole strip as if the surface were wide enough, its corners in turn, in the surface's coordinates. [m]
    patches : sequence of Polygon
        What of it lies on the surface.
    seen : frozenset of str
        Surfaces onto which it may not run: those that it comes from.

    Returns
    -------
    parts : tuple of Onward
        None where the surface is wide enough.

    References
    ----------
    own derivation
    """
    found = tuple(_past(terrain, facet, over, quad(*strip_m), patches, seen))
    return found if len(found) < 2 else tuple(_apart(found))


def _apart(parts: Sequence[Onward]) -> Iterator[Onward]:
    """Parts beyond different joints, each without what lies under an earlier one on the blank."""
    images: list[Polygon] = []
    for part in parts:
        over = [i for i in images if i.intersection(part.image()).area > SLIVER_M2]
        taken = shapely.transform(unary_union(over).buffer(SLIT_M), part.to_here.inverse().points) if over else None
        for rest in (part.polygon,) if taken is None else without(part.polygon, taken):
            images.append(part.to_here.polygon(rest))
            yield replace(part, polygon=rest)


def _past(terrain: Terrain, facet: str, over: Joint, strip: Polygon, patches: Sequence[Polygon], seen: frozenset[str]) -> Iterator[Onward]:
    way, corners = Base.of(terrain.line(facet, over)).way, corners_of(strip)
    for joint in terrain.grounds[facet].joints:
        there = terrain.far_side(joint, facet)
        if joint.id == over.id or there in seen:
            continue
        line = terrain.line(facet, joint)
        base = Base.of(line)
        if abs(base.way[0] * way[0] + base.way[1] * way[1]) < ALONG_RATIO or min(base.left_m(x, y) for x, y in corners) > -PAST_M:
            continue
        to_here = terrain.motion(joint, there, facet)
        back, far = to_here.inverse(), strip.length
        for low, high in (s for p in patches for s in spans_along(p, *line) if s[1] - s[0] > SHORTEST_M + 2 * SLIT_M):
            # beside it the blank may hold what lies on the surface itself: a slit parts the two
            t0, t1 = low + SLIT_M, high - SLIT_M
            window = quad(base.at(t0, -far), base.at(t1, -far), base.at(t1), base.at(t0))
            ends = back.points([base.at(t0), base.at(t1)])
            for part in clip(strip, window):
                beyond = back.polygon(part)
                found = touching(clip(beyond, terrain.grounds[there].net), *ends)
                yield from (Onward(joint.id, there, p, to_here) for p in found)
                for more in _past(terrain, there, joint, beyond, found, seen | {facet, there}):
                    yield Onward(joint.id, more.facet, more.polygon, more.to_here.then(to_here))


def with_spills(terrain: Terrain, lying: Sequence[tuple[str, BaseGeometry, Polygon]],
                over: Callable[[Joint], bool] = lambda _: True) -> list[tuple[str, Polygon]]:
    """A ready-made piece with what its flanges cover beyond the joints that they run over.

    Parameters
    ----------
    terrain : Terrain
        The room.
    lying : sequence of (str, Polygon, Polygon)
        Each surface with the flange in its plane as if it had no end, and what of that lies on it. [m]
    over : callable, optional
        Tells over which joints a flange may run; over all unless said.

    Returns
    -------
    parts : list of (str, Polygon)
        The given ones, and those on further surfaces.

    References
    ----------
    own derivation
    """
    seen = frozenset(facet for facet, *_ in lying)
    found: dict[str, list[Polygon]] = {}
    for facet, shape, patch in lying:
        for there, part, _ in spills(terrain, facet, shape, patch, seen, over):
            found.setdefault(there, []).append(part)
    return [(f, p) for f, _, p in lying] + [(f, p) for f, parts in found.items() for p in polygons(unary_union(parts))]


def spills(terrain: Terrain, facet: str, shape: BaseGeometry, patch: Polygon, seen: frozenset[str],
           over: Callable[[Joint], bool] = lambda _: True) -> Iterator[tuple[str, Polygon, Motion]]:
    """What a flange covers beyond the joints that it runs over, one after the other.

    Parameters
    ----------
    terrain : Terrain
        The room.
    facet : str
        The surface that it lies on.
    shape : Polygon
        The flange in that one's plane as if it had no end. [m]
    patch : Polygon
        What of it lies on the surface.
    seen : frozenset of str
        Surfaces onto which it may not run.
    over : callable, optional
        Tells over which joints it may run; over all unless said.

    Yields
    ------
    there, part, to_here : str, Polygon and Motion
        A surface beyond, what lies on it in its own coordinates, and how that is carried into the plane of the first.

    References
    ----------
    own derivation
    """
    for way in _over(terrain, facet, shape, patch, seen, over):
        for part in way.parts:
            yield way.facet, part, way.to_here
            for further, more, motion in spills(terrain, way.facet, way.shape, part, seen | {facet, way.facet}, over):
                yield further, more, motion.then(way.to_here)


def spills_apart(terrain: Terrain, facet: str, shape: BaseGeometry, patch: Polygon, seen: frozenset[str],
                 over: Callable[[Joint], bool] = lambda _: True) -> Iterator[tuple[str, Polygon, Motion]]:
    """As `spills` for a piece cut from one blank: no part lies on the blank where another does.

    What lies next to the surface comes before what lies beyond it, the larger before the smaller. What is in an earlier one's
    way is cut off with a slit, and what then hangs on nothing is left out.

    Parameters
    ----------
    terrain : Terrain
        The room.
    facet : str
        The surface that it lies on.
    shape : Polygon
        The flange in that one's plane as if it had no end. [m]
    patch : Polygon
        What of it lies on the surface.
    seen : frozenset of str
        Surfaces onto which it may not run.
    over : callable, optional
        Tells over which joints it may run; over all unless said.

    Yields
    ------
    there, part, to_here : str, Polygon and Motion
        As from `spills`.

    References
    ----------
    own derivation
    """
    found = list(spills(terrain, facet, shape, patch, seen, over))
    images = [patch, *(motion.polygon(part) for _, part, motion in found)]
    if all(a.intersection(b).area < SLIVER_M2 for a, b in combinations(images, 2)):
        yield from found
        return
    lain = [patch]
    waiting = [(facet, shape, patch, Motion.identity(), seen)]
    for own, (here, whole, lying, home, known) in enumerate(waiting):
        for way in sorted(_over(terrain, here, whole, lying, known, over), key=lambda w: -round(sum(p.area for p in w.parts), 9)):
            motion = way.to_here.then(home)
            # what the part hangs on may stand round it on the blank, too
            round_it = polygons(lain[own].intersection(home.polygon(way.half)))
            others = [g for k, g in enumerate(lain) if k != own]
            taken = unary_union([lain[own], *(g.buffer(SLIT_M, join_style="mitre") for g in (*round_it, *others))])
            taken = shapely.transform(taken, motion.inverse().points)
            for part in (p for q in way.parts for p in touching(without(q, taken), *way.ends_m)):
                lain.append(motion.polygon(part))
                waiting.append((way.facet, way.shape, part, motion, known | {here, way.facet}))
                yield way.facet, part, motion


@dataclass(frozen=True, slots=True)
class _Way:
    """Over one joint: the surface there, the flange carried onto it, where the joint is, and what of the flange lies there.

    ``half`` is all that lies beyond the joint in the plane of the surface that it is seen from.
    """

    facet: str
    shape: BaseGeometry
    half: Polygon
    ends_m: Floats
    parts: tuple[Polygon, ...]
    to_here: Motion


def _over(terrain: Terrain, facet: str, shape: BaseGeometry, patch: Polygon, seen: frozenset[str],
          over: Callable[[Joint], bool]) -> Iterator[_Way]:
    """Where a flange runs over joints of the surface that it lies on."""
    x0, y0, x1, y1 = shape.bounds
    far = x1 - x0 + y1 - y0
    for joint in terrain.grounds[facet].joints:
        there = terrain.far_side(joint, facet)
        line = terrain.line(facet, joint)
        spans = [] if there in seen or not over(joint) else spans_along(patch, *line)
        if sum(b - a for a, b in spans) < SHORTEST_M:
            continue
        to_here, base = terrain.motion(joint, there, facet), Base.of(line)
        back = to_here.inverse()
        low, high = -far, base.length_m + far
        half = quad(base.at(low, -2 * far), base.at(high, -2 * far), base.at(high), base.at(low))
        beyond = shapely.transform(shapely.intersection(shape, half), back.points)
        ends = back.points([base.at(spans[0][0]), base.at(spans[-1][1])])
        yield _Way(there, beyond, half, ends, tuple(touching(clip(beyond, terrain.grounds[there].net), *ends)), to_here)
