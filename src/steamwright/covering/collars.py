"""Collars: a sleeve on a flange round everything that goes through a covered facet."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPoint, Point, Polygon, unary_union

from steamwright.buildup.catalog_model import CollarItem
from steamwright.covering.draft import Draft, Part, clip, touching
from steamwright.covering.ground import Ground, Terrain
from steamwright.covering.model import Crowding, Role
from steamwright.geometry.frame import Floats
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import Penetration
from steamwright.units import INCH_M, format_tape

MARGIN_M = 0.001
LARGEST_M = 0.34
SIDES = 32


@dataclass(frozen=True, slots=True)
class _Joints:
    """The joints of a facet in its own coordinates; shape (n, 2, 2). [m]"""

    ids: list[str]
    lines_m: Floats

    def directions(self) -> Floats:
        """Unit directions; shape (n, 2)."""
        run = self.lines_m[:, 1] - self.lines_m[:, 0]
        directions: Floats = run / np.hypot(run[:, 0], run[:, 1])[:, None]
        return directions


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
    joints = _Joints([j.id for j in ground.joints], np.array([terrain.line(ground.facet.id, j) for j in ground.joints]).reshape(-1, 2, 2))
    for group in _groups([p for p, _ in ground.holes], lap_m):
        draft = _collar(terrain, ground, joints, group, lap_m, sleeves)
        if draft is None:
            crowded.append(Crowding(group[0].id, lap_m, f"no ready-made collar holds {_names(group)}: stated sizes are exceeded; "
                                    f"part the pipes by at least {format_tape(lap_m)} between their edges or choose smaller holes"))
            continue
        drafts.append(draft)
        crowded += [c for p in group if (c := _too_near_a_corner(joints, p, lap_m)) is not None]
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


def _collar(terrain: Terrain, ground: Ground, joints: _Joints, group: list[Penetration], lap_m: float,
            sleeves: tuple[CollarItem, ...]) -> Draft | None:
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
    _fold_over(terrain, ground, joints, flange, center, draft)
    return draft


def _around(found: list[Polygon], p: Penetration) -> Polygon:
    """The part of a flange that surrounds its pipe."""
    if len(found) == 1:
        return found[0]
    ring = MultiPoint([p.center_m]).buffer(p.diameter_m / 2 + 1e-3)
    return max(found, key=lambda g: g.intersection(ring).area)


def _fold_over(terrain: Terrain, ground: Ground, joints: _Joints, flange: Polygon, center: tuple[float, float], draft: Draft) -> None:
    """Fold a flange over the nearest joint that it crosses."""
    inner = shapely.length(shapely.intersection(flange, shapely.linestrings(joints.lines_m)))
    d, rel = joints.directions(), np.array(center) - joints.lines_m[:, 0]
    depth = np.abs(d[:, 0] * rel[:, 1] - d[:, 1] * rel[:, 0])
    crossed = [(depth[k], joint.id, joint) for k, joint in enumerate(ground.joints) if inner[k] > 2e-3]
    for _, _, joint in sorted(crossed, key=lambda c: c[:2])[:1]:
        there = terrain.far_side(joint, ground.facet.id)
        back = terrain.motion(joint, there, ground.facet.id).inverse()
        a, b = terrain.line(ground.facet.id, joint)
        ends = back.points([a, b])
        found = touching(clip(back.polygon(flange), terrain.grounds[there].net), ends[0], ends[1])
        draft.parts += [Part(there, p, Motion.identity()) for p in found]


def _too_near_a_corner(joints: _Joints, p: Penetration, lap_m: float) -> Crowding | None:
    """A flange folds over one joint; near a second one the pipe has to move."""
    gaps = (shapely.distance(shapely.linestrings(joints.lines_m), Point(p.center_m)) - p.diameter_m / 2).tolist()
    close = sorted((gap, name, k) for k, (gap, name) in enumerate(zip(gaps, joints.ids, strict=True)) if gap < lap_m)
    if len(close) < 2:
        return None
    first, second = close[:2]
    (a, b), (c, d) = joints.directions()[[first[2], second[2]]]
    if abs(a * d - b * c) <= 1e-6:  # one straight line
        return None
    move = lap_m - second[0]
    mark = INCH_M / 16
    near, nearly = (format_tape(max(gap, 0.0)) for gap, *_ in (first, second))
    sentence = (f"{p.name} stands {near} and {nearly} from two joints: no collar folds over both; "
                f"move it by {format_tape(math.ceil(move / mark - 1e-9) * mark)}")
    return Crowding(p.id, move, sentence)
