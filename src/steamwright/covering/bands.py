"""Bands: strips folded along their middle over a joint that no sheet folds over."""

from __future__ import annotations

import numpy as np
from shapely import Polygon, box

from steamwright.covering.draft import Draft, Part, clip, touching
from steamwright.covering.ground import Terrain
from steamwright.covering.model import Role
from steamwright.covering.onward import run_on
from steamwright.covering.sheets import add_reach
from steamwright.geometry.frame import Floats, Point2
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import CoveredBy, Joint

FAR_M = 1e3


def lay_band(terrain: Terrain, joint: Joint, leg_m: float, lap_m: float, longest_m: float, item: str, material: str) -> list[Draft]:
    """Close a joint by bands, end to end with laps where one roll is too short.

    Parameters
    ----------
    terrain : Terrain
        The room.
    joint : Joint
        The joint to close.
    leg_m : float
        Half the width of the band. [m]
    lap_m : float
        Lap of two bands along the joint. [m]
    longest_m : float
        Longest band that is cut. [m]
    item, material : str
        What it is cut from.

    Returns
    -------
    drafts : list of Draft
        None where both sides are made tight by something else.

    References
    ----------
    common practice, no source
    """
    sides = [terrain.grounds[f] for f in joint.facets]
    if all(g.facet.covering_by is CoveredBy.OTHER for g in sides):
        return []
    a, b = terrain.line(sides[0].facet.id, joint)
    length = float(np.hypot(*(b - a)))
    count = 1 if length <= longest_m else int(np.ceil((length - lap_m) / (longest_m - lap_m)))
    step = (length - lap_m) / count
    drafts = []
    for k in range(count):
        draft = _band(terrain, joint, (k * step, length if k == count - 1 else (k + 1) * step + lap_m), leg_m, item, material)
        if draft.parts:
            drafts.append(draft)
    return drafts


def _band(terrain: Terrain, joint: Joint, span_m: tuple[float, float], leg_m: float, item: str, material: str) -> Draft:
    """One band: the joint comes to lie along +x of the draft's plane."""
    draft = Draft(Role.BAND, item, material)
    first = joint.facets[0]
    a, b = terrain.line(first, joint)
    d = (b - a) / np.hypot(*(b - a))
    level = Motion.translation(-a).then(Motion.rotation(-float(np.arctan2(d[1], d[0]))))
    for facet_id in joint.facets:
        ground = terrain.grounds[facet_id]
        unfolding = Motion.identity() if facet_id == first else terrain.motion(joint, facet_id, first)
        out = 1.0 if facet_id == first else -1.0
        to_draft = unfolding.then(level)
        x0, x1 = _past_rims(terrain, joint, facet_id, span_m, (a, b), leg_m)
        strip = Polygon([(x0, 0.0), (x1, 0.0), (x1, out * leg_m), (x0, out * leg_m)])
        here = to_draft.inverse()
        ends = here.points([(span_m[0], 0.0), (span_m[1], 0.0)])
        patch = clip(here.polygon(strip), ground.net)
        lying = touching(patch, ends[0], ends[1])
        onward = run_on(terrain, facet_id, joint, _lap_strip(here, x0, x1, out * min(leg_m, terrain.lap_m)), lying, frozenset(joint.facets))
        parts = [Part(facet_id, p, to_draft) for p in lying] + [Part(o.facet, o.polygon, o.to_here.then(to_draft)) for o in onward]
        draft.parts += parts
        for part in parts:
            add_reach(terrain, terrain.grounds[part.facet], part, draft)
    # a band ends at its legs' width: what ends the covering at a rim beside it is the sheet
    wide = box(-FAR_M, -leg_m, FAR_M, leg_m)
    draft.beyond = [g for b in draft.beyond for g in clip(b, wide)]
    return draft


def _lap_strip(here: Motion, x0: float, x1: float, depth_m: float) -> list[Point2]:
    """The part of a band's leg that has to lie somewhere, in the facet's coordinates. [m]"""
    return list(map(tuple, here.points([(x0, 0.0), (x1, 0.0), (x1, depth_m), (x0, depth_m)]).tolist()))


def _past_rims(terrain: Terrain, joint: Joint, facet_id: str, span_m: tuple[float, float], line: tuple[Floats, Floats],
               leg_m: float) -> tuple[float, float]:
    """Where the facet ends at a rim, the band runs on to it, however the rim slants."""
    x0, x1 = span_m
    length = float(np.hypot(*(line[1] - line[0])))
    first = terrain.grounds[joint.facets[0]].facet.frame
    for at in (joint.start_m, joint.end_m):
        if not terrain.ends_at_rim(facet_id, at):
            continue
        is_start = np.hypot(*(first.drop(at)[0] - line[0])) < 1e-4
        if is_start and span_m[0] <= 1e-9:
            x0 = -leg_m
        elif not is_start and span_m[1] >= length - 1e-9:
            x1 = length + leg_m
    return x0, x1
