"""Numbers of pieces that outlive a new plan: what lies where a piece lay keeps its number, no number is used twice."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from steamwright.covering.model import Piece, Role

ALIKE_RATIO = 0.8
SAME_RATIO = 0.02


def keep_numbers(pieces: Sequence[Piece], before: Sequence[Piece], fixed: Sequence[str]) -> tuple[Piece, ...]:
    """Give pieces the numbers of an earlier plan of the same surfaces.

    Parameters
    ----------
    pieces : sequence of Piece
        The new pieces in setting order.
    before : sequence of Piece
        The earlier ones.
    fixed : sequence of str
        Numbers that pinned pieces have, or had before they were cut again: they stay theirs.

    Returns
    -------
    pieces : tuple of Piece
        A piece of the same kind that covers the same place keeps its number; others get numbers above all earlier ones.

    References
    ----------
    own derivation
    """
    last = max([_number(i) for i in [*(p.id for p in before), *fixed]], default=0)
    names = {p.id: p.id for p in pieces if p.id in fixed}
    kept = same_places([p for p in pieces if p.id not in fixed], [p for p in before if p.id not in fixed])
    for piece in pieces:
        if piece.id not in names and piece.id not in kept:
            last += 1
            names[piece.id] = f"{piece.id[0]}{last}"
    names |= kept
    return tuple(replace(p, id=names[p.id], over=tuple(names[i] for i in p.over)) for p in pieces)


def same_places(pieces: Sequence[Piece], before: Sequence[Piece]) -> dict[str, str]:
    """Find what lay where pieces lie.

    Parameters
    ----------
    pieces : sequence of Piece
        The new pieces.
    before : sequence of Piece
        The earlier ones.

    Returns
    -------
    same : dict
        For the number of a new piece that of an earlier one of its kind that covers the same place, each named once.

    References
    ----------
    own derivation
    """
    free = {p.id: lying for p, lying in zip(before, _all_lying(before), strict=True)}
    same: dict[str, str] = {}
    for piece, lying in zip(pieces, _all_lying(pieces), strict=True):
        ratio, name = max(((lying.alike(old), i) for i, old in free.items() if lying.may_be(old)), key=lambda a: a[0], default=(0.0, ""))
        if ratio > ALIKE_RATIO:
            same[piece.id] = name
            del free[name]
    return same


def _number(piece_id: str) -> int:
    found = re.search(r"\d+$", piece_id)
    return int(found.group()) if found else 0


@dataclass(frozen=True, slots=True)
class _Shape:
    """What a piece covers of one facet, with the box round it (s and t from, s and t to). [m]"""

    shape: shapely.Geometry
    area_m2: float
    length_m: float
    box_m: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class _Lying:
    """What a piece covers of each facet."""

    role: Role
    on: dict[str, _Shape]
    area_m2: float

    def may_be(self, other: _Lying) -> bool:
        """Whether the two can have as much in common as is asked, by kind, size and the boxes round them alone."""
        if self.role is not other.role or min(self.area_m2, other.area_m2) <= ALIKE_RATIO * max(self.area_m2, other.area_m2):
            return False
        both = 0.0
        for facet, mine in self.on.items():
            if facet in other.on:
                a, b = mine.box_m, other.on[facet].box_m
                both += max(0.0, min(a[2], b[2]) - max(a[0], b[0])) * max(0.0, min(a[3], b[3]) - max(a[1], b[1]))
        return both * (1.0 + ALIKE_RATIO) > ALIKE_RATIO * (self.area_m2 + other.area_m2)

    def alike(self, other: _Lying) -> float:
        """The share of the surface of two pieces that both cover."""
        both = sum(_shared_m2(mine, other.on[f]) for f, mine in self.on.items() if f in other.on)
        either = self.area_m2 + other.area_m2 - both
        return both / either if either > 0.0 else 0.0


def _all_lying(pieces: Sequence[Piece]) -> list[_Lying]:
    on: list[dict[str, list[shapely.Polygon]]] = [{} for _ in pieces]
    for p, of in zip(pieces, on, strict=True):
        for q in p.patches:
            of.setdefault(q.facet, []).append(q.polygon)
    shapes = np.array([g[0] if len(g) == 1 else shapely.union_all(g) for of in on for g in of.values()], dtype=object)
    sizes = (shapely.area(shapes).tolist(), shapely.length(shapes).tolist(), map(tuple, shapely.bounds(shapes).tolist()))
    each = map(_Shape, shapes, *sizes)
    found = [{f: next(each) for f in of} for of in on]
    return [_Lying(p.role, of, sum(s.area_m2 for s in of.values())) for p, of in zip(pieces, found, strict=True)]


def _shared_m2(one: _Shape, other: _Shape) -> float:
    """What two shapes share; where all corners are all but the same, the overlay is spared."""
    if one.shape.equals_exact(other.shape, SAME_RATIO * one.area_m2 / one.length_m):
        return min(one.area_m2, other.area_m2) * (1.0 - SAME_RATIO)
    return float(one.shape.intersection(other.shape).area)
