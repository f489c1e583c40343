"""A small view of the room with its near sides taken away, for the cover."""

from __future__ import annotations

import math

import numpy as np

from steamwright.drawing.pens import BAND, FAINT, INK, SHEET_A, SHEET_B
from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy, Facet, FacetKind, Solid

_TURN_DEG, _TILT_DEG = 35.0, 24.0
_FILLS = {FacetKind.FLOOR: BAND, FacetKind.BENCH_TOP: SHEET_B, FacetKind.CURB_TOP: SHEET_B, FacetKind.HALF_WALL_TOP: SHEET_B,
          FacetKind.SILL: SHEET_B, FacetKind.NICHE_BACK: SHEET_B, FacetKind.NICHE_SIDE: SHEET_B}
_SLACK_M = 1e-4


def cutaway_svg(solid: Solid, width_mm: float = 150.0, height_mm: float = 110.0) -> bytes:
    """Draw the facets that turn towards the viewer, far ones first, and the outlines of the others as thin lines.

    Parameters
    ----------
    solid : Solid
        The room.
    width_mm : float
        Width of the picture. [mm]
    height_mm : float
        Height of the picture. [mm]

    Returns
    -------
    svg : bytes
        A drawing without lettering.

    References
    ----------
    own derivation
    """
    axes = _axes(_best_turn(solid))
    seen = [f for f in solid.facets if f.frame.normal @ axes[2] > 1e-6]
    near = [f for f in solid.facets if f.frame.normal @ axes[2] <= 1e-6 and f.kind is not FacetKind.CEILING]
    flat = np.vstack([f.frame.lift(f.outline_m) for f in solid.facets]) @ axes[:2].T
    low, high = flat.min(axis=0), flat.max(axis=0)
    scale = min(width_mm / (high[0] - low[0]), height_mm / (high[1] - low[1])) * 0.98
    shift = np.array([width_mm / 2, height_mm / 2]) - np.array([1, -1]) * scale * (low + high) / 2

    def path(facet: Facet) -> str:
        rings = [facet.outline_m, *facet.holes_m]
        turned = [shift + np.array([1, -1]) * scale * (facet.frame.lift(r) @ axes[:2].T) for r in rings]
        return " ".join("M" + " L".join(f"{x:.2f},{y:.2f}" for x, y in ring) + " Z" for ring in turned)

    body = [f'<path d="{path(f)}" fill="{_fill(f)}" stroke="{INK}" stroke-width="0.35"/>' for f in _far_first(seen, axes[2])]
    body += [f'<path d="{path(f)}" fill="none" stroke="{FAINT}" stroke-width="0.2"/>' for f in near]
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm}mm" height="{height_mm}mm" viewBox="0 0 {width_mm} {height_mm}">'
    style = '<g fill-rule="evenodd" stroke-linejoin="round">'
    return f"{head}{style}{''.join(body)}</g></svg>\n".encode()


def _axes(turn_deg: float) -> Floats:
    """Right, up and towards the viewer, as rows."""
    a, b = math.radians(turn_deg), math.radians(_TILT_DEG)
    towards = np.array([math.cos(b) * math.cos(a), math.cos(b) * math.sin(a), math.sin(b)])
    right = np.array([-math.sin(a), math.cos(a), 0.0])
    return np.stack([right, np.cross(towards, right), towards])


def _best_turn(solid: Solid) -> float:
    """Look through the side that has most glass and doors, so that what is built stands behind it."""
    def built(turn_deg: float) -> float:
        towards = _axes(turn_deg)[2]
        return sum(f.area_m2 * float(f.frame.normal @ towards) for f in solid.facets
                   if f.covering_by is not CoveredBy.NONE and f.kind is not FacetKind.CEILING and f.frame.normal @ towards > 0)
    return max((quarter * 90.0 + _TURN_DEG for quarter in range(4)), key=lambda t: (round(built(t), 6), -t))


def _fill(facet: Facet) -> str:
    if facet.covering_by is CoveredBy.NONE:
        return "#ffffff"
    return _FILLS.get(facet.kind, SHEET_A)


def _far_first(facets: list[Facet], towards: Floats) -> list[Facet]:
    """Sort so that nothing is drawn over what stands before it: a facet all of which lies behind another's plane goes first."""
    points = [f.frame.lift(f.outline_m) for f in facets]
    left = sorted(range(len(facets)), key=lambda i: (float((points[i] @ towards).mean()), facets[i].id))
    done: list[Facet] = []
    while left:
        pick = next((i for i in left if not any(j != i and _behind(j, i, facets, points) for j in left)), left[0])
        left.remove(pick)
        done.append(facets[pick])
    return done


def _behind(a: int, b: int, facets: list[Facet], points: list[Floats]) -> bool:
    """Whether b may hide a: all of b stands on the air side of a, and not all of a on the air side of b."""
    def above(front: int, back: int) -> bool:
        rise = (points[front] - np.asarray(facets[back].frame.origin_m)) @ facets[back].frame.normal
        return bool((rise > -_SLACK_M).all() and (rise > _SLACK_M).any())
    return above(b, a) and not above(a, b)
