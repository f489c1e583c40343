"""Numbers of pieces that outlive a new plan: what lies where a piece lay keeps its number, no number is used twice."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import shapely

from steamwright.covering.model import Piece

ALIKE_RATIO = 0.8


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
    free = {p.id: p for p in before if p.id not in fixed}
    last = max([_number(i) for i in [*(p.id for p in before), *fixed]], default=0)
    names: dict[str, str] = {p.id: p.id for p in pieces if p.id in fixed}
    for piece in pieces:
        if piece.id in names:
            continue
        same = max(((_alike(piece, old), i) for i, old in free.items()), key=lambda a: a[0], default=(0.0, ""))
        if same[0] > ALIKE_RATIO:
            names[piece.id] = same[1]
            del free[same[1]]
        else:
            last += 1
            names[piece.id] = f"{piece.id[0]}{last:03d}"
    return tuple(replace(p, id=names[p.id], over=tuple(names[i] for i in p.over)) for p in pieces)


def _number(piece_id: str) -> int:
    found = re.search(r"\d+$", piece_id)
    return int(found.group()) if found else 0


def _alike(one: Piece, other: Piece) -> float:
    """The share of the surface of two pieces of one kind that both cover."""
    if one.role is not other.role:
        return 0.0
    mine, theirs = _by_facet(one), _by_facet(other)
    both = sum(mine[f].intersection(theirs[f]).area for f in mine if f in theirs)
    either = sum(g.area for g in mine.values()) + sum(g.area for g in theirs.values()) - both
    return float(both / either) if either > 0.0 else 0.0


def _by_facet(piece: Piece) -> dict[str, shapely.Geometry]:
    return {f: shapely.union_all([q.polygon for q in piece.patches if q.facet == f]) for f in dict.fromkeys(q.facet for q in piece.patches)}
