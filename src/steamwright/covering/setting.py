"""The order in which pieces are set, and which lies over which."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from steamwright.covering.draft import Draft, frozen
from steamwright.covering.ground import Terrain
from steamwright.covering.layers import side_by_side
from steamwright.covering.model import Piece, Role
from steamwright.covering.segments import Shapes
from steamwright.room.model import FacetKind

ROLE_ORDER = {Role.SHEET: 0, Role.COLLAR: 1, Role.BAND: 2, Role.CORNER_PIECE: 3}
KIND_ORDER = {FacetKind.FLOOR: 0, FacetKind.CURB_FACE: 1, FacetKind.CURB_TOP: 1, FacetKind.BENCH_FACE: 2, FacetKind.BENCH_TOP: 2,
              FacetKind.HALF_WALL_TOP: 3, FacetKind.SILL: 3, FacetKind.SOFFIT: 5, FacetKind.CEILING: 6}
WALL_ORDER = 4
LAPS_FROM_M2 = 1e-6
DEEP_M = 1e-3
"""A disc of this radius is larger than the least lap."""


def in_setting_order(terrain: Terrain, drafts: list[Draft], spent: Sequence[str] = ()) -> tuple[Piece, ...]:
    """Number the pieces as they are set: low before high, sheets before collars, bands and corner pieces.

    What is set later lies over what is set earlier, so on walls and slopes the upper piece sheds onto the lower one.

    Parameters
    ----------
    terrain : Terrain
        The room.
    drafts : list of Draft
        The pieces as laid out.
    spent : sequence of str, optional
        Numbers that pieces had that are cut again: no piece gets them.

    Returns
    -------
    pieces : tuple of Piece
        With ids, place numbers and the pieces that each lies over.

    References
    ----------
    common practice, no source
    """
    ordered = [d for _, _, d in sorted(zip(_ranks(terrain, drafts), range(len(drafts)), drafts, strict=True), key=lambda row: row[:2])]
    names = _names([(d.name, d.role) for d in ordered], spent)
    return lapped([replace(p, place_no=n) for n, p in enumerate(frozen(ordered, names), start=1)])


def renumbered(pieces: Sequence[Piece], pinned: Sequence[str], laps: Sequence[Collection[int]]) -> tuple[Piece, ...]:
    """Number pieces anew in the order in which they stand, after some of them were joined.

    Parameters
    ----------
    pieces : sequence of Piece
        In setting order.
    pinned : sequence of str
        Numbers of pieces that a person has fixed: they stay, and nothing else gets them.
    laps : sequence of collection of int
        For each piece, where in the order those stand that it laps with.

    Returns
    -------
    pieces : tuple of Piece
        With ids, place numbers and the pieces that each lies over.

    References
    ----------
    own derivation
    """
    names = _names([(p.id if p.id in pinned else "", p.role) for p in pieces], pinned)
    return tuple(replace(p, id=names[n], place_no=n + 1, over=tuple(names[k] for k in sorted(laps[n]) if k < n))
                 for n, p in enumerate(pieces))


def _names(ordered: Sequence[tuple[str, Role]], spent: Sequence[str]) -> list[str]:
    """Pinned pieces keep their number and nothing else gets it."""
    taken = {own for own, _ in ordered if own} | set(spent)
    spare = len(ordered)
    names = []
    for n, (own, role) in enumerate(ordered, start=1):
        name = own or f"{_letter(role)}{n}"
        while not own and name in taken:
            spare += 1
            name = f"{_letter(role)}{spare}"
        taken.add(name)
        names.append(name)
    return names


def lapped(pieces: list[Piece]) -> tuple[Piece, ...]:
    """Fill in, for pieces in setting order, the earlier ones that each lies over.

    Parameters
    ----------
    pieces : list of Piece
        In setting order.

    Returns
    -------
    pieces : tuple of Piece
        With ``over`` filled in.

    References
    ----------
    own derivation
    """
    patches = [(k, patch) for k, p in enumerate(pieces) for patch in p.patches]
    facets = {f: n for n, f in enumerate(dict.fromkeys(patch.facet for _, patch in patches))}
    owner = np.array([k for k, _ in patches], dtype=np.intp)
    shapes = side_by_side(np.array([patch.polygon for _, patch in patches], dtype=object), np.array([facets[q.facet] for _, q in patches]))
    first, second = shapely.STRtree(shapes).query(shapes)
    box = shapely.bounds(shapes)
    both = np.minimum(box[first, 2:], box[second, 2:]) - np.maximum(box[first, :2], box[second, :2])
    near = (owner[first] > owner[second]) & (both.min(axis=1) > 0.0) & (both.prod(axis=1) > LAPS_FROM_M2)
    first, second, size = first[near], second[near], both[near].prod(axis=1)
    pair = owner[first] * len(pieces) + owner[second]
    # two pieces may meet on several facets: where they share most is looked at first, and one lap is enough
    order = np.lexsort((-size, pair))
    first, second, pair = first[order], second[order], pair[order]
    once = np.append(True, pair[1:] != pair[:-1])
    found = pair[once][_overlap(shapes[first[once]], shapes[second[once]])]
    more = ~once & ~np.isin(pair, found)
    found = np.union1d(found, pair[more][_overlap(shapes[first[more]], shapes[second[more]])])
    over: list[set[int]] = [set() for _ in pieces]
    for i, j in zip(*(x.tolist() for x in np.divmod(found, len(pieces))), strict=True):
        over[i].add(j)
    return tuple(replace(p, over=tuple(pieces[j].id for j in sorted(over[k]))) for k, p in enumerate(pieces))


def _overlap(one: Shapes, other: Shapes) -> NDArray[np.bool_]:
    """Where shapes overlap; where the middle of what their boxes share lies deep in both, no overlay is needed to see it."""
    a, b = shapely.bounds(one), shapely.bounds(other)
    middles = shapely.points((np.maximum(a[:, :2], b[:, :2]) + np.minimum(a[:, 2:], b[:, 2:])) / 2)
    both = np.ones(len(one), dtype=bool)
    for shapes in (one, other):
        both &= shapely.contains(shapes, middles) & (shapely.distance(shapely.boundary(shapes), middles) > DEEP_M)
    both[~both] = shapely.area(shapely.intersection(one[~both], other[~both])) > LAPS_FROM_M2
    return both


def _letter(role: Role) -> str:
    return {Role.SHEET: "S", Role.BAND: "B", Role.CORNER_PIECE: "K", Role.COLLAR: "C"}[role]


def _ranks(terrain: Terrain, drafts: Sequence[Draft]) -> list[tuple[float, ...]]:
    """Of each draft: role first; within a role by kind of surface, then by height, then in plan."""
    parts = [p for d in drafts for p in d.parts]
    starts = np.cumsum([0, *(len(d.parts) for d in drafts[:-1])])
    frames = [terrain.grounds[p.facet].facet.frame for p in parts]
    origins, axes = np.array([f.origin_m for f in frames]), np.array([(f.u, f.v) for f in frames])
    shapes = np.array([p.polygon for p in parts], dtype=object)
    points, of = shapely.get_coordinates(shapes, return_index=True)
    heights_m = origins[of, 2] + np.vecdot(points, axes[of, :, 2])
    lows = np.minimum.reduceat(heights_m, np.searchsorted(of, starts)).tolist()
    middles = shapely.get_coordinates(shapely.centroid(shapes[starts]))
    places = (origins[starts] + np.vecmat(middles, axes[starts])).tolist()
    kinds = [max(KIND_ORDER.get(terrain.grounds[p.facet].facet.kind, WALL_ORDER) for p in d.parts) for d in drafts]
    return [(0.0 if d.is_set else 1.0, float(ROLE_ORDER[d.role]), float(kind), round(low, 4), *(round(x, 4) for x in place))
            for d, kind, low, place in zip(drafts, kinds, lows, places, strict=True)]
