"""Numbers of pieces that outlive a new plan: what lies where a piece lay keeps its number, no number is used twice."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import shapely

from steamwright.covering.model import Piece

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
    free = {p.id: _Lying(p) for p in before if p.id not in fixed}
    last = max([_number(i) for i in [*(p.id for p in before), *fixed]], default=0)
    names: dict[str, str] = {p.id: p.id for p in pieces if p.id in fixed}
    for piece in pieces:
        if piece.id in names:
            continue
        lying = _Lying(piece)
        same = max(((lying.alike(old), i) for i, old in free.items() if lying.may_be(old)), key=lambda a: a[0], default=(0.0, ""))
        if same[0] > ALIKE_RATIO:
            names[piece.id] = same[1]
            del free[same[1]]
        else:
            last += 1
            names[piece.id] = f"{piece.id[0]}{last}"
    return tuple(replace(p, id=names[p.id], over=tuple(names[i] for i in p.over)) for p in pieces)


def _number(piece_id: str) -> int:
    found = re.search(r"\d+$", piece_id)
    return int(found.group()) if found else 0


class _Lying:
    """What a piece covers of each facet."""

    def __init__(self, piece: Piece) -> None:
        on: dict[str, list[shapely.Polygon]] = {}
        for q in piece.patches:
            on.setdefault(q.facet, []).append(q.polygon)
        self.role = piece.role
        self.on: dict[str, shapely.Geometry] = {f: g[0] if len(g) == 1 else shapely.union_all(g) for f, g in on.items()}
        self.area_m2 = float(sum(g.area for g in self.on.values()))
        self.boxes = {f: g.bounds for f, g in self.on.items()}

    def may_be(self, other: _Lying) -> bool:
        """Whether the two can have as much in common as is asked, by kind, size and the boxes round them alone."""
        if self.role is not other.role or min(self.area_m2, other.area_m2) <= ALIKE_RATIO * max(self.area_m2, other.area_m2):
            return False
        both = 0.0
        for facet, a in self.boxes.items():
            b = other.boxes.get(facet)
            if b is not None:
                both += max(0.0, min(a[2], b[2]) - max(a[0], b[0])) * max(0.0, min(a[3], b[3]) - max(a[1], b[1]))
        return both * (1.0 + ALIKE_RATIO) > ALIKE_RATIO * (self.area_m2 + other.area_m2)

    def alike(self, other: _Lying) -> float:
        """The share of the surface of two pieces that both cover."""
        both = sum(_shared_m2(g, other.on[f]) for f, g in self.on.items() if f in other.on)
        either = self.area_m2 + other.area_m2 - both
        return float(both / either) if either > 0.0 else 0.0


def _shared_m2(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """What two shapes share; where all corners are all but the same, the overlay is spared."""
    if one.equals_exact(other, SAME_RATIO * one.area / one.length):
        return float(min(one.area, other.area)) * (1.0 - SAME_RATIO)
    return float(one.intersection(other).area)
