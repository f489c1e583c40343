"""Legs: how a sheet runs on over a joint onto the neighbour."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from steamwright.covering.draft import SLIVER_M2, Base, Draft, Part, clip, polygons, quad, spans_along, touching, without
from steamwright.covering.ground import Terrain
from steamwright.covering.onward import Onward, run_on
from steamwright.geometry.frame import Floats, Point2
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import Joint

FOLD_GAP_M = 1e-3
MITRE_LIMIT = 5.0
LEG_SPARE_M = 5e-4
CORNER_PLAY_M = 0.03
GRAIN_M2 = 1e-6
SPIKE_M = 1e-7
TOUCHES_M = 2e-3
HAIR_M = 1e-6
ROUND_RATIO = 0.995


@dataclass(frozen=True, slots=True)
class Leg:
    """A leg over one stretch of a joint where nothing is in its way.

    ``lying_m`` and ``around_m`` are the leg and the room it needs, in the plane of the sheet's facet; ``ends_m`` is the
    stretch in the neighbour's coordinates, ``patches`` with ``corners_m`` are what lies there, ``onward`` what runs on from
    there, ``open_m`` is what stays unfolded.
    """

    lying_m: tuple[Point2, ...]
    around_m: tuple[Point2, ...]
    ends_m: Floats
    patches: tuple[Polygon, ...]
    corners_m: Floats
    at_corner: tuple[bool, bool]
    open_m: float
    onward: tuple[Onward, ...] = ()


@dataclass(frozen=True, slots=True)
class Turned:
    """A leg that a part of a sheet shall have: over which joint, onto which facet, by which motion."""

    here: Part
    joint: Joint
    there: str
    to_plane: Motion
    leg: Leg

    def bounds_m(self) -> tuple[float, float, float, float]:
        """Bounding box of the whole leg on the sheet's plane, before anything is cut off it; empty where it has no room. [m]"""
        if not self.leg.patches:
            return math.inf, math.inf, -math.inf, -math.inf
        (x0, y0), *more = self.to_plane.points(self.leg.corners_m).tolist()
        x1, y1 = x0, y0
        for x, y in more:
            x0, y0, x1, y1 = min(x, x0), min(y, y0), max(x, x1), max(y, y1)
        return x0, y0, x1, y1


def legs_over(terrain: Terrain, here: Part, joint: Joint) -> list[Turned]:
    """The legs that a part of a sheet has over a joint, one a stretch on which it meets it.

    Parameters
    ----------
    terrain : Terrain
        The room.
    here : Part
        A part of a sheet on one side of the joint.
    joint : Joint
        The joint; the terrain says how long a leg it needs.

    Returns
    -------
    legs : list of Turned
        As `turn_over` takes them.

    References
    ----------
    own derivation
    """
    spans = here.spans(*terrain.line(here.facet, joint))
    if not spans:
        return []
    there = terrain.far_side(joint, here.facet)
    to_plane = terrain.motion(joint, there, here.facet).then(here.motion)
    depth_m = terrain.legs_m[joint.id] + LEG_SPARE_M
    return [Turned(here, joint, there, to_plane, _leg(terrain, joint, here.facet, span, depth_m)) for span in spans]


def turn_over(terrain: Terrain, turned: Turned, draft: Draft) -> None:
    """Let a sheet run on over a joint by the length of a leg, as far as the blank has room for it.

    Parameters
    ----------
    terrain : Terrain
        The room.
    turned : Turned
        The leg.
    draft : Draft
        The sheet. It gains the leg's parts; ``torn`` says where it had to leave the joint open.

    References
    ----------
    own derivation
    """
    here, leg = turned.here, turned.leg
    lying, around = shapely.polygons(here.motion.points([*leg.lying_m, *leg.around_m]).reshape(2, 4, 2))
    near = [p.image for p in draft.parts if p is not here and shapely.dwithin(p.image, lying, FOLD_GAP_M)]
    if here.image.intersects(around):
        near += clip(here.image, around)
    kept, open_m, onward = leg.patches, leg.open_m, leg.onward
    if near:
        # spikes thinner than the grid would throw the mitred corners off to nowhere
        taken = shapely.set_precision(_whole(near), SPIKE_M).buffer(FOLD_GAP_M, join_style="mitre", mitre_limit=MITRE_LIMIT)
        if not taken.is_valid:  # where two mitres meet, one may come to lie as a shell within the other
            taken = shapely.make_valid(taken, method="structure", keep_collapsed=False)
        onward = tuple(replace(o, polygon=g) for o in onward for g in _left_of(turned, o, taken))
        taken = shapely.transform(taken, turned.to_plane.inverse().points)
        left = [g for p in leg.patches for g in without(p, taken)]
        kept = tuple(touching(left, *leg.ends_m))
        whole = len(kept) == len(left) == len(leg.patches)
        if not (whole and _all_by_corners(terrain, turned, near)):
            open_m += _missed(terrain, turned, kept)
    open_m += cramped_m(terrain, turned.joint, turned.there)
    if open_m > 0.0:
        draft.torn.append((turned.joint.id, open_m))
    draft.parts += [Part(turned.there, p, turned.to_plane) for p in kept]
    draft.parts += [Part(o.facet, o.polygon, o.to_here.then(turned.to_plane)) for o in onward if kept]


