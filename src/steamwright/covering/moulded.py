"""Ready-made corner pieces and collars, which have no blank: unfolded over each of their folds."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import shapely

from steamwright.covering.lying import RIM_TOL_M, Lying, Row, rim_stretches, stretches
from steamwright.covering.model import Piece, Role
from steamwright.covering.room_facts import JointSide, RoomFacts
from steamwright.covering.segments import Indices, chains, contacts, edges_of, pared, same_owner, within_reach
from steamwright.covering.spans import Span, shared
from steamwright.geometry.frame import Floats

REACH_M = 0.35
"""The largest ready-made piece, measured along the room's axes."""
FOLD_TOL_M = 1e-4


@dataclass(frozen=True, slots=True)
class _Fold:
    """Row ``one`` is folded onto row ``two`` along a stretch of a joint."""

    one: int
    two: int
    mine: JointSide
    theirs: JointSide
    stretch: Span


def read_moulded(facts: RoomFacts, pieces: Sequence[Piece], groups: dict[int, list[Row]],
                 reach_m: float) -> tuple[list[Lying], list[str]]:
    """Find the free edges of ready-made pieces, their own and those of the patch across each fold.

    Parameters
    ----------
    facts : RoomFacts
        The room.
    pieces : sequence of Piece
        The covering.
    groups : dict of int to list of Row
        The patches of each piece without a blank.
    reach_m : float
        Half of the largest lap that will be asked for: free edges farther off than this do not matter to a patch. [m]

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
    far = _reaches_m(groups.values())
    faults = [fault for (i, rows), far_m in zip(groups.items(), far, strict=True) for fault in _not_ready_made(pieces[i], rows, far_m)]
    single = [rows[0] for rows in groups.values() if len(rows) == 1 and not rows[0].surface.rims]
    lying = [Lying(row.piece, row.surface.facet.id, row.ground, row.ground, None, True) for row in single]
    other = [row for rows in groups.values() if len(rows) > 1 or rows[0].surface.rims for row in rows]
    return lying + (_over_folds(facts, other, reach_m) if other else []), faults


def _reaches_m(groups: Collection[list[Row]]) -> list[float]:
    """How far each piece reaches along the room's axes."""
    rows = [row for group in groups for row in group]
    if not rows:
        return []
    points, at = shapely.get_coordinates([row.ground for row in rows], return_index=True)
    frames = [row.surface.facet.frame for row in rows]
    axes, origin = np.array([(f.u, f.v) for f in frames])[at], np.array([f.origin_m for f in frames])[at]
    lifted = np.einsum("nj,njk->nk", points, axes) + origin
    group = np.repeat(np.arange(len(groups)), [len(group) for group in groups])[at]
    low, high = np.full((len(groups), 3), np.inf), np.full((len(groups), 3), -np.inf)
    np.minimum.at(low, group, lifted)
    np.maximum.at(high, group, lifted)
    return [float(x) for x in (high - low).max(axis=1)]


def _not_ready_made(piece: Piece, rows: list[Row], reach: float) -> list[str]:
    """Why a piece may not lack a blank."""
    if piece.role not in (Role.CORNER_PIECE, Role.COLLAR) or not piece.item:
        return [f"piece {piece.id}: a {piece.role.value.replace('_', ' ')} without a blank has to be a ready-made corner piece or collar "
                "of the catalog"]
    if reach > REACH_M + 1e-6:
        names = ", ".join(dict.fromkeys(row.surface.facet.name for row in rows))
        return [f"piece {piece.id}: oversize moulded {piece.role.value.replace('_', ' ')} on {names}: it reaches {reach:.3f} m, "
                f"ready-made ones reach {REACH_M} m at most"]
    return []


def _over_folds(facts: RoomFacts, rows: list[Row], reach_m: float) -> list[Lying]:
    """The free edges of each patch and, unfolded, of those next to it."""
    ground = np.array([row.ground for row in rows], dtype=object)
    edges, owner = edges_of(ground)
    folds = _folds(facts, rows, edges, owner)
    held, at = rim_stretches(rows, edges, owner)
    folded = stretches(np.array([f.mine.line_m for f in folds]).reshape(-1, 2, 2), [f.stretch for f in folds])
    free, of = pared(held, at, edges, owner, RIM_TOL_M)
    free, of = pared(folded, np.array([f.one for f in folds], dtype=np.intp), free, of, FOLD_TOL_M)
    across, onto = _unfold(folds, free, of)
    lines = chains(*within_reach(np.concatenate([free, across]), np.concatenate([of, onto]), ground, reach_m), len(rows))
    return [Lying(row.piece, row.surface.facet.id, row.ground, None, lines[k], False) for k, row in enumerate(rows)]


def _folds(facts: RoomFacts, rows: list[Row], edges_m: Floats, owner: Indices) -> list[_Fold]:
    """Where two patches of one piece share a stretch of a joint."""
    on: dict[int, dict[str, list[int]]] = {}
    for k, row in enumerate(rows):
        on.setdefault(row.piece, {}).setdefault(row.surface.facet.id, []).append(k)
    between: dict[tuple[str, ...], list[tuple[JointSide, JointSide]]] = {}
    for joint in facts.joints:
        between.setdefault(joint.joint.facets, []).append(joint.sides)
    pairs = [(i, k, sides) for patches in on.values() for a, b in product(patches, repeat=2) for sides in between.get((a, b), [])
             for i in patches[a] for k in patches[b]]
    if not pairs:
        return []
    lines = np.array([side.line_m for _, _, sides in pairs for side in sides])
    spans = contacts(lines, np.array([k for pair in pairs for k in pair[:2]], dtype=np.intp), edges_m, owner, FOLD_TOL_M)
    out = []
    for n, (i, k, (mine, theirs)) in enumerate(pairs):
        for stretch in shared(spans[2 * n], spans[2 * n + 1]):
            if stretch[1] - stretch[0] > 10 * FOLD_TOL_M:
                out += [_Fold(i, k, mine, theirs, stretch), _Fold(k, i, theirs, mine, stretch)]
    return out


def _unfold(folds: list[_Fold], free_m: Floats, of: Indices) -> tuple[Floats, Indices]:
    """Turn the free edges of the patch across each fold into the plane of this one, beyond the joint."""
    i, j = same_owner(of, np.array([f.two for f in folds], dtype=np.intp))

    def axes(sides: list[JointSide]) -> tuple[Floats, Floats, Floats]:
        lines = np.array([s.line_m for s in sides]).reshape(-1, 2, 2)
        run = lines[:, 1] - lines[:, 0]
        inward = np.array([s.inward for s in sides]).reshape(-1, 2)
        return lines[j, :1], (run / np.hypot(run[:, 0], run[:, 1])[:, None])[j, None], inward[j, None]
    there, d, n = axes([f.theirs for f in folds])
    here, e, m = axes([f.mine for f in folds])
    rel = free_m[i] - there
    along, deep = (rel * d).sum(axis=2, keepdims=True), (rel * n).sum(axis=2, keepdims=True)
    return np.asarray(here + along * e - deep * m), np.array([f.one for f in folds], dtype=np.intp)[j]
