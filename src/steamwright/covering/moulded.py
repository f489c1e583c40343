"""Ready-made corner pieces and collars, which have no blank: unfolded over each of their folds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from steamwright.covering.lying import RIM_TOL_M, Lying, Row, rim_stretches
from steamwright.covering.model import Piece, Role
from steamwright.covering.room_facts import JointLine, JointSide, RoomFacts
from steamwright.covering.segments import Span, chains, ring_segments, shared, spans_on, without
from steamwright.geometry.frame import Floats

REACH_M = 0.35
"""The largest ready-made piece, measured along the room's axes."""
FOLD_TOL_M = 1e-4


@dataclass(frozen=True, slots=True)
class _Fold:
    """Patch ``one`` is folded onto patch ``two`` along a stretch of a joint."""

    one: int
    two: int
    mine: JointSide
    theirs: JointSide
    stretch: Span


def read_moulded(facts: RoomFacts, pieces: Sequence[Piece], groups: dict[int, list[Row]]) -> tuple[list[Lying], list[str]]:
    """Find the free edges of ready-made pieces, their own and those of the patch across each fold.

    Parameters
    ----------
    facts : RoomFacts
        The room.
    pieces : sequence of Piece
        The covering.
    groups : dict of int to list of Row
        The patches of each piece without a blank.

    Returns
    -------
    lying : list of Lying
        The patches with their free edges.
    faults : list of str
        Pieces that may not lack a blank.

    References
    ----------
    own derivation
    """
    lying: list[Lying] = []
    faults: list[str] = []
    for i, rows in groups.items():
        faults += _not_ready_made(pieces[i], rows)
        if len(rows) == 1 and not rows[0].surface.rims:
            row = rows[0]
            lying.append(Lying(i, row.surface.facet.id, row.ground, row.ground, None, True))
        else:
            lying += _over_folds(facts, i, rows)
    return lying, faults


def _not_ready_made(piece: Piece, rows: list[Row]) -> list[str]:
    """Why a piece may not lack a blank."""
    if piece.role not in (Role.CORNER_PIECE, Role.COLLAR) or not piece.item:
        return [f"piece {piece.id}: a {piece.role.value.replace('_', ' ')} without a blank has to be a ready-made corner piece or collar "
                "of the catalog"]
    points = np.vstack([row.surface.facet.frame.lift(shapely.get_coordinates(row.ground)) for row in rows])
    reach = float(np.ptp(points, axis=0).max())
    if reach > REACH_M + 1e-6:
        names = ", ".join(dict.fromkeys(row.surface.facet.name for row in rows))
        return [f"piece {piece.id}: oversize moulded {piece.role.value.replace('_', ' ')} on {names}: it reaches {reach:.3f} m, "
                f"ready-made ones reach {REACH_M} m at most"]
    return []


def _over_folds(facts: RoomFacts, piece: int, rows: list[Row]) -> list[Lying]:
    """The free edges of each patch and, unfolded, of those next to it."""
    edges = [ring_segments(row.ground) for row in rows]
    free = list(edges)
    for k, row in enumerate(rows):
        for line in rim_stretches(row):
            free[k] = without(free[k], line, RIM_TOL_M)
    folds = _folds(facts, rows, edges)
    for f in folds:
        o, d = _start_and_run(f.mine)
        free[f.one] = without(free[f.one], np.array([o + f.stretch[0] * d, o + f.stretch[1] * d]), FOLD_TOL_M)
    seen = [np.concatenate([free[k], *(_unfold(free[f.two], f.theirs, f.mine) for f in folds if f.one == k)]) for k in range(len(rows))]
    return [Lying(piece, row.surface.facet.id, row.ground, None, chains(seen[k]), len(rows) == 1) for k, row in enumerate(rows)]


def _folds(facts: RoomFacts, rows: list[Row], edges: list[Floats]) -> list[_Fold]:
    """Where two patches of one piece share a stretch of a joint."""
    out = []
    on = {row.surface.facet.id for row in rows}
    joints: list[JointLine] = [j for j in facts.joints if j.joint.facets[0] in on and j.joint.facets[1] in on]
    for j in joints:
        for i, one in enumerate(rows):
            for k, two in enumerate(rows):
                if (one.surface.facet.id, two.surface.facet.id) != j.joint.facets:
                    continue
                mine, theirs = j.sides
                stretches = shared(spans_on(mine.line_m, edges[i], FOLD_TOL_M), spans_on(theirs.line_m, edges[k], FOLD_TOL_M))
                for s in stretches:
                    if s[1] - s[0] > 10 * FOLD_TOL_M:
                        out += [_Fold(i, k, mine, theirs, s), _Fold(k, i, theirs, mine, s)]
    return out


def _start_and_run(side: JointSide) -> tuple[Floats, Floats]:
    """Where a joint starts and its unit direction, in the facet's (s, t)."""
    run = side.line_m[1] - side.line_m[0]
    return side.line_m[0], np.asarray(run / np.hypot(*run))


def _unfold(segments_m: Floats, theirs: JointSide, mine: JointSide) -> Floats:
    """Turn segments of the facet across a joint into the plane of this one, beyond the joint."""
    o, d = _start_and_run(theirs)
    here, along = _start_and_run(mine)
    rel = segments_m - o
    return np.asarray(here + (rel @ d)[..., None] * along - (rel @ theirs.inward)[..., None] * mine.inward)
