"""Corners: where three facets or more meet, one piece reaches from the point over every joint.

A moulded piece serves within its stated angles. Elsewhere a round blank is folded over the joints without a cut: on a
corner whose facets' angles sum to less than a full turn the excess is taken up by a pleat, folded back on the last
facet. A point with more than a full turn (a saddle) cannot be covered by any flat blank without stretching it, since a
flat disc has only one full turn to give: there a formed, elastic piece is used, within its stated angles.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point, Polygon, unary_union

from steamwright.buildup.catalog_model import CornerPieceItem
from steamwright.covering.draft import Draft, Part, clip, nearest
from steamwright.covering.fans import Corner, Sector
from steamwright.covering.ground import Terrain
from steamwright.covering.model import Role
from steamwright.covering.onward import SLIT_M, spills_apart, with_spills
from steamwright.geometry.frame import Floats, Point2
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import CoveredBy, Joint

ARC_STEP_RAD = np.radians(10.0)
FULL_TURN_RAD = 2.0 * np.pi
FLAT_RAD = 1e-9
SHARPEST_RAD = np.radians(30.0)
MARGIN_M = 0.006
LARGEST_M = 0.34
"""How large ready-made pieces are made, along the room's axes; common practice, no source."""


@dataclass(frozen=True, slots=True)
class CornerRules:
    """Lap and stock of the corner pieces; ``widest_m`` is the roll that folded ones are cut from."""

    lap_m: float
    reach_m: float
    widest_m: float
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
        Single corners, and those that one piece has to cover together; a row longer than ready-made pieces are is parted.

    References
    ----------
    own derivation
    """
    points = np.array([c.point_m for c in corners]).reshape(-1, 3)
    close = np.linalg.norm(points[:, None] - points, axis=2) < lap_m + MARGIN_M
    groups: list[list[int]] = []
    for k, row in enumerate(close):
        beside = set(np.flatnonzero(row[:k]).tolist())
        near = [g for g in groups if not beside.isdisjoint(g)] if beside else []
        groups = [g for g in groups if g not in near] + [[*(i for g in near for i in g), k]]
    most = LARGEST_M - 2 * (square_reach_m(lap_m) + MARGIN_M)
    return [tuple(corners[i] for i in part) for g in groups for part in _handy(points, g, most)]


def _handy(points_m: Floats, group: list[int], most_m: float) -> list[list[int]]:
    """A group in parts that one ready-made piece each can cover, along the room's axis in which it is longest."""
    spans = np.ptp(points_m[group], axis=0)
    if spans.max() <= most_m:
        return [group]
    axis = int(spans.argmax())
    order = sorted(group, key=lambda k: (round(float(points_m[k, axis]), 6), k))
    middle = float(points_m[order[0], axis] + points_m[order[-1], axis]) / 2
    halves = [k for k in order if points_m[k, axis] <= middle], [k for k in order if points_m[k, axis] > middle]
    return [part for half in halves for part in _handy(points_m, half, most_m)]


@dataclass(frozen=True, slots=True)
class _Choice:
    """What closes a corner: a ready-made piece, or a blank folded over its joints, and how far it reaches."""

    corner: Corner
    reach_m: float
    ready: CornerPieceItem | None


def lay_corners(terrain: Terrain, groups: list[tuple[Corner, ...]], rules: CornerRules) -> list[list[Draft]]:
    """The pieces over the corners of a room.

    It is chosen first what closes each corner, so that what all pieces cover is cut out of the facets at once.

    Parameters
    ----------
    terrain : Terrain
        The room.
    groups : list of tuple of Corner
        From `clusters`.
    rules : CornerRules
        Lap, reach, stock and ready-made pieces.

    Returns
    -------
    drafts : list of list of Draft
        For each group: a piece for a corner, or the one formed piece over several that lie within a lap. Empty where bands
        alone close the corner, or where nothing in the catalog fits.

    References
    ----------
    own derivation
    """
    single = [g if len({c.point_m for c in g}) == 1 else () for g in groups]
    choices = [[x for c in g if (x := _choice(terrain, c, rules)) is not None] for g in single]
    patches = iter(_patches(terrain, [(s, s.angle_rad, x.reach_m) for row in choices for x in row for s in x.corner.sectors]))
    out: list[list[Draft]] = []
    for group, alone, row in zip(groups, single, choices, strict=True):
        laid = [_laid(terrain, x, rules, list(islice(patches, len(x.corner.sectors)))) for x in row]
        out.append([d for d in laid if d is not None] if alone else _formed(terrain, group, rules))
    return out


