"""What is underfoot: ledges that must shed water, curbs, the size of the receptor, and the height of the finished floor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import Point, maximum_inscribed_circle
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, unary_union

from steamwright.buildup.model import BuildUp
from steamwright.plan.overhead import LEVEL_RATIO, downhill, height_at_m, plan_polygon, slope_ratio
from steamwright.room.model import Facet, FacetKind, Solid
from steamwright.room.pan import PanReport

_LEDGES = {FacetKind.BENCH_TOP: "bench", FacetKind.CURB_TOP: "curb", FacetKind.HALF_WALL_TOP: "half wall", FacetKind.SILL: "sill",
           FacetKind.NICHE_SIDE: "niche sill"}


@dataclass(frozen=True, slots=True)
class Receptor:
    """The open floor between finished surfaces. ``narrow_m`` and ``circle_m`` are the widest circle on it."""

    area_m2: float
    narrow_m: float
    long_m: float
    circle_m: float


def floor_membrane(solid: Solid, buildups: Sequence[BuildUp]) -> tuple[str, str]:
    """Find the membrane that a job puts on the floor.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    buildups : sequence of BuildUp
        All of the job.

    Returns
    -------
    buildup, material : str
        Of the first build-up of the floor with a membrane in it; empty where there is none.

    References
    ----------
    own derivation
    """
    on = {f.buildup for f in solid.facets if f.kind is FacetKind.FLOOR}
    return next(((b.name, x.material) for b in buildups if b.id in on for x in b.layers if x.role == "membrane"), ("", ""))


def ledges(solid: Solid) -> tuple[tuple[str, Facet], ...]:
    """Facets on which water could stand, the floor left out.

    Parameters
    ----------
    solid : Solid
        The room, finished.

    Returns
    -------
    ledges : tuple of (str, Facet)
        Kind of ledge and facet.

    References
    ----------
    ANSI-A108.01 3.6.4
    """
    return tuple((_LEDGES[f.kind], f) for f in solid.facets if f.kind in _LEDGES and f.frame.normal[2] > 0.5)


def floor_plan(solid: Solid) -> BaseGeometry:
    """The open floor in plan.

    Parameters
    ----------
    solid : Solid
        The room.

    Returns
    -------
    plan : BaseGeometry
        All floor facets as one. [m]

    References
    ----------
    own derivation
    """
    return unary_union([plan_polygon(f) for f in solid.facets if f.kind is FacetKind.FLOOR])


def falls_in(ledge: Facet, floor: BaseGeometry) -> bool:
    """Tell whether a ledge sheds its water towards the open floor.

    Parameters
    ----------
    ledge : Facet
        A bench top, curb top or sill.
    floor : BaseGeometry
        Plan of the open floor. [m]

    Returns
    -------
    falls_in : bool
        ``False`` where it is level or falls the other way.

    References
    ----------
    ANSI-A108.01 3.6.4
    """
    if slope_ratio(ledge) < LEVEL_RATIO or floor.is_empty:
        return False
    middle = plan_polygon(ledge).representative_point()
    there = nearest_points(middle, floor)[1]
    way = np.array([there.x - middle.x, there.y - middle.y])
    return bool(way @ downhill(ledge) > 0.0)


def receptor(solid: Solid) -> Receptor | None:
    """Measure the open floor.

    Parameters
    ----------
    solid : Solid
        The room, finished.

    Returns
    -------
    receptor : Receptor or None
        ``None`` where there is no floor.

    References
    ----------
    IRC-P2708 P2708.1; UPC-408 408.7
    """
    floor = floor_plan(solid)
    if floor.is_empty:
        return None
    circle = 2.0 * float(maximum_inscribed_circle(floor, tolerance=1e-4).length)
    ring = np.asarray(floor.minimum_rotated_rectangle.exterior.coords)
    sides = np.hypot(*np.diff(ring[:3], axis=0).T)
    return Receptor(float(floor.area), circle, float(max(sides)), circle)


def finished_floor_m(solid: Solid, pan: PanReport, tile_m: float) -> tuple[float, float]:
    """Height of the finished floor at its highest, and of the top of the drain.

    Parameters
    ----------
    solid : Solid
        The room, finished.
    pan : PanReport
        Its pan.
    tile_m : float
        Tile and mortar on the bed of a liner. [m]

    Returns
    -------
    high_m : float
        Highest point of the finished floor. [m]
    drain_m : float
        Finished floor at the drain. [m]

    References
    ----------
    own derivation
    """
    floors = [f for f in solid.facets if f.kind is FacetKind.FLOOR]
    heights = [float(p[2]) for f in floors for p in f.frame.lift(f.outline_m)] or [0.0]
    at = next((f for f in floors if pan.drain_m is not None and plan_polygon(f).buffer(1e-6).contains(Point(pan.drain_m))), None)
    low = height_at_m(at, *pan.drain_m) if at is not None and pan.drain_m is not None else min(heights)
    if pan.membrane == "liner":
        drain = low + pan.bed_at_drain_m + tile_m
        return drain + max((h.over_drain_m for h in pan.heights), default=pan.fall_m), drain
    return max(heights), low