def _left_of(turned: Turned, onward: Onward, taken: BaseGeometry) -> list[Polygon]:
    """What of a part that runs on lies where the blank has nothing else."""
    back = onward.to_here.then(turned.to_plane).inverse()
    return without(onward.polygon, shapely.transform(taken, back.points))


def _leg(terrain: Terrain, joint: Joint, facet: str, span: tuple[float, float], depth_m: float) -> Leg:
    """The leg over a stretch, remembered: a search asks for the same one again and again."""
    key = joint.id, facet, round(span[0], 7), round(span[1], 7), depth_m
    found = terrain.memory.get(key)
    if not isinstance(found, Leg):
        found = _new_leg(terrain, joint, facet, span, depth_m)
        terrain.memory[key] = found
    return found


def _new_leg(terrain: Terrain, joint: Joint, facet: str, span: tuple[float, float], depth_m: float) -> Leg:
    base = Base.of(terrain.line(facet, joint))
    there = terrain.far_side(joint, facet)
    t0, t1 = span
    x0, x1 = _to_the_rims(terrain, facet, joint, base, span, depth_m)
    w0, w1, off = x0 - 2 * FOLD_GAP_M, x1 + 2 * FOLD_GAP_M, 1e-5
    lying = base.at(x0), base.at(x0, -depth_m), base.at(x1, -depth_m), base.at(x1)
    around = base.at(w0, -off), base.at(w0, -depth_m), base.at(w1, -depth_m), base.at(w1, -off)
    back = terrain.motion(joint, there, facet).inverse()
    beyond = back.points([*lying, base.at(t0), base.at(t1)])
    ends = beyond[4:]
    patches = touching(terrain.grounds[there].inside(list(map(tuple, beyond[:4].tolist()))), ends[0], ends[1])
    at_corner = t0 < TOUCHES_M, t1 > base.length_m - TOUCHES_M
    strip = back.points([lying[0], *(base.at(x, -min(depth_m, terrain.lap_m + LEG_SPARE_M)) for x in (x0, x1)), lying[3]])
    onward = run_on(terrain, there, joint, list(map(tuple, strip.tolist())), patches, frozenset((facet, there)))
    corners = shapely.get_coordinates([*patches, *(o.image() for o in onward)])
    return Leg(lying, around, ends, tuple(patches), corners, at_corner, _open(patches, ends, at_corner), onward)


def _open(kept: list[Polygon], ends: Floats, at_corner: tuple[bool, bool]) -> float:
    """How much of a fold is open: near a corner, where a corner piece lies, a little may be."""
    spans = [s for p in kept for s in spans_along(p, ends[1], ends[0])]
    length = float(np.hypot(*(ends[1] - ends[0])))
    if not spans:
        return length
    first, last = length - max(s[1] for s in spans), min(s[0] for s in spans)
    between = (length - first - last) - sum(s[1] - s[0] for s in spans)
    may = [CORNER_PLAY_M if c else FOLD_GAP_M for c in at_corner]
    return max(0.0, first - may[0]) + max(0.0, last - may[1]) + max(0.0, between - FOLD_GAP_M)


def cramped_m(terrain: Terrain, joint: Joint, facet: str) -> float:
    """How much of a joint no leg on a facet can close, since the facet ends in another joint before the lap does.

    What lies on such a facet has to run on over both of its joints.

    Parameters
    ----------
    terrain : Terrain
        The room; its corners' reaches are known.
    joint : Joint
        The joint.
    facet : str
        The facet that a band's or a sheet's leg would lie on.

    Returns
    -------
    length_m : float
        0 where there is room. [m]

    References
    ----------
    own derivation
    """
    key = "cramped", joint.id, facet
    found = terrain.memory.get(key)
    if not isinstance(found, float):
        found = _cramped(terrain, joint, facet)
        terrain.memory[key] = found
    return found