def _formed(terrain: Terrain, group: tuple[Corner, ...], rules: CornerRules) -> list[Draft]:
    """One formed piece over several corners that lie within a lap."""
    formed = [m for m in rules.moulded if m.kind == "any"]
    span = float(np.ptp([c.point_m for c in group], axis=0).max())
    wanted = max(max(reach_needed_m(c, rules.lap_m) for c in group), rules.reach_m)
    reach = max(min(wanted, (LARGEST_M - span) / 2), rules.lap_m)
    if not formed or all(terrain.grounds[s.facet].facet.covering_by is CoveredBy.OTHER for c in group for s in c.sectors):
        return []
    draft = Draft(Role.CORNER_PIECE, formed[0].item, formed[0].material, moulded=True)
    apexes: dict[str, list[tuple[float, float]]] = {}
    for s in (s for c in group for s in c.sectors):
        apexes.setdefault(s.facet, []).append(s.apex_m)
    lying = []
    for facet, centers in apexes.items():
        discs = unary_union([Point(c).buffer(r, quad_segs=9) for c, r in _reached(terrain, facet, group, reach)])
        found = clip(discs, terrain.grounds[facet].net)
        lying += [(facet, discs, p) for p in found if any(p.distance(Point(c)) < 1e-5 for c in centers)]
    draft.parts += [Part(facet, p, Motion.identity()) for facet, p in with_spills(terrain, lying, _near(group, rules.lap_m))]
    return [draft]


def _reached(terrain: Terrain, facet: str, group: tuple[Corner, ...], reach_m: float) -> list[tuple[Point2, float]]:
    """What lies within reach of corners in the plane of a facet: of those that stand off it, too, so that both sides of a joint agree."""
    frame = terrain.grounds[facet].facet.frame
    points = np.array([c.point_m for c in group])
    flat = frame.drop(points)
    off = np.linalg.norm(frame.lift(flat) - points, axis=1)
    return [((s, t), float(np.sqrt(reach_m**2 - d**2))) for (s, t), d in zip(flat.tolist(), off.tolist(), strict=True) if d < reach_m]


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
    # in a sharper facet what lies along one ray runs on over the other
    sharpest = max(min(min(s.angle_rad, np.pi / 2) for s in corner.sectors), SHARPEST_RAD)
    return float(lap_m / 2 * (1.0 + 1.0 / np.sin(sharpest / 2)) + MARGIN_M)


def square_reach_m(lap_m: float) -> float:
    """How far a piece reaches over a corner of right angles, without a margin.

    Parameters
    ----------
    lap_m : float
        Planned lap. [m]

    Returns
    -------
    reach_m : float
        As `reach_needed_m`. [m]

    References
    ----------
    own derivation
    """
    return lap_m / 2 * (1.0 + float(np.sqrt(2.0)))


def _choice(terrain: Terrain, corner: Corner, rules: CornerRules) -> _Choice | None:
    """What closes a corner; ``None`` where no joint of it is ours, a band alone closes it or nothing in the catalog fits."""
    if all(terrain.grounds[s.facet].facet.covering_by is CoveredBy.OTHER for s in corner.sectors):
        return None
    if not corner.closed and len(corner.sectors) < 3:
        return None
    reach = reach_needed_m(corner, rules.lap_m)
    ready = _ready_made(terrain, corner, rules, reach)
    if ready is not None:
        return _Choice(corner, min(max(reach, ready.reach_m), 0.17), ready)
    saddle = corner.total_rad > FULL_TURN_RAD + FLAT_RAD
    # at a very sharp corner it would reach farther than a roll is wide: there the proof tells what stays bare
    return None if saddle else _Choice(corner, min(max(reach, rules.reach_m), rules.widest_m / 2), None)


def _laid(terrain: Terrain, choice: _Choice, rules: CornerRules, patches: list[Polygon | None]) -> Draft | None:
    """The piece as it lies on its blank, or moulded without one."""
    if choice.ready is None:
        return _folded(terrain, choice, rules, patches)
    draft = Draft(Role.CORNER_PIECE, choice.ready.item, choice.ready.material, moulded=True)
    wedges = _wedges([(s, s.angle_rad, choice.reach_m) for s in choice.corner.sectors])
    lying = [(s.facet, w, p) for s, w, p in zip(choice.corner.sectors, wedges, patches, strict=True) if p is not None]
    draft.parts += [Part(facet, p, Motion.identity()) for facet, p in with_spills(terrain, lying, _near((choice.corner,), rules.lap_m))]
    return draft


