"""Two slanted pieces on one blank: nested head to foot and parted by one straight cut, they take less roll than a rectangle each.

What lies on a blank is one piece, so the two get one number and one place in the setting order. Only pieces for which
that is well are joined: between their places nothing may lie that laps the one which moves and has to shed onto it, or it onto
that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations

import numpy as np
import shapely

from steamwright.covering.account import OVERHEAD
from steamwright.covering.draft import placing, quad, spans_along
from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.model import Patch, Piece, Role, apart
from steamwright.covering.nesting import Nest, Outline, nested, outline
from steamwright.covering.numbering import same_places
from steamwright.covering.setting import renumbered
from steamwright.cutting.best_cut import quick_length_m
from steamwright.cutting.rolls import Blank
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import Solid

LEAST_GAIN_M2 = 0.02
"""What a slanted cut has to save; common practice, no source."""
SIDE_BY_SIDE_M = 0.01
"""Pieces whose lower ends differ by less stand side by side."""
MOST = 14
"""How many pieces are weighed against one another, those with most to save first."""


@dataclass(frozen=True, slots=True)
class Couple:
    """Two pieces, by their places in the setting order, and how they lie on one blank."""

    first: int
    second: int
    nest: Nest


def share_blanks(solid: Solid, pieces: Sequence[Piece], wishes: CoveringWishes, before: Sequence[Piece] | None = None) -> tuple[Piece, ...]:
    """Join pieces with slanted outlines in pairs on one blank each, where that takes less roll.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    pieces : sequence of Piece
        In setting order.
    wishes : CoveringWishes
        Roll, longest pieces, and pieces that are cut or set already, which stay as they are.
    before : sequence of Piece, optional
        The pieces of an earlier plan: where it is given, only what lay on one blank there is joined.

    Returns
    -------
    pieces : tuple of Piece
        In setting order; the given ones where nothing is gained.

    References
    ----------
    own derivation: pairs by maximum-weight matching on the saved area, then those left out without which the rolls are shorter
    """
    among = None if before is None else _together(pieces, before)
    if among is not None and not among:
        return tuple(pieces)
    flow = _Flow(solid, pieces)
    couples = _best_match(_couples(flow, solid, wishes, among))
    if not couples:
        return tuple(pieces)
    spent = [w.id for w in wishes.piece]
    order = _joined(flow, couples)
    least, best = _used_m2(_made(pieces, order), wishes), order
    for couple in sorted(couples, key=lambda c: c.nest.gain_m2):
        other = _joined(flow, [c for c in couples if c is not couple and (c.first, c.second) in best])
        used = _used_m2(_made(pieces, other), wishes)
        if used < least - 1e-9:
            least, best = used, other
    if least > _used_m2(pieces, wishes) - 1e-9:
        return tuple(pieces)
    return renumbered(_made(pieces, best), spent, _laps(pieces, list(best)))


def _together(pieces: Sequence[Piece], before: Sequence[Piece]) -> set[tuple[int, int]]:
    """The pieces, by their places in the setting order, that lie where two lay that shared a blank."""
    shared = [p for p in before if p.second_at]
    if not shared:
        return set()
    lies = {old: new for new, old in same_places(pieces, apart(shared)).items()}
    at = {p.id: k for k, p in enumerate(pieces)}
    couples = [[at[lies[f"{p.id}{letter}"]] for letter in "ab" if f"{p.id}{letter}" in lies] for p in shared]
    return {(min(c), max(c)) for c in couples if len(c) == 2}


def _couples(flow: _Flow, solid: Solid, wishes: CoveringWishes, among: set[tuple[int, int]] | None) -> list[Couple]:
    """All pairs that fit on one blank and save something, those of a given set alone where there is one."""
    pieces = flow.pieces
    pinned = {w.id for w in wishes.piece}
    hulls: dict[int, Outline] = {}
    spare: dict[int, float] = {}
    asked = range(len(pieces)) if among is None else {k for pair in among for k in pair}
    for k, p in enumerate(pieces):
        if k in asked and p.role is Role.SHEET and p.blank_m is not None and p.id not in pinned and not p.second_at:
            hull = _hull(solid, p, (wishes.lap_required_m + wishes.allowance_m) / 2)
            if hull is not None:
                spare[k] = p.blank_m[0] * p.blank_m[1] - shapely.area(hull)
                hulls[k] = outline(shapely.get_coordinates(shapely.orient_polygons(hull))[:-1])
    most = max(spare.values(), default=0.0)
    some = sorted(sorted((k for k in hulls if spare[k] + most > LEAST_GAIN_M2), key=lambda k: (-round(spare[k], 6), k))[:MOST])
    order = [(k,) for k in range(len(pieces))]
    found = []
    for i, j in combinations(some, 2):
        if spare[i] + spare[j] < LEAST_GAIN_M2 or (among is not None and (i, j) not in among):
            continue
        if flow.slot(order, i, j) is not None:
            nest = nested(hulls[i], hulls[j], wishes.roll_width_m, wishes.roll_length_m)
            if nest is not None and nest.gain_m2 > LEAST_GAIN_M2:
                found.append(Couple(i, j, nest))
    return found


def _hull(solid: Solid, piece: Piece, half_lap_m: float) -> shapely.Polygon | None:
    """The hull of what a blank has to hold, what runs on past rims too; None where a rim's edge has no such spare material."""
    assert piece.blank_m is not None
    shapes = []
    for patch in piece.patches:
        if patch.at is None:
            return None
        shapes.append(shapely.transform(patch.polygon, patch.at.to_blank))
        for rim in (r for r in solid.rims if r.facet == patch.facet):
            a, b = solid.facet(rim.facet).frame.drop([rim.start_m, rim.end_m])
            d = (b - a) / np.hypot(*(b - a))
            for t0, t1 in spans_along(patch.polygon, a, b):
                if rim.reach_m < half_lap_m:
                    return None
                n = rim.reach_m * np.array([-d[1], d[0]])
                past = quad(a + t0 * d - n, a + t1 * d - n, a + t1 * d + n, a + t0 * d + n)
                shapes.append(shapely.intersection(shapely.transform(past, patch.at.to_blank), shapely.box(0.0, 0.0, *piece.blank_m)))
    hull = shapely.convex_hull(shapely.union_all(shapes))
    return hull if isinstance(hull, shapely.Polygon) else None


