"""Numbers of pieces that outlive a new plan: what lies where a piece lay keeps its number, no number is used twice."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
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
    """A patch with the box round it (s and t from, s and t to). [m]"""

    shape: shapely.Polygon
    area_m2: float
    length_m: float
    box_m: tuple[float, float, float, float]

    def may_share_m2(self, other: _Shape) -> float:
        """What the boxes share. [m²]"""
        a, b = self.box_m, other.box_m
        return max(0.0, min(a[2], b[2]) - max(a[0], b[0])) * max(0.0, min(a[3], b[3]) - max(a[1], b[1]))

    def shared_m2(self, other: _Shape) -> float:
        """What the patches share; where all corners are all but the same, the overlay is spared. [m²]"""
        if self.shape.equals_exact(other.shape, SAME_RATIO * self.area_m2 / self.length_m):
            return min(self.area_m2, other.area_m2) * (1.0 - SAME_RATIO)
        return float(self.shape.intersection(other.shape).area) if self.may_share_m2(other) > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class _Lying:
    """What a piece covers of each facet."""

    role: Role
    on: dict[str, list[_Shape]]
    area_m2: float

    def pairs(self, other: _Lying) -> Iterator[tuple[_Shape, _Shape]]:
        """The patches of both that lie on one facet."""
        return ((mine, its) for facet, patches in self.on.items() for its in other.on.get(facet, ()) for mine in patches)

    def may_be(self, other: _Lying) -> bool:
        """Whether the two can have as much in common as is asked, by kind, size and the boxes round them alone."""
        if self.role is not other.role or min(self.area_m2, other.area_m2) <= ALIKE_RATIO * max(self.area_m2, other.area_m2):
            return False
        both = sum(mine.may_share_m2(its) for mine, its in self.pairs(other))
        return both * (1.0 + ALIKE_RATIO) > ALIKE_RATIO * (self.area_m2 + other.area_m2)

    def alike(self, other: _Lying) -> float:
        """The share of the surface of two pieces that both cover."""
        both = sum(mine.shared_m2(its) for mine, its in self.pairs(other))
        either = self.area_m2 + other.area_m2 - both
        return both / either if either > 0.0 else 0.0


def _all_lying(pieces: Sequence[Piece]) -> list[_Lying]:
    shapes = np.array([q.polygon for p in pieces for q in p.patches], dtype=object)
    sizes = (shapely.area(shapes).tolist(), shapely.length(shapes).tolist(), map(tuple, shapely.bounds(shapes).tolist()))
    each = map(_Shape, shapes, *sizes)
    found = []
    for p in pieces:
        on: dict[str, list[_Shape]] = {}
        for q in p.patches:
            on.setdefault(q.facet, []).append(next(each))
        found.append(_Lying(p.role, on, sum(s.area_m2 for patches in on.values() for s in patches)))
    return found