def _near(corners: Sequence[Corner], lap_m: float) -> Callable[[Joint], bool]:
    """Tells which further joints lie so near to corners that their pieces have to run on over them."""
    points = [np.array(c.point_m) for c in corners]

    def near(joint: Joint) -> bool:
        start, run = np.array(joint.start_m), np.subtract(joint.end_m, joint.start_m)
        feet = [start + np.clip((p - start) @ run / (run @ run), 0.0, 1.0) * run for p in points]
        return any(np.linalg.norm(p - foot) < square_reach_m(lap_m) for p, foot in zip(points, feet, strict=True))
    return near


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


def _patches(terrain: Terrain, wanted: Sequence[tuple[Sector, float, float]]) -> list[Polygon | None]:
    """The parts of facets within reach of corners, from their first rays over angles, without holes for pipes."""
    if not wanted:
        return []
    grounds = [terrain.grounds[s.facet] for s, *_ in wanted]
    wedges = _wedges(wanted)
    fits = shapely.contains(np.array([g.snug for g in grounds], dtype=object), wedges)
    return [wedge if fit else nearest(clip(wedge, g.net), s.apex_m)
            for (s, *_), g, wedge, fit in zip(wanted, grounds, wedges, fits, strict=True)]


def _wedges(wanted: Sequence[tuple[Sector, float, float]]) -> NDArray[np.object_]:
    """Wedges with their points at corners, of angles and radii."""
    x, y, start, angle, reach = np.array([(*s.apex_m, s.start_rad, angle, reach) for s, angle, reach in wanted]).T
    steps = np.maximum(1, np.ceil(angle / ARC_STEP_RAD).astype(int))
    of = np.repeat(np.arange(len(wanted)), steps + 2)
    k = np.concatenate([np.arange(-1, count + 1) for count in steps.tolist()])
    turn = start[of] + np.where(k == steps[of], angle[of], k * (angle / steps)[of])
    out = np.where(k < 0, 0.0, reach[of])  # the first corner of each is its point
    rings = shapely.linearrings(np.stack([x[of] + out * np.cos(turn), y[of] + out * np.sin(turn)], axis=1), indices=of)
    wedges: NDArray[np.object_] = shapely.polygons(rings)
    return wedges


def _folded(terrain: Terrain, choice: _Choice, rules: CornerRules, patches: list[Polygon | None]) -> Draft | None:
    """A round blank folded over the joints; a closed corner's excess becomes a pleat on its widest facet."""
    sectors = list(choice.corner.sectors)
    if choice.corner.closed:
        widest = max(range(len(sectors)), key=lambda k: (round(sectors[k].angle_rad, 6), -k))
        sectors, patches = sectors[widest:] + sectors[:widest], patches[widest:] + patches[:widest]
    draft = Draft(Role.CORNER_PIECE, rules.item, rules.material)
    at = 0.0
    seen, near = frozenset(s.facet for s in sectors), _near((choice.corner,), rules.lap_m)
    wedges = shapely.buffer(_wedges([(s, s.angle_rad, choice.reach_m) for s in sectors]), -SLIT_M, join_style="mitre")
    beyond = []
    for s, patch, wedge in zip(sectors, patches, wedges, strict=True):
        if patch is None:
            return None
        draft.parts.append(Part(s.facet, patch, _to_blank(s, at)))
        beyond += [Part(f, p, m.then(_to_blank(s, at))) for f, p, m in spills_apart(terrain, s.facet, wedge, patch, seen, near)]
        at += s.angle_rad
    draft.parts += beyond
    excess = FULL_TURN_RAD - at
    if choice.corner.closed and excess > FLAT_RAD:
        _pleat(terrain, sectors[0], at, excess, choice.reach_m, draft)
    return draft


def _to_blank(sector: Sector, at_rad: float) -> Motion:
    """Carry a facet so that the corner lies at the origin and its first ray at an angle on the blank."""
    home = Motion.translation((-sector.apex_m[0], -sector.apex_m[1]))
    return home.then(Motion.rotation(at_rad - sector.start_rad))


def _pleat(terrain: Terrain, sector: Sector, at_rad: float, excess_rad: float, reach: float, draft: Draft) -> None:
    """Fold the excess to and fro over the first facet until it ends at the joint where it began."""
    folds = 2 * int(np.ceil(excess_rad / 2 / sector.angle_rad - 1e-9))
    width = excess_rad / folds
    patch, = _patches(terrain, [(sector, width, reach)])
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
