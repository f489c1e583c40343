"""Collars: a sleeve on a flange round everything that goes through a covered facet."""

from __future__ import annotations

import numpy as np
from shapely import LineString, MultiPoint, Point, Polygon, unary_union

from steamwright.buildup.catalog_model import CollarItem
from steamwright.covering.draft import Draft, Part, clip, touching
from steamwright.covering.ground import Ground, Terrain
from steamwright.covering.model import Crowding, Role
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import Penetration

MARGIN_M = 0.001
LARGEST_M = 0.34
SIDES = 32


def lay_collars(terrain: Terrain, ground: Ground, lap_m: float, sleeves: tuple[CollarItem, ...]) -> tuple[list[Draft], list[Crowding]]:
    """Collars of one facet: one each, one for several that stand close, folded over a joint that is close.

    Parameters
    ----------
    terrain : Terrain
        The room.
    ground : Ground
        The facet.
    lap_m : float
        Planned lap. [m]
    sleeves : tuple of CollarItem
        Ready-made collars.

    Returns
    -------
    drafts : list of Draft
        The collars.
    crowded : list of Crowding
        Penetrations that have to move.

    References
    ----------
    own derivation
    """
    drafts, crowded = [], []
    for group in _groups([p for p, _ in ground.holes], lap_m):
        draft = _collar(terrain, ground, group, lap_m, sleeves)
        if draft is None:
            crowded.append(Crowding(group[0].id, lap_m, f"no ready-made collar holds {_names(group)}: stated sizes are exceeded; "
                                    f"part the pipes by at least {lap_m * 1000:.0f} mm between their edges or choose smaller holes"))
            continue
        drafts.append(draft)
        crowded += [c for p in group if (c := _too_near_a_corner(terrain, ground, p, lap_m)) is not None]
    return drafts, crowded


def _names(group: list[Penetration]) -> str:
    return ", ".join(p.name for p in group)


def _groups(penetrations: list[Penetration], lap_m: float) -> list[list[Penetration]]:
    """Penetrations whose edges are nearer than a lap share a collar: two flanges there would each cut the other's lap."""
    groups: list[list[Penetration]] = []
    for p in penetrations:
        near = [g for g in groups if any(_gap(p, q) < lap_m + MARGIN_M for q in g)]
        groups = [g for g in groups if g not in near] + [[*(q for g in near for q in g), p]]
    return groups


def _gap(p: Penetration, q: Penetration) -> float:
    between = float(np.hypot(p.center_m[0] - q.center_m[0], p.center_m[1] - q.center_m[1]))
    return between - (p.diameter_m + q.diameter_m) / 2


def _outline(group: list[Penetration], lap_m: float) -> Polygon:
    """The flange: everything within the lap of the pipes' common hull."""
    if len(group) == 1:
        p = group[0]
        reach = (p.diameter_m / 2 + lap_m + MARGIN_M) / np.cos(np.pi / SIDES)
        disc: Polygon = Point(p.center_m).buffer(reach, quad_segs=SIDES // 4)
        return disc
    hull = unary_union([Point(p.center_m).buffer(p.diameter_m / 2, quad_segs=SIDES // 4) for p in group]).convex_hull
    flange: Polygon = hull.buffer((lap_m + MARGIN_M) / np.cos(np.pi / SIDES), quad_segs=SIDES // 4)
    return flange


def _collar(terrain: Terrain, ground: Ground, group: list[Penetration], lap_m: float, sleeves: tuple[CollarItem, ...]) -> Draft | None:
    flange = _outline(group, lap_m)
    x0, y0, x1, y1 = flange.bounds
    widest = max(p.diameter_m for p in group)
    slimmest = min(p.diameter_m for p in group)
    fitting = [s for s in sleeves if s.diameter_min_m <= slimmest + 1e-9 and widest <= s.diameter_max_m + 1e-9
               and len(group) <= s.sleeves and all(p.kind in s.kinds for p in group) and s.flange_m >= lap_m - 1e-9]
    if not fitting or max(x1 - x0, y1 - y0) > LARGEST_M:
        return None
    sleeve = min(fitting, key=lambda s: (s.sleeves, s.diameter_max_m - s.diameter_min_m, s.item))
    draft = Draft(Role.COLLAR, sleeve.item, sleeve.material, moulded=True)
    center = (float(np.mean([p.center_m[0] for p in group])), float(np.mean([p.center_m[1] for p in group])))
    here = clip(flange, ground.net)
    patch = max(here, key=lambda g: g.area) if len(group) > 1 else _around(here, group[0])
    draft.parts.append(Part(ground.facet.id, patch, Motion.identity()))
    _fold_over(terrain, ground, flange, center, draft)
    return draft


def _around(found: list[Polygon], p: Penetration) -> Polygon:
    """The part of a flange that surrounds its pipe."""
    ring = MultiPoint([p.center_m]).buffer(p.diameter_m / 2 + 1e-3)
    return max(found, key=lambda g: g.intersection(ring).area)


def _fold_over(terrain: Terrain, ground: Ground, flange: Polygon, center: tuple[float, float], draft: Draft) -> None:
    """Fold a flange over the nearest joint that it crosses."""
    crossed = []
    for joint in ground.joints:
        a, b = terrain.line(ground.facet.id, joint)
        inner = flange.intersection(LineString([a, b]))
        d = (b - a) / np.hypot(*(b - a))
        depth = abs(float(d[0] * (center[1] - a[1]) - d[1] * (center[0] - a[0])))
        if inner.length > 2e-3:
            crossed.append((depth, joint.id, joint))
    for _, _, joint in sorted(crossed, key=lambda c: c[:2])[:1]:
        there = terrain.far_side(joint, ground.facet.id)
        back = terrain.motion(joint, there, ground.facet.id).inverse()
        a, b = terrain.line(ground.facet.id, joint)
        ends = back.points([a, b])
        found = touching(clip(back.polygon(flange), terrain.grounds[there].net), ends[0], ends[1])
        draft.parts += [Part(there, p, Motion.identity()) for p in found]


def _too_near_a_corner(terrain: Terrain, ground: Ground, p: Penetration, lap_m: float) -> Crowding | None:
    """A flange folds over one joint; near a second one the pipe has to move."""
    gaps = []
    for joint in ground.joints:
        line = terrain.line(ground.facet.id, joint)
        gap = LineString(line).distance(Point(p.center_m)) - p.diameter_m / 2
        gaps.append((float(gap), joint))
    close = sorted((g for g in gaps if g[0] < lap_m), key=lambda g: (g[0], g[1].id))
    if len(close) < 2 or not _corner_between(terrain, ground, close[0][1].id, close[1][1].id):
        return None
    move = lap_m - close[1][0]
    sentence = (f"{p.name} stands {close[0][0] * 1000:.0f} mm and {close[1][0] * 1000:.0f} mm from two joints: no collar folds over "
                f"both; move it by {move * 1000:.0f} mm")
    return Crowding(p.id, move, sentence)


def _corner_between(terrain: Terrain, ground: Ground, first: str, second: str) -> bool:
    """True where two joints of a facet are not one straight line."""
    a, b = (terrain.line(ground.facet.id, terrain.joints[j]) for j in (first, second))
    da, db = (b_ - a_ for a_, b_ in (a, b))
    return bool(abs(da[0] * db[1] - da[1] * db[0]) > 1e-6 * np.hypot(*da) * np.hypot(*db))


