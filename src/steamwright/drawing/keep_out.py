"""Where no screw may be driven later: round pipes, and on walls below the flood line."""

from __future__ import annotations

import shapely
from shapely import Point

from steamwright.drawing.digest import STANDING, Digest
from steamwright.room.model import Facet, FacetKind

SCREWED_LATER = frozenset({"hinge", "clamp", "bar", "blocking_screw"})
OVER_FLOOD_M = 0.0254


def flood_level_m(d: Digest) -> float | None:
    """Height of the flood line over the floor datum.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.

    Returns
    -------
    height_m : float or None
        ``None`` where the room has no floor facet. [m]

    References
    ----------
    own derivation
    """
    floors = [f for f in d.plan.room.facets if f.kind is FacetKind.FLOOR]
    if not floors:
        return None
    drains = [d.facets[p.facet].frame.lift([p.center_m])[0][2] for p in d.plan.room.penetrations if p.kind == "drain"]
    low = min(float(f.frame.lift(f.outline_m)[:, 2].min()) for f in floors)
    return float(drains[0] if drains else low) + d.plan.pan.flood_line_over_drain_m


def keep_out(d: Digest, facet: Facet) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Find the keep-out zones of a facet.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        Any facet.

    Returns
    -------
    zones : tuple of Geometry
        Round pipes: the hole and one planned lap. Along the floor: all below 1 in over the flood line, on standing facets.
        In the facet's (s, t). [m]

    References
    ----------
    common practice, no source
    """
    lap = d.plan.covering.lap_planned_m
    wet = [p for p in d.penetrations.get(facet.id, ()) if p.kind not in SCREWED_LATER]
    pipes = shapely.union_all([Point(p.center_m).buffer(p.diameter_m / 2 + lap, quad_segs=12) for p in wet])
    round_pipes = shapely.intersection(pipes, facet.polygon)
    level, rise = flood_level_m(d), facet.frame.v[2]
    if level is None or facet.kind not in STANDING or rise < 0.5:
        return round_pipes, shapely.Polygon()
    s0, t0, s1, _ = facet.polygon.bounds
    top = (level + OVER_FLOOD_M - facet.frame.origin_m[2]) / rise
    if top <= t0 + 1e-3:
        return round_pipes, shapely.Polygon()
    return round_pipes, shapely.intersection(shapely.box(s0, t0, s1, top), facet.polygon)
