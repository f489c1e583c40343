"""What the judge knows of a room before it looks at any piece: surfaces, pipes, honest rims and joints in the plane of each surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Point, Polygon

from steamwright.covering.segments import ring_segments, spans_on, total
from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy, Facet, Joint, Penetration, Rim, Solid

ROOM_TOL_M = 5e-4
"""How exactly the surfaces of a room fit one another."""


@dataclass(frozen=True, slots=True)
class Surface:
    """A facet with what is needed to judge pieces on it; lines and circles are in its (s, t). [m]"""

    facet: Facet
    polygon: Polygon
    edges: Floats
    pipes: tuple[tuple[Penetration, Polygon], ...]
    rims: tuple[Floats, ...]


@dataclass(frozen=True, slots=True)
class JointSide:
    """A joint seen from one of its facets: the line in the facet's (s, t) and the unit normal into the facet."""

    facet: str
    line_m: Floats
    inward: Floats


@dataclass(frozen=True, slots=True)
class JointLine:
    """A joint with both its sides, in the order of ``joint.facets``."""

    joint: Joint
    sides: tuple[JointSide, JointSide]
    length_m: float

    def seen_from(self, facet: str) -> tuple[JointSide, JointSide]:
        """The side on a facet first, the other one second."""
        return self.sides if self.sides[0].facet == facet else (self.sides[1], self.sides[0])


@dataclass(frozen=True, slots=True)
class RoomFacts:
    """Surfaces by facet id and all joints; ``dishonest`` are rims that do not lie between a covered surface and an opening."""

    surfaces: dict[str, Surface]
    joints: tuple[JointLine, ...]
    dishonest: tuple[tuple[Rim, str], ...]

    def name(self, facet: str) -> str:
        """What a person calls a facet."""
        return self.surfaces[facet].facet.name


def room_facts(solid: Solid) -> RoomFacts:
    """Gather what the judge needs to know about a room.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.

    Returns
    -------
    facts : RoomFacts
        Surfaces, joints and the rims that are not honest.

    References
    ----------
    own derivation
    """
    facets = {f.id: f for f in solid.facets}
    polygons = {f.id: f.polygon for f in solid.facets}
    edges = {k: ring_segments(p) for k, p in polygons.items()}
    pipes: dict[str, list[tuple[Penetration, Polygon]]] = {k: [] for k in facets}
    for p in solid.penetrations:
        pipes[p.facet].append((p, Point(p.center_m).buffer(p.diameter_m / 2.0)))
    rims: dict[str, list[Floats]] = {k: [] for k in facets}
    dishonest: list[tuple[Rim, str]] = []
    for rim in solid.rims:
        wrong = _rim_fault(rim, facets, edges)
        if wrong:
            dishonest.append((rim, wrong))
        else:
            rims[rim.facet].append(facets[rim.facet].frame.drop([rim.start_m, rim.end_m]))
    surfaces = {k: Surface(f, polygons[k], edges[k], tuple(pipes[k]), tuple(rims[k])) for k, f in facets.items()}
    return RoomFacts(surfaces, _joint_lines(solid, facets, polygons), tuple(dishonest))


def _joint_lines(solid: Solid, facets: dict[str, Facet], polygons: dict[str, Polygon]) -> tuple[JointLine, ...]:
    """Drop every joint into its two facets and find which side of the line each facet is on."""
    joints = [j for j in solid.joints if np.linalg.norm(np.subtract(j.end_m, j.start_m)) > ROOM_TOL_M]
    if not joints:
        return ()
    lines = np.array([facets[k].frame.drop([j.start_m, j.end_m]) for j in joints for k in j.facets])
    run = lines[:, 1] - lines[:, 0]
    length = np.hypot(run[:, 0], run[:, 1])
    normal = np.stack([-run[:, 1], run[:, 0]], axis=1) / length[:, None]
    probe = lines.mean(axis=1) + 4 * ROOM_TOL_M * normal
    left = shapely.contains_xy(np.array([polygons[k] for j in joints for k in j.facets]), probe[:, 0], probe[:, 1])
    normal[~left] *= -1.0
    sides = [JointSide(k, lines[2 * i + h], normal[2 * i + h]) for i, j in enumerate(joints) for h, k in enumerate(j.facets)]
    return tuple(JointLine(j, (sides[2 * i], sides[2 * i + 1]), float(length[2 * i])) for i, j in enumerate(joints))


def _rim_fault(rim: Rim, facets: dict[str, Facet], edges: dict[str, Floats]) -> str:
    """Say why a rim is none; empty where it is one."""
    if facets[rim.facet].covering_by is CoveredBy.NONE:
        return "the surface itself is not covered"
    if facets[rim.opening].covering_by is not CoveredBy.NONE:
        return f"{facets[rim.opening].name} is no opening"
    for facet in (facets[rim.facet], facets[rim.opening]):
        ends = np.array([rim.start_m, rim.end_m])
        line = facet.frame.drop(ends)
        length = float(np.hypot(*(line[1] - line[0])))
        off = float(np.abs((ends - np.asarray(facet.frame.origin_m)) @ facet.frame.normal).max())
        if off > 2 * ROOM_TOL_M or length - total(spans_on(line, edges[facet.id], ROOM_TOL_M)) > 4 * ROOM_TOL_M:
            return f"it is no edge of {facet.name}, there is no opening"
    return ""
