"""What a layout takes: roll material, metres of lap, minutes, pieces, and their sum in a job's own weights."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from steamwright.covering.draft import GRID_M
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.model import Account, Patch, Piece, Role, Stock
from steamwright.room.model import CoveredBy, FacetKind, Solid

OVERHEAD = (FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.HEAD)


def account_of(solid: Solid, pieces: Sequence[Piece], stock: Sequence[Stock], wishes: CoveringWishes) -> Account:
    """Reckon what a layout takes.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    pieces : sequence of Piece
        The layout.
    stock : sequence of Stock
        What it is cut from.
    wishes : CoveringWishes
        Weights and planned lap.

    Returns
    -------
    account : Account
        Metres of lap are lapped area over the planned lap; minutes and dollars follow the weights. A parted blank is two pieces.

    References
    ----------
    own derivation
    """
    w = wishes.weights
    overhead = {f.id for f in solid.facets if f.kind in OVERHEAD}
    minutes, count = 0.0, 0
    for p in pieces:
        if p.blank_m is None:
            continue
        for patches in p.members():
            count += 1
            slower = w.overhead_ratio if any(q.facet in overhead for q in patches) else 1.0
            minutes += (w.piece_min + w.lap_min_m * (sum(p.blank_m) if not p.second_at else _around_m(patches))) * slower
    material = sum(s.used_length_m * s.width_m for s in stock)
    usd = material * w.membrane_usd_m2 + minutes / 60.0 * w.wage_usd_h
    return Account(material, _lapped_m2(solid, pieces) / (wishes.lap_required_m + wishes.allowance_m), minutes, count, usd)


def _around_m(patches: Sequence[Patch]) -> float:
    """Length and width of what is set of a blank that is parted."""
    points = np.vstack([q.at.to_blank(np.array(q.outline_m)) for q in patches if q.at is not None])
    return float(np.ptp(points, axis=0).sum())


def _lapped_m2(solid: Solid, pieces: Sequence[Piece]) -> float:
    """Area on which more than one piece lies, every further one counted again; corner pieces and collars left out."""
    covered = {f.id for f in solid.facets if f.covering_by is CoveredBy.PIECES}
    on: dict[str, list[shapely.Polygon]] = {}
    for p in pieces:
        for q in p.patches:
            if q.facet in covered and p.role in (Role.SHEET, Role.BAND):
                on.setdefault(q.facet, []).append(q.polygon)
    # on a fine grid: plain floating overlay fails where edges of many pieces all but coincide
    return float(sum(sum(g.area for g in shapes) - shapely.union_all(shapes, grid_size=GRID_M).area for shapes in on.values()))
