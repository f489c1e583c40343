"""Facts of the covering: legs of bands, reach of corner pieces, places of rims."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steamwright.covering.model import Piece, Role
from steamwright.geometry.frame import Floats
from steamwright.room.model import FacetKind, Joint, Rim, Solid

_PAN = (FacetKind.FLOOR, FacetKind.CURB_TOP, FacetKind.CURB_FACE)
_SAME_M = 1e-4


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
        Joint id and the shortest leg on it. [m]

    References
    ----------
    own derivation
    """
    kinds = {f.id: f.kind for f in solid.facets}
    legs: dict[str, float] = {}
    for piece in pieces:
        if piece.role not in (Role.BAND, Role.SHEET):
            continue
        for joint in _joints_under(piece, solid):
            found = _legs(piece, joint, solid)
            if found and any(kinds[f] in _PAN for f in joint.facets):
                legs[joint.id] = min(legs.get(joint.id, np.inf), *found)
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
    lifted = [(p, solid.facet(p.facet).frame.lift(p.outline_m)) for p in piece.patches]
    first = lifted[0][1]
    shared = [c for c in first if all(np.min(np.linalg.norm(ring - c, axis=1)) < _SAME_M for _, ring in lifted)]
    if not shared:
        return None
    return min(min(_reaches(ring, shared[0])) for _, ring in lifted)


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
    """Farthest distance of each facet's patches from the joint's line, where they touch it."""
    start = np.asarray(joint.start_m)
    along = np.asarray(joint.end_m) - start
    length = float(np.linalg.norm(along))
    legs = []
    for facet in joint.facets:
        rings = [solid.facet(facet).frame.lift(p.outline_m) for p in piece.patches if p.facet == facet]
        offs = np.concatenate([_off(ring, start, along / length, length) for ring in rings])
        if not len(offs) or offs.min() > _SAME_M:
            return []
        legs.append(float(offs.max()))
    return legs


def _off(ring: Floats, start: Floats, along: Floats, length: float) -> Floats:
    """Distances from a line, of the points that lie beside its stretch."""
    d = ring - start
    at = d @ along
    beside = (at > -_SAME_M) & (at < length + _SAME_M)
    return np.asarray(np.linalg.norm(d - at[:, None] * along, axis=1)[beside])


def _reaches(ring: Floats, corner: Floats) -> list[float]:
    k = int(np.argmin(np.linalg.norm(ring - corner, axis=1)))
    out = []
    for step in (1, -1):
        edge = ring[(k + step) % len(ring)] - corner
        unit = edge / np.linalg.norm(edge)
        out.append(float(((ring - corner) @ unit).max()))
    return out
