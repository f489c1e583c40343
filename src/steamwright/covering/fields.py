"""Fields: facets developed into one plane, over which strips of sheet run on without a joint to close."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import shapely
from shapely import LineString, Polygon

from steamwright.covering.draft import Base
from steamwright.covering.ground import NEAR_M, Terrain
from steamwright.geometry.outline import corners_of
from steamwright.geometry.unfolding import Motion

APART_M = 5e-4
TOUCH_M2 = 5e-6
STEEP_RATIO = 0.2


@dataclass(frozen=True, slots=True)
class Field:
    """Facets with their motions onto the field's plane, and the joints that are folds inside it."""

    parts: tuple[tuple[str, Motion], ...]
    inner: frozenset[str]

    @property
    def facets(self) -> tuple[str, ...]:
        """Ids of the facets, the first one lying as it is."""
        return tuple(f for f, _ in self.parts)


def develop(terrain: Terrain, root: str, joints: Iterable[str]) -> Field | None:
    """Unfold facets about joints, one after the other, into the plane of the first.

    Parameters
    ----------
    terrain : Terrain
        The room.
    root : str
        The facet that stays.
    joints : iterable of str
        Joints to unfold about; together with their facets they have to be a tree.

    Returns
    -------
    field : Field or None
        ``None`` where the facets would overlap, or touch along a line that is no fold of the field.

    References
    ----------
    own derivation
    """
    wanted = sorted(joints)
    motions: dict[str, Motion] = {root: Motion.identity()}
    left = list(wanted)
    while left:
        for joint_id in left:
            joint = terrain.joints[joint_id]
            here = [f for f in joint.facets if f in motions]
            if len(here) == 2:
                return None
            if here:
                there = terrain.far_side(joint, here[0])
                motions[there] = terrain.motion(joint, there, here[0]).then(motions[here[0]])
                left.remove(joint_id)
                break
        else:
            return None
    field = Field(tuple(motions.items()), frozenset(wanted))
    return field if _lies_flat(terrain, field) else None


def _lies_flat(terrain: Terrain, field: Field) -> bool:
    """True where images neither overlap nor run along each other except at the folds."""
    folds = {frozenset(terrain.joints[j].facets): j for j in field.inner}
    motions = dict(field.parts)
    images = [(f, m.polygon(terrain.grounds[f].polygon)) for f, m in field.parts]
    for k, (f, a) in enumerate(images):
        for g, b in images[k + 1:]:
            if not _boxes_meet(a, b) or not shapely.dwithin(a, b, APART_M):
                continue
            fold = folds.get(frozenset((f, g)))
            line = motions[f].points(terrain.line(f, terrain.joints[fold])) if fold is not None else None
            if line is not None and _beside(a, Base.of(line)) and _beside(b, Base.of(line[::-1])):
                continue
            meeting = a.buffer(APART_M).intersection(b)
            if line is not None:
                meeting = meeting.difference(LineString(line).buffer(3 * APART_M))
            if meeting.area > TOUCH_M2:
                return False
    return True


def _beside(image: Polygon, fold: Base) -> bool:
    """True where a facet meets the line of a fold at its ends alone and leaves it there steeply: all of it lies on the left."""
    for x, y in corners_of(image):
        along, left = fold.along_m(x, y), fold.left_m(x, y)
        off = min(math.hypot(along, left), math.hypot(along - fold.length_m, left))
        if off > NEAR_M and left < max(STEEP_RATIO * off, 2 * APART_M):
            return False
    return True


def _boxes_meet(a: Polygon, b: Polygon) -> bool:
    ax0, ay0, ax1, ay1 = a.bounds
    bx0, by0, bx1, by1 = b.bounds
    return bool(ax0 < bx1 + APART_M and bx0 < ax1 + APART_M and ay0 < by1 + APART_M and by0 < ay1 + APART_M)
