"""What the judge knows of a room before it looks at any piece: surfaces, pipes, honest rims and joints in the plane of each surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from steamwright.covering.segments import Indices, Shapes, contacts, edges_of
from steamwright.covering.spans import total
from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy, Facet, Joint, Penetration, Rim, Solid

ROOM_TOL_M = 5e-4
"""How exactly the surfaces of a room fit one another."""
SHORTEST_RIM_M = 1e-5
PROBES_M = 4 * ROOM_TOL_M, ROOM_TOL_M / 2, ROOM_TOL_M / 20


@dataclass(frozen=True, slots=True)
class Surface:
    """A facet with what is needed to judge pieces on it; rims and pipes are in its (s, t). [m]"""

    facet: Facet
    polygon: Polygon
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


@dataclass(frozen=True, slots=True)
class RoomFacts:
    """Surfaces by facet id and all joints; ``dishonest`` are rims that do not lie between a covered surface and an opening.

    ``edges_m`` are the edges of all facets and ``edge_owner`` the facets' places in ``surfaces``.
    """

    surfaces: dict[str, Surface]
    joints: tuple[JointLine, ...]
    dishonest: tuple[tuple[Rim, str], ...]
    edges_m: Floats
    edge_owner: Indices

    def name(self, facet: str) -> str:
        """What a person calls a facet."""
        return self.surfaces[facet].facet.name


class _Planes:
    """The frames of all facets, for carrying many points at once."""

    def __init__(self, solid: Solid) -> None:
        self.facets = solid.facets
        self.number = {f.id: k for k, f in enumerate(solid.facets)}
        self.shapes = np.array([f.polygon for f in solid.facets], dtype=object)
        self.edges, self.owner = edges_of(self.shapes)
        self.origin = np.array([f.frame.origin_m for f in solid.facets])
        self.axes = np.array([[f.frame.u, f.frame.v] for f in solid.facets])

    def drop(self, which: Indices, ends_m: Floats) -> tuple[Floats, Floats]:
        """Lines of the room in the planes of facets, shape (n, 2, 2), and how far off the planes they are. [m]"""
        rel = ends_m - self.origin[which][:, None]
        flat = np.einsum("nij,nkj->nki", self.axes[which], rel)
        return flat, np.abs(np.einsum("nj,nkj->nk", np.cross(self.axes[which, 0], self.axes[which, 1]), rel)).max(axis=1)


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
    planes = _Planes(solid)
    pipes: dict[str, list[tuple[Penetration, Polygon]]] = {f.id: [] for f in solid.facets}
    centers = shapely.points(np.array([p.center_m for p in solid.penetrations]).reshape(-1, 2))
    circles = shapely.buffer(centers, np.array([p.diameter_m / 2.0 for p in solid.penetrations]), quad_segs=16)
    for p, circle in zip(solid.penetrations, circles, strict=True):
        pipes[p.facet].append((p, circle))
    rims, dishonest = _rims(solid, planes)
    surfaces = {f.id: Surface(f, planes.shapes[k], tuple(pipes[f.id]), tuple(rims[f.id])) for k, f in enumerate(solid.facets)}
    return RoomFacts(surfaces, _joint_lines(solid, planes), tuple(dishonest), planes.edges, planes.owner)


def _joint_lines(solid: Solid, planes: _Planes) -> tuple[JointLine, ...]:
    """Drop every joint into its two facets and find which side of the line each facet is on."""
    joints = [j for j in solid.joints if np.linalg.norm(np.subtract(j.end_m, j.start_m)) > ROOM_TOL_M]
    if not joints:
        return ()
    which = np.array([planes.number[k] for j in joints for k in j.facets], dtype=np.intp)
    lines, _ = planes.drop(which, np.repeat(np.array([[j.start_m, j.end_m] for j in joints]), 2, axis=0))
    run = lines[:, 1] - lines[:, 0]
    length = np.hypot(run[:, 0], run[:, 1])
    normal = np.stack([-run[:, 1], run[:, 0]], axis=1) / length[:, None]
    normal[~_holds(planes.shapes[which], lines.mean(axis=1), normal)] *= -1.0
    sides = [JointSide(planes.facets[k].id, lines[i], normal[i]) for i, k in enumerate(which)]
    return tuple(JointLine(j, (sides[2 * i], sides[2 * i + 1]), float(length[2 * i])) for i, j in enumerate(joints))


def _holds(shapes: Shapes, middle: Floats, normal: Floats) -> NDArray[np.bool_]:
    """Whether facets lie to the left of their joints; one that is no wider there than the first probe reaches is asked nearer by."""
    left = np.zeros(len(middle), dtype=bool)
    asked = np.arange(len(middle))
    for off_m in PROBES_M:
        probes = middle[asked] + off_m * normal[asked], middle[asked] - off_m * normal[asked]
        this, other = (shapely.contains_xy(shapes[asked], p[:, 0], p[:, 1]) for p in probes)
        left[asked] = this
        asked = asked[this == other]
    return left


def _rims(solid: Solid, planes: _Planes) -> tuple[dict[str, list[Floats]], list[tuple[Rim, str]]]:
    """The honest rims of each facet, and the others with the reason: a rim is an edge of its facet and of an opening."""
    honest: dict[str, list[Floats]] = {f.id: [] for f in solid.facets}
    wrong: list[tuple[Rim, str]] = []
    # however short: beside a mitre an edge of a hair would else be free, and take half a lap all round with it
    rims = [r for r in solid.rims if np.linalg.norm(np.subtract(r.end_m, r.start_m)) > SHORTEST_RIM_M]
    if not rims:
        return honest, wrong
    which = np.array([planes.number[k] for r in rims for k in (r.facet, r.opening)], dtype=np.intp)
    lines, off = planes.drop(which, np.repeat(np.array([[r.start_m, r.end_m] for r in rims]), 2, axis=0))
    on = contacts(lines, which, planes.edges, planes.owner, ROOM_TOL_M)
    for i, rim in enumerate(rims):
        length = float(np.hypot(*(lines[2 * i, 1] - lines[2 * i, 0])))
        facet, opening = planes.facets[which[2 * i]], planes.facets[which[2 * i + 1]]
        astray = [k for k in (2 * i, 2 * i + 1) if off[k] > 2 * ROOM_TOL_M or length - total(on[k]) > 4 * ROOM_TOL_M]
        if facet.covering_by is CoveredBy.NONE:
            wrong.append((rim, "the surface itself is not covered"))
        elif opening.covering_by is not CoveredBy.NONE:
            wrong.append((rim, f"{opening.name} is no opening"))
        elif astray:
            wrong.append((rim, f"it is no edge of {planes.facets[which[astray[0]]].name}"))
        else:
            honest[rim.facet].append(lines[2 * i])
    return honest, wrong