def _cramped(terrain: Terrain, joint: Joint, facet: str) -> float:
    ground, lap_m = terrain.grounds[facet], terrain.lap_m
    line = terrain.line(facet, joint)
    base = Base.of(line)
    needed = quad(base.at(0.0), base.at(base.length_m), base.at(base.length_m, lap_m), base.at(0.0, lap_m))
    # a hair wider, so that no crack is left
    onward = [] if ground.holds(needed) else [o.image().buffer(HAIR_M, join_style="mitre") for o in _run_on(terrain, joint, facet, needed)]
    lost = [] if ground.holds(needed) else without(needed, _one([ground.polygon, *onward]))
    if all(_by_a_corner(terrain, joint, facet, base, _along(base, p)) for p in lost):
        return 0.0
    half = quad(base.at(0.0), base.at(base.length_m), base.at(base.length_m, lap_m / 2), base.at(0.0, lap_m / 2))
    bare = unary_union(lost).buffer(lap_m / 2).intersection(half).intersection(ground.polygon)
    for rim in ground.rims:
        bare = bare.difference(LineString(terrain.line(facet, rim)).buffer(lap_m / 2 + FOLD_GAP_M))
    return _beyond_corners(terrain, joint, facet, bare)


def _run_on(terrain: Terrain, joint: Joint, facet: str, needed: Polygon) -> tuple[Onward, ...]:
    """What a leg over a facet that is too narrow for it runs on over."""
    patches = touching(clip(needed, terrain.grounds[facet].net), *terrain.line(facet, joint))
    return run_on(terrain, facet, joint, shapely.get_coordinates(needed)[:-1].tolist(), patches,
                  frozenset((facet, terrain.far_side(joint, facet))))


def unheld_m(terrain: Terrain, joint: Joint, held: Collection[tuple[str, str]]) -> list[tuple[str, float]]:
    """Where a sheet that runs on over a joint ends before the lap does: the facet is narrow, and it does not fold over its far side.

    Parameters
    ----------
    terrain : Terrain
        The room.
    joint : Joint
        A fold inside a field.
    held : collection of (str, str)
        Joints over which the field's sheets run on, with the facet that they come from.

    Returns
    -------
    torn : list of (str, float)
        Far joints that its sheets have to turn over, with the length that is open there. [m]

    References
    ----------
    own derivation
    """
    return [(past, length) for facet in joint.facets for past, length in _far_joints(terrain, joint, facet) if (past, facet) not in held]


def _far_joints(terrain: Terrain, joint: Joint, facet: str) -> list[tuple[str, float]]:
    """The far joints of a facet that is narrower than a lap, and how long, remembered."""
    key = "far joints", joint.id, facet
    found = terrain.memory.get(key)
    if not isinstance(found, list):
        base = Base.of(terrain.line(facet, joint))
        needed = quad(base.at(0.0), base.at(base.length_m), base.at(base.length_m, terrain.lap_m), base.at(0.0, terrain.lap_m))
        parts = [] if terrain.grounds[facet].holds(needed) else _run_on(terrain, joint, facet, needed)
        direct = [o for o in parts if terrain.far_side(terrain.joints[o.past], facet) == o.facet]
        lengths = [(o.past, _beyond_corners(terrain, joint, facet, o.image())) for o in direct]
        found = [(past, length) for past, length in lengths if length > 0.0]
        terrain.memory[key] = found
    return found


def _beyond_corners(terrain: Terrain, joint: Joint, facet: str, bare: BaseGeometry) -> float:
    """Length of what is bare where no corner piece makes it good. [m]"""
    frame = terrain.grounds[facet].facet.frame
    for end in (joint.start_m, joint.end_m):
        reach = terrain.corner_reach_m(end) - terrain.lap_m / 2
        if reach > 0.0:
            bare = bare.difference(Point(frame.drop(end)[0]).buffer(reach))
    return float(bare.area) / terrain.lap_m if bare.area > GRAIN_M2 else 0.0


