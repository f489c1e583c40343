"""Corners: where three facets or more meet, one piece reaches from the point over every joint.

A moulded piece serves within its stated angles. Elsewhere a round blank is folded over the joints without a cut: on a
corner whose facets' angles sum to less than a full turn the excess is taken up by a pleat, folded back on the last
facet. A point with more than a full turn (a saddle) cannot be covered by any flat blank without stretching it, since a
flat disc has only one full turn to give: there a formed, elastic piece is used, within its stated angles.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Point, Polygon, unary_union

from steamwright.buildup.catalog_model import CornerPieceItem
from steamwright.covering.draft import Draft, Part, clip, nearest
from steamwright.covering.fans import Corner, Sector
from steamwright.covering.ground import Terrain
from steamwright.covering.model import Role
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import CoveredBy

ARC_STEP_RAD = np.radians(10.0)
FULL_TURN_RAD = 2.0 * np.pi
FLAT_RAD = 1e-9
MARGIN_M = 0.006


@dataclass(frozen=True, slots=True)
class CornerRules:
    """Lap and stock of the corner pieces."""

    lap_m: float
    reach_m: float
    item: str
    material: str
    moulded: tuple[CornerPieceItem, ...]


def clusters(corners: list[Corner], lap_m: float) -> list[tuple[Corner, ...]]:
    """Corners nearer to each other than a lap go together: what closes one would end within the lap of the other.

    Parameters
    ----------
    corners : list of Corner
        All corners of a room.
    lap_m : float
        Planned lap. [m]

    Returns
    -------
    groups : list of tuple of Corner
        Single corners, and those that one piece has to cover together.

    References
    ----------
    own derivation
    """
    points = np.array([c.point_m for c in corners]).reshape(-1, 3)
    close = (np.linalg.norm(points[:, None] - points, axis=2) < lap_m + MARGIN_M).tolist()
    groups: list[list[int]] = []
    for k, row in enumerate(close):
        near = [g for g in groups if any(row[i] for i in g)]
        groups = [g for g in groups if g not in near] + [[*(i for g in near for i in g), k]]
    return [tuple(corners[i] for i in g) for g in groups]


def lay_corners(terrain: Terrain, group: tuple[Corner, ...], rules: CornerRules) -> list[Draft]:
    """The pieces over one corner, or the one formed piece over several that lie within a lap.

    Parameters
    ----------
    terrain : Terrain
        The room.
    group : tuple of Corner
        From `clusters`.
    rules : CornerRules
        Lap, reach, stock and ready-made pieces.

    Returns
    -------
    drafts : list of Draft
        Empty where bands alone close the corner, or where nothing in the catalog fits.

    References
    ----------
    own derivation
    """
    points = {c.point_m for c in group}
    if len(points) == 1:
        return [d for c in group if (d := lay_corner(terrain, c, rules)) is not None]
    formed = [m for m in rules.moulded if m.kind == "any"]
    reach = max(max(reach_needed_m(c, rules.lap_m) for c in group), rules.reach_m)
    if not formed or all(terrain.grounds[s.facet].facet.covering_by is CoveredBy.OTHER for c in group for s in c.sectors):
        return []
    draft = Draft(Role.CORNER_PIECE, formed[0].item, formed[0].material, moulded=True)
    apexes: dict[str, list[tuple[float, float]]] = {}
    for s in (s for c in group for s in c.sectors):
        apexes.setdefault(s.facet, []).append(s.apex_m)
    for facet, centers in apexes.items():
        discs = unary_union([Point(c).buffer(reach, quad_segs=9) for c in centers])
        found = clip(discs, terrain.grounds[facet].net)
        draft.parts += [Part(facet, p, Motion.identity()) for p in found if any(p.distance(Point(c)) < 1e-5 for c in centers)]
    return [draft]


def reach_needed_m(corner: Corner, lap_m: float) -> float:
    """How far a corner piece has to reach so that bands and sheets, all drawn back by half a lap, leave nothing bare.

    In a facet of angle φ the strips along its two rays leave a bare point at lap/2 / sin(φ/2) from the corner (φ at most
    90°); the corner piece, drawn back by lap/2 as well, has to reach past it.

    Parameters
    ----------
    corner : Corner
        The corner.
    lap_m : float
        Planned lap. [m]

    Returns
    -------
    reach_m : float
        Radius from the point, margin included. [m]

    References
    ----------
    own derivation
    """
    sharpest = min(min(s.angle_rad, np.pi / 2) for s in corner.sectors)
    return float(lap_m / 2 * (1.0 + 1.0 / np.sin(sharpest / 2)) + MARGIN_M)


def lay_corner(terrain: Terrain, corner: Corner, rules: CornerRules) -> Draft | None:
    """One piece over a corner; ``None`` where no joint of it is ours or a band alone closes it.

    Parameters
    ----------
    terrain : Terrain
        The room.
    corner : Corner
        The point and its facets in turn.
    rules : CornerRules
        Lap, reach, stock and ready-made pieces.

    Returns
    -------
    draft : Draft or None
        The piece as it lies on its blank, or moulded without one.

    References
    ----------
    own derivation
    """
    if all(terrain.grounds[s.facet].facet.covering_by is CoveredBy.OTHER for s in corner.sectors):
        return None
    if not corner.closed and len(corner.sectors) < 3:
        return None
    reach = reach_needed_m(corner, rules.lap_m)
    ready = _ready_made(terrain, corner, rules, reach)
    saddle = corner.total_rad > FULL_TURN_RAD + FLAT_RAD
    if ready is not None:
        return _moulded(terrain, corner, ready, min(max(reach, ready.reach_m), 0.17))
    if saddle:
        return None
    return _folded(terrain, corner, rules, max(reach, rules.reach_m))


def shape_of(angles_deg: tuple[float, ...]) -> str:
    """Name the type of a corner of three joints.

    Parameters
    ----------
    angles_deg : tuple of float
        Angles of the joints through the air. [deg]

    Returns
    -------
    shape : str
        "inside", "outside" or "saddle".

    References
    ----------
    own derivation
    """
    outside = sum(a > 180.0 for a in angles_deg)
    return "inside" if outside == 0 else "outside" if outside == len(angles_deg) else "saddle"


def _ready_made(terrain: Terrain, corner: Corner, rules: CornerRules, reach: float) -> CornerPieceItem | None:
    """The ready-made piece within whose stated angles the corner lies, square ones first."""
    joints = [terrain.joints[str(s.along_end)] for s in corner.sectors if s.along_end in terrain.joints]
    angles = tuple(j.angle_deg for j in joints)
    bends = tuple(min(a, 360.0 - a) for a in angles)
    square = corner.closed and len(angles) == 3
    for m in rules.moulded:
        fits = all(m.angle_min_deg <= b <= m.angle_max_deg for b in bends)
        if m.kind == "any":
            if corner.total_rad > FULL_TURN_RAD + FLAT_RAD and fits:
                return m
        elif square and fits and shape_of(angles) == m.kind and reach <= m.reach_m + MARGIN_M:
            return m
    return None


def _moulded(terrain: Terrain, corner: Corner, ready: CornerPieceItem, reach: float) -> Draft:
    draft = Draft(Role.CORNER_PIECE, ready.item, ready.material, moulded=True)
    for s in corner.sectors:
        patch = _patch(terrain, s, s.angle_rad, reach)
        if patch is not None:
            draft.parts.append(Part(s.facet, patch, Motion.identity()))
    return draft


def _patch(terrain: Terrain, sector: Sector, angle_rad: float, reach: float) -> Polygon | None:
    """The part of a facet within reach of a corner, from its first ray over an angle, without holes for pipes."""
    wedge = _wedge(sector.apex_m, sector.start_rad, angle_rad, reach)
    if terrain.grounds[sector.facet].holds(wedge):
        return wedge
    return nearest(clip(wedge, terrain.grounds[sector.facet].net), sector.apex_m)


def _wedge(apex: tuple[float, float], start_rad: float, angle_rad: float, reach: float) -> Polygon:
    steps = max(1, math.ceil(angle_rad / ARC_STEP_RAD))
    a = start_rad + np.arange(steps + 1) * (angle_rad / steps)
    a[-1] = start_rad + angle_rad
    ring = np.empty((steps + 2, 2))
    ring[0] = apex
    ring[1:, 0], ring[1:, 1] = apex[0] + reach * np.cos(a), apex[1] + reach * np.sin(a)
    wedge: Polygon = shapely.polygons(ring)
    return wedge


def _folded(terrain: Terrain, corner: Corner, rules: CornerRules, reach: float) -> Draft | None:
    """A round blank folded over the joints; a closed corner's excess becomes a pleat on its widest facet."""
    sectors = list(corner.sectors)
    if corner.closed:
        widest = max(range(len(sectors)), key=lambda k: (round(sectors[k].angle_rad, 6), -k))
        sectors = sectors[widest:] + sectors[:widest]
    draft = Draft(Role.CORNER_PIECE, rules.item, rules.material)
    at = 0.0
    for s in sectors:
        patch = _patch(terrain, s, s.angle_rad, reach)
        if patch is None:
            return None
        draft.parts.append(Part(s.facet, patch, _to_blank(s, at)))
        at += s.angle_rad
    excess = FULL_TURN_RAD - at
    if corner.closed and excess > FLAT_RAD:
        _pleat(terrain, sectors[0], at, excess, reach, draft)
    return draft


def _to_blank(sector: Sector, at_rad: float) -> Motion:
    """Carry a facet so that the corner lies at the origin and its first ray at an angle on the blank."""
    home = Motion.translation((-sector.apex_m[0], -sector.apex_m[1]))
    return home.then(Motion.rotation(at_rad - sector.start_rad))


def _pleat(terrain: Terrain, sector: Sector, at_rad: float, excess_rad: float, reach: float, draft: Draft) -> None:
    """Fold the excess to and fro over the first facet until it ends at the joint where it began."""
    folds = 2 * int(np.ceil(excess_rad / 2 / sector.angle_rad - 1e-9))
    width = excess_rad / folds
    patch = _patch(terrain, sector, width, reach)
    if patch is None:
        return
    for k in range(folds):
        if k % 2 == 0:
            motion = _to_blank(sector, at_rad + k * width)
        else:
            middle = sector.start_rad + width
            crease = Motion.mirror(sector.apex_m, (np.cos(middle), np.sin(middle)))
            motion = crease.then(_to_blank(sector, at_rad + (k - 1) * width))
        draft.parts.append(Part(sector.facet, patch, motion))
