"""A piece that was cut for a room as it was measured then, laid in the room as it is known now.

The blank is what it is; where the room is a little larger or smaller the folds run elsewhere on it. The largest patch
stays where it lies on its facet, every neighbour is unfolded about the joint as it is now.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString, Polygon, box, unary_union
from shapely.geometry.base import BaseGeometry

from steamwright.covering.draft import Part, clip, polygons, quad, without
from steamwright.covering.ground import Terrain
from steamwright.covering.legs import FOLD_GAP_M
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import Joint

MOVED_M = 0.05
"""A fold that runs elsewhere by more than this is another room."""
HAIR_M = 1e-5
THIN_M = 1e-4
"""What is thinner than twice this is an overlay's splinter and no material."""
MEETS_M2 = 4e-9
SAME_M2 = 1e-6


def refitted(terrain: Terrain, parts: Sequence[Part], blank_m: tuple[float, float]) -> list[Part]:
    """Lay a piece that is cut already in the room as it is.

    Parameters
    ----------
    terrain : Terrain
        The room.
    parts : sequence of Part
        The piece's patches as they were planned.
    blank_m : tuple of float
        Length and width of its blank. [m]

    Returns
    -------
    parts : list of Part
        The given ones where the room has not changed under them.

    References
    ----------
    own derivation
    """
    motions = _unfolded(terrain, parts)
    body = unary_union([p.image.buffer(HAIR_M, join_style="mitre") for p in parts]).buffer(-HAIR_M, join_style="mitre")
    found: list[Part] = []
    taken: BaseGeometry = Polygon()
    for k, motion in motions.items():
        old = parts[k]
        material = old.image.buffer(MOVED_M, join_style="mitre").intersection(body.union(_past_rims(terrain, old, motion, blank_m)))
        # over a slit lies another patch's material
        apart = [p.image.buffer(FOLD_GAP_M) for j, p in enumerate(parts) if j != k and _fold(terrain, p, old) is None]
        here = motion.polygon(terrain.grounds[old.facet].net)
        shapes = [g for m in clip(material.difference(unary_union(apart)), here) for g in without(m, taken)]
        shapes = [s for g in shapes for s in polygons(g.buffer(-THIN_M, join_style="mitre").buffer(THIN_M, join_style="mitre"))]
        mine = [g for g in shapes if g.intersection(old.image).area > min(g.area, old.image.area) / 2]
        found += [Part(old.facet, motion.inverse().polygon(g), motion) for g in mine]
        taken = unary_union([taken, *(g.buffer(HAIR_M / 10) for g in mine)])
    found += [p for k, p in enumerate(parts) if k not in motions]
    return list(parts) if _same(parts, found) else found


def _same(parts: Sequence[Part], found: Sequence[Part]) -> bool:
    facets = {p.facet for p in (*parts, *found)}
    both = [[unary_union([p.polygon for p in some if p.facet == f]) for some in (parts, found)] for f in sorted(facets)]
    return all(one.symmetric_difference(other).area < SAME_M2 for one, other in both)


def _unfolded(terrain: Terrain, parts: Sequence[Part]) -> dict[int, Motion]:
    """How each patch's facet lies on the blank, from the largest patch on over the folds of the piece."""
    anchor = max(range(len(parts)), key=lambda k: (round(parts[k].polygon.area, 6), -k))
    motions = {anchor: parts[anchor].motion}
    grown = True
    while grown:
        grown = False
        for k, part in enumerate(parts):
            if k in motions:
                continue
            for j in list(motions):
                joint = _fold(terrain, parts[j], part)
                if joint is not None:
                    motions[k] = terrain.motion(joint, part.facet, parts[j].facet).then(motions[j])
                    grown = True
                    break
    return motions


def _fold(terrain: Terrain, here: Part, there: Part) -> Joint | None:
    """The joint over which two patches of a piece are folded."""
    meeting = here.image.buffer(HAIR_M).intersection(there.image)
    if here.facet == there.facet or meeting.area < MEETS_M2:
        return None
    between = [j for j in terrain.joints.values() if set(j.facets) == {here.facet, there.facet}]
    lines = [(LineString(here.motion.points(terrain.line(here.facet, j))).distance(meeting.centroid), j.id) for j in between]
    near = min(lines, default=(MOVED_M, ""))
    return terrain.joints[near[1]] if near[0] < MOVED_M else None


def _past_rims(terrain: Terrain, part: Part, motion: Motion, blank_m: tuple[float, float]) -> BaseGeometry:
    """Material that runs on past a rim: the covering ends at the rim, wherever that is now."""
    shapes: list[BaseGeometry] = []
    near = part.polygon.buffer(MOVED_M)
    for rim in terrain.grounds[part.facet].rims:
        a, b = terrain.line(part.facet, rim)
        if not near.intersects(LineString([a, b])):
            continue
        d = (b - a) / np.hypot(*(b - a))
        n = np.array([-d[1], d[0]])
        for piece in shapely.get_parts(near.intersection(LineString([a, b]))):
            ends = shapely.get_coordinates(piece)
            if len(ends) > 1:
                (p, q), off = (ends[0], ends[-1]), MOVED_M * n
                shapes.append(motion.polygon(quad(p + off, p - off, q - off, q + off)))
    return unary_union(shapes).intersection(box(0.0, 0.0, *blank_m)) if shapes else Polygon()