class _Flow:
    """Which pieces of a covering shed water onto one another, asked again and again; pieces go by their places in the order."""

    def __init__(self, solid: Solid, pieces: Sequence[Piece]) -> None:
        self.pieces = pieces
        self.frames = {f.id: f.frame for f in solid.facets if f.kind not in OVERHEAD}
        self.known: dict[int, dict[str, float]] = {}

    def lows_m(self, k: int) -> dict[str, float]:
        """The height of a piece's lower end on each facet that is not overhead. [m]"""
        if k not in self.known:
            lows: dict[str, float] = {}
            for q in self.pieces[k].patches:
                if q.facet in self.frames:
                    low = float(self.frames[q.facet].lift(q.outline_m)[:, 2].min())
                    lows[q.facet] = min(low, lows.get(q.facet, low))
            self.known[k] = lows
        return self.known[k]

    def sheds(self, i: int, j: int) -> bool:
        """True where two pieces lap and water runs from one onto the other: not where they stand side by side."""
        one, other = self.pieces[i], self.pieces[j]
        if one.id not in other.over and other.id not in one.over:
            return False
        mine, its = self.lows_m(i), self.lows_m(j)
        return any(abs(low - its[f]) > SIDE_BY_SIDE_M for f, low in mine.items() if f in its)

    def slot(self, order: Sequence[tuple[int, ...]], i: int, j: int) -> int | None:
        """Which of two pieces' places in an order both can take without a lap turning over that sheds; None where neither can."""
        p, q = sorted(next(n for n, group in enumerate(order) if k in group) for k in (i, j))
        between = [k for group in order[p + 1:q] for k in group]
        for stays, moves in ((p, q), (q, p)):
            if not any(self.sheds(k, other) for k in order[moves] for other in between):
                return stays
        return None


def _joined(flow: _Flow, couples: Sequence[Couple]) -> dict[tuple[int, ...], Couple | None]:
    """The setting order, each entry one piece or two with their couple; couples that cannot be joined after others are left out."""
    order: list[tuple[int, ...]] = [(k,) for k in range(len(flow.pieces))]
    taken: dict[tuple[int, ...], Couple] = {}
    for couple in couples:
        at = flow.slot(order, couple.first, couple.second)
        if at is None:
            continue
        both = couple.first, couple.second
        order = [both if n == at else group for n, group in enumerate(order) if n == at or not set(group) & set(both)]
        taken[both] = couple
    return {group: taken.get(group) for group in order}


def _made(pieces: Sequence[Piece], order: dict[tuple[int, ...], Couple | None]) -> list[Piece]:
    """The pieces of an order; ``over`` still speaks of the old ones."""
    out = []
    for group, couple in order.items():
        first = pieces[group[0]]
        if couple is not None:
            second, nest = pieces[group[1]], couple.nest
            patches = (*_moved(first, nest.first), *_moved(second, nest.second))
            first = replace(first, patches=patches, blank_m=nest.blank_m, over=(),
                            parting_m=nest.parting_m, second_at=len(first.patches))
        out.append(first)
    return out


def _laps(pieces: Sequence[Piece], groups: Sequence[tuple[int, ...]]) -> list[set[int]]:
    """For each place in an order of groups of pieces the places with which its pieces lap."""
    number = {p.id: k for k, p in enumerate(pieces)}
    place = {k: n for n, group in enumerate(groups) for k in group}
    laps: list[set[int]] = [set() for _ in groups]
    for k, piece in enumerate(pieces):
        for other in piece.over:
            n, m = place[k], place[number[other]]
            laps[n].add(m)
            laps[m].add(n)
    return laps


def _moved(piece: Piece, motion: Motion) -> list[Patch]:
    out = []
    for q in piece.patches:
        assert q.at is not None
        out.append(replace(q, at=placing(Motion(q.at.matrix(), np.array([q.at.x_m, q.at.y_m])).then(motion))))
    return out


def _used_m2(pieces: Sequence[Piece], wishes: CoveringWishes) -> float:
    blanks = [Blank(str(k), *p.blank_m, True) for k, p in enumerate(pieces) if p.role is not Role.BAND and p.blank_m is not None]
    return quick_length_m(blanks, wishes.roll_width_m, wishes.roll_length_m) * wishes.roll_width_m


def _best_match(couples: Sequence[Couple]) -> list[Couple]:
    """The pairs, each piece in one at most, that save most together."""
    of: dict[int, list[Couple]] = {}
    for c in couples:
        of.setdefault(c.first, []).append(c)
    firsts = sorted(of)

    @cache
    def best(at: int, gone: frozenset[int]) -> tuple[float, tuple[Couple, ...]]:
        if at == len(firsts):
            return 0.0, ()
        k = firsts[at]
        found = best(at + 1, gone)
        if k in gone:
            return found
        for c in of[k]:
            if c.second not in gone:
                gain, rest = best(at + 1, gone | {c.second})
                if gain + c.nest.gain_m2 > found[0] + 1e-9:
                    found = gain + c.nest.gain_m2, (c, *rest)
        return found

    return sorted(best(0, frozenset())[1], key=lambda c: (-round(c.nest.gain_m2, 6), c.first))
