"""Facts of the covering: legs of bands, reach of corner pieces, places of rims."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import LineString, Point, Polygon

from steamwright.covering.model import Piece, Role, apart
from steamwright.geometry.frame import Floats
from steamwright.room.model import Facet, FacetKind, Joint, Rim, Solid

_PAN = (FacetKind.FLOOR, FacetKind.CURB_TOP, FacetKind.CURB_FACE)
_SAME_M = 1e-4
_FAR_M = 30.0
_CORNER_M = 2e-3
_SHARES = (0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98)


def band_leg_m(piece: Piece, solid: Solid) -> float | None:
    """How far a band lies on either side of its joint, the shorter side.

    Parameters
    ----------
    piece : Piece
        A band.
    solid : Solid
        The room on the membrane face.

    Returns
    -------
    leg_m : float or None
        Half its width where it lies over a seam of one facet; ``None`` for a piece without a blank there. [m]

    References
    ----------
    own derivation
    """
    legs = [leg for joint in _joints_under(piece, solid) for leg in _legs(piece, joint, solid)]
    if legs:
        return min(legs)
    return None if piece.blank_m is None else min(piece.blank_m) / 2.0


def pan_joints(pieces: Sequence[Piece], solid: Solid) -> tuple[tuple[str, float], ...]:
    """Legs of the bands and sheets that close the joints of floor and curbs.

    Parameters
    ----------
    pieces : sequence of Piece
        All pieces.
    solid : Solid
        The room on the membrane face.

    Returns
    -------
    legs : tuple of (str, float)
        The two facets by name, and the shortest leg on their joint; infinite where whole facets are covered. [m]

    References
    ----------
    own derivation
    """
    facets = {f.id: f for f in solid.facets}
    legs: dict[str, float] = {}
    for piece in apart(pieces):
        if piece.role not in (Role.BAND, Role.SHEET):
            continue
        for joint in _joints_under(piece, solid):
            if not any(facets[f].kind in _PAN for f in joint.facets):
                continue
            found = _legs(piece, joint, solid)
            if found:
                name = " and ".join(facets[f].name for f in joint.facets)
                legs[name] = min(legs.get(name, np.inf), *found)
    return tuple(sorted(legs.items()))


def corner_reach_m(piece: Piece, solid: Solid) -> float | None:
    """How far a corner piece lies from its corner, along the edges that leave it; the shortest.

    Parameters
    ----------
    piece : Piece
        A corner piece.
    solid : Solid
        The room on the membrane face.

    Returns
    -------
    reach_m : float or None
        ``None`` where its patches have no point in common. [m]

    References
    ----------
    own derivation
    """
    rings = [solid.facet(p.facet).frame.lift(p.outline_m) for p in piece.patches]
    points = np.vstack(rings)
    gap = np.sqrt(((points[:, None] - points[None]) ** 2).sum(axis=2))
    ends = np.cumsum([0, *(len(ring) for ring in rings)])
    off = np.minimum.reduceat(gap, ends[:-1], axis=1).max(axis=1)
    k = int(np.argmin(off))
    if off[k] > _CORNER_M:
        return None
    return min(_reach_m(ring - points[k], int(np.argmin(gap[k, a:b]))) for ring, a, b in zip(rings, ends, ends[1:], strict=False))


def is_at_pan(piece: Piece, solid: Solid) -> bool:
    """Tell whether a piece lies on the floor or on a curb.

    Parameters
    ----------
    piece : Piece
        Any piece.
    solid : Solid
        The room on the membrane face.

    Returns
    -------
    at_pan : bool
        One patch is enough.

    References
    ----------
    own derivation
    """
    return any(solid.facet(p.facet).kind in _PAN for p in piece.patches)


def rim_position(rim: Rim, solid: Solid) -> str:
    """Which side of its opening a rim is on.

    Parameters
    ----------
    rim : Rim
        The rim.
    solid : Solid
        The room on the membrane face.

    Returns
    -------
    position : str
        "jamb", "head", "threshold" (under a way in) or "sill".

    References
    ----------
    own derivation
    """
    rise = abs(rim.end_m[2] - rim.start_m[2])
    run = float(np.hypot(rim.end_m[0] - rim.start_m[0], rim.end_m[1] - rim.start_m[1]))
    if rise > run:
        return "jamb"
    opening = solid.facet(rim.opening)
    tops = opening.frame.lift(opening.outline_m)[:, 2]
    if (rim.start_m[2] + rim.end_m[2]) / 2.0 > float(tops.min() + tops.max()) / 2.0:
        return "head"
    facet = solid.facet(rim.facet)
    return "threshold" if facet.kind in _PAN or (facet.kind is FacetKind.SILL and float(tops.min()) < 0.3) else "sill"


def _joints_under(piece: Piece, solid: Solid) -> list[Joint]:
    on = {p.facet for p in piece.patches}
    return [j for j in solid.joints if set(j.facets) <= on]


def _legs(piece: Piece, joint: Joint, solid: Solid) -> list[float]:
    """Least width of a piece on either facet, square to the joint, where it lies over it; the whole facet counts as endless."""
    legs = []
    for name in joint.facets:
        facet = solid.facet(name)
        (ax, ay), (bx, by) = facet.frame.drop([joint.start_m, joint.end_m])
        along = np.array([bx - ax, by - ay])
        length = float(np.linalg.norm(along))
        inward = _inward(facet, np.array([ax, ay]), along / length, length)
        found = []
        for patch in (p.polygon for p in piece.patches if p.facet == name):
            for share in _SHARES:
                foot = np.array([ax, ay]) + share * along
                leg = _ray_m(patch, foot, inward)
                if leg > _SAME_M:
                    found.append(np.inf if leg > _ray_m(facet.polygon, foot, inward) - 10 * _SAME_M else leg)
        if not found:
            return []
        legs.append(float(min(found)))
    return legs


def _inward(facet: Facet, start: Floats, along: Floats, length: float) -> Floats:
    """Direction in the facet, square to an edge, away from it."""
    across = np.array([-along[1], along[0]])
    middle = start + 0.5 * length * along
    return across if facet.polygon.covers(Point(middle + 1e-3 * across)) else -across


def _ray_m(polygon: Polygon, foot: Floats, inward: Floats) -> float:
    """How far a polygon reaches from a point of its edge, without a break."""
    ray = LineString([foot + 1e-5 * inward, foot + _FAR_M * inward]).intersection(polygon)
    first = min(getattr(ray, "geoms", [ray]), key=lambda g: g.distance(Point(foot)))
    return 0.0 if first.is_empty or first.distance(Point(foot)) > _SAME_M else float(first.length) + 1e-5


def _reach_m(from_corner: Floats, k: int) -> float:
    """How far a ring reaches along the two edges that leave its point ``k``, the shorter; seen from the corner."""
    edges = from_corner[[(k + 1) % len(from_corner), k - 1]]
    units = edges / np.sqrt((edges**2).sum(axis=1))[:, None]
    return float((from_corner @ units.T).max(axis=0).min())