def _all_by_corners(terrain: Terrain, turned: Turned, near: Sequence[Polygon]) -> bool:
    """True where all that other parts of a sheet can take of a leg lies by corner pieces, as seen along the joint alone."""
    leg, mitre_m = turned.leg, MITRE_LIMIT * FOLD_GAP_M
    home, there = Base.of(leg.ends_m), Base.of(turned.to_plane.points(leg.ends_m))
    whole = [home.along_m(x, y) for x, y in leg.corners_m.tolist()]
    low, high = min(whole), max(whole)
    spans = [(max(a - mitre_m, low), min(b + mitre_m, high)) for a, b in (_along(there, p) for p in near)]
    return all(_by_a_corner(terrain, turned.joint, turned.there, home, span) for span in spans)


def _missed(terrain: Terrain, turned: Turned, kept: Sequence[Polygon]) -> float:
    """How much of a fold is open since a leg was trimmed.

    What was cut away also takes half a lap of its neighbourhood with it. That has to be made good along the joint, to
    half a lap's depth, where the sheet beyond takes over, by the corner pieces at the joint's ends alone.
    """
    half_m, leg, joint, facet = terrain.lap_m / 2, turned.leg, turned.joint, turned.there
    whole = _one(leg.patches)
    lost = without(whole, _one(kept)) if kept else polygons(whole)
    base = Base.of(leg.ends_m)
    if all(_by_a_corner(terrain, joint, facet, base, _along(base, p)) for p in lost):
        return 0.0
    bare = unary_union(lost).buffer(half_m).intersection(LineString(leg.ends_m).buffer(half_m, cap_style="flat"))
    return _beyond_corners(terrain, joint, facet, bare.intersection(whole))


def _one(shapes: Sequence[Polygon]) -> BaseGeometry:
    return shapes[0] if len(shapes) == 1 else unary_union(shapes)


def _whole(shapes: Sequence[Polygon]) -> BaseGeometry:
    """All of some shapes: plain overlay may lose one whose edge all but coincides with another's."""
    joined = _one(shapes)
    return joined if joined.area > sum(g.area for g in shapes) - SLIVER_M2 else shapely.union_all(shapes, grid_size=SPIKE_M)


def _along(base: Base, shape: Polygon) -> tuple[float, float]:
    """From where to where a shape reaches along a line. [m]"""
    along = [base.along_m(x, y) for x, y in shapely.get_coordinates(shape).tolist()]
    return min(along), max(along)


def _by_a_corner(terrain: Terrain, joint: Joint, facet: str, base: Base, lost_m: tuple[float, float]) -> bool:
    """True where all that a cut takes with it, a box along the joint, lies within reach of one corner piece: no overlay is needed then."""
    half_m = terrain.lap_m / 2
    low, high = lost_m[0] - half_m, lost_m[1] + half_m
    for x, y, whole in _corner_reaches(terrain, joint, facet):
        at, reach = base.along_m(x, y), ROUND_RATIO * (whole - half_m)
        if reach > half_m and max(abs(low - at), abs(high - at)) ** 2 + half_m**2 < reach**2:
            return True
    return False


def _corner_reaches(terrain: Terrain, joint: Joint, facet: str) -> list[tuple[float, float, float]]:
    """Where the ends of a joint lie on a facet, and how far the corner pieces there reach, remembered. [m]"""
    key = "corner reaches", joint.id, facet
    found = terrain.memory.get(key)
    if not isinstance(found, list):
        ends = joint.start_m, joint.end_m
        points = terrain.grounds[facet].facet.frame.drop(ends).tolist()
        found = [(x, y, terrain.corner_reach_m(end)) for (x, y), end in zip(points, ends, strict=True)]
        terrain.memory[key] = found
    return found


def _to_the_rims(terrain: Terrain, facet: str, joint: Joint, base: Base, span: tuple[float, float],
                 depth_m: float) -> tuple[float, float]:
    """Lengthen a leg so that it reaches the rims of the facet it lies on, however they slant; the facet trims it."""
    x0, x1 = span
    for at in (joint.start_m, joint.end_m):
        if terrain.ends_at_rim(terrain.far_side(joint, facet), at):
            is_start = base.along_m(*terrain.grounds[facet].facet.frame.drop(at)[0].tolist()) < base.length_m / 2
            x0 = -depth_m if is_start and x0 < TOUCHES_M else x0
            x1 = base.length_m + depth_m if not is_start and x1 > base.length_m - TOUCHES_M else x1
    return x0, x1
