"""Collars: a sleeve on a flange round everything that goes through a covered facet."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPoint, Point, Polygon, unary_union

from steamwright.buildup.catalog_model import CollarItem
from steamwright.covering.draft import Draft, Part, clip
from steamwright.covering.ground import Ground, Terrain
from steamwright.covering.model import Crowding, Role
from steamwright.covering.onward import with_spills
from steamwright.geometry.frame import Floats
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import Joint, Penetration
from steamwright.units import INCH_M, format_tape

MARGIN_M = 0.001
LARGEST_M = 0.34
SIDES = 32
BREAK_DEG = 10.0
ALONG_RATIO = 0.2
"""Joints whose directions differ by less (sine) run along one another: a flange folds over both without a cut."""


@dataclass(frozen=True, slots=True)
class _Joints:
    """The joints of a facet in its own coordinates; shape (n, 2, 2). [m]"""

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
    joints = _Joints(np.array([terrain.line(ground.facet.id, j) for j in ground.joints]).reshape(-1, 2, 2))
    for group in _groups([p for p, _ in ground.holes], lap_m):
        draft = _collar(terrain, ground, joints, group, lap_m, sleeves)
        if draft is None:
            crowded.append(Crowding(group[0].id, lap_m, _unheld(group, lap_m, sleeves)))
            continue
        drafts.append(draft)
        crowded += [c for p in group if (c := _too_near_a_corner(ground, joints, p, lap_m)) is not None]
    return drafts, crowded


def _unheld(group: list[Penetration], lap_m: float, sleeves: tuple[CollarItem, ...]) -> str:
    """Why no ready-made collar holds some penetrations, and what to change."""
    if len(group) > 1:
        return (f"no ready-made collar holds {_names(group)} together: part them by at least {format_tape(lap_m + MARGIN_M)} between "
                "their edges, so that each takes its own")
    p = group[0]
    kind = [s for s in sleeves if p.kind in s.kinds and s.sleeves == 1]
    size = [s for s in kind if s.diameter_min_m <= p.diameter_m + 1e-9 and p.diameter_m <= s.diameter_max_m + 1e-9]
    if size and p.diameter_m + 2 * (lap_m + MARGIN_M) > LARGEST_M:
        return (f"no ready-made collar holds {p.name} of {format_tape(p.diameter_m)} with a planned lap of {format_tape(lap_m)} all round: "
                f"they end at {format_tape(LARGEST_M)}; choose a smaller hole, or lower covering.allowance")
    if size:
        widest = max(s.flange_m for s in size)
        return (f"no ready-made collar holds {p.name}: the widest flange of its size is {format_tape(widest)}, the planned lap "
                f"{format_tape(lap_m)}; lower covering.lap_required or covering.allowance, or add a wider collar to the catalog")
    known = " or ".join(f"{format_tape(s.diameter_min_m)} to {format_tape(s.diameter_max_m)}" for s in kind)
    what = p.kind.replace("_", " ")
    return (f"no ready-made collar holds {p.name} of {format_tape(p.diameter_m)}: those for a {what} hold {known or 'nothing'}; "
            "choose such a size or add a collar to the catalog")


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
    """Fold a flange over what it crosses: breaks that are hardly any, and the nearest joint with those that run along it."""
    d, rel = joints.directions(), np.array(center) - joints.lines_m[:, 0]
    depth = np.abs(d[:, 0] * rel[:, 1] - d[:, 1] * rel[:, 0])
    inner = shapely.length(shapely.intersection(flange, shapely.linestrings(joints.lines_m)))
    sharp = sorted((depth[k], joint.id, k) for k, joint in enumerate(ground.joints) if inner[k] > 2e-3 and not nearly_flat(joint))
    first = sharp[0][2] if sharp else None
    own = {j.id: k for k, j in enumerate(ground.joints)}

    def folds(joint: Joint) -> bool:
        if nearly_flat(joint):
            return True
        k = own.get(joint.id)
        return first is None if k is None else first is not None and _cross(d[first], d[k]) < ALONG_RATIO

    found = with_spills(terrain, [(ground.facet.id, flange, draft.parts[0].polygon)], folds)
    draft.parts += [Part(facet, p, Motion.identity()) for facet, p in found[1:]]


def nearly_flat(joint: Joint) -> bool:
    """Tell whether a joint is a break so slight that a flange lies over it as over a plane.

    Parameters
    ----------
    joint : Joint
        Such as those between the slopes of a pan.

    Returns
    -------
    flat : bool
        True within 10° of a plane.

    References
    ----------
    common practice, no source
    """
    return abs(joint.angle_deg - 180.0) < BREAK_DEG


def _cross(d: Floats, e: Floats) -> float:
    """Sine of the angle between two directions, without its sign."""
    return abs(float(d[0] * e[1] - d[1] * e[0]))


def _too_near_a_corner(ground: Ground, joints: _Joints, p: Penetration, lap_m: float) -> Crowding | None:
    """A flange folds over one joint and those along it; near one that runs across them the pipe has to move."""
    gaps = (shapely.distance(shapely.linestrings(joints.lines_m), Point(p.center_m)) - p.diameter_m / 2).tolist()
    close = sorted((gap, j.id, k) for k, (gap, j) in enumerate(zip(gaps, ground.joints, strict=True)) if gap < lap_m and not nearly_flat(j))
    d = joints.directions()
    across = [c for c in close[1:] if _cross(d[close[0][2]], d[c[2]]) >= ALONG_RATIO]
    if not across:
        return None
    first, second = close[0], across[0]
    move = lap_m - second[0]
    mark = INCH_M / 16
    near, nearly = (format_tape(max(gap, 0.0)) for gap, *_ in (first, second))
    sentence = (f"{p.name} stands {near} and {nearly} from two joints: no collar folds over both; "
                f"move it by {format_tape(math.ceil(move / mark - 1e-9) * mark)}")
    return Crowding(p.id, move, sentence)
