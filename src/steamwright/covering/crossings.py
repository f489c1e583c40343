"""Where along the joints of a room one and the same piece lies on both facets with what is left of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from steamwright.covering.room_facts import RoomFacts
from steamwright.covering.segments import Indices, Shapes, ring_edges, same_owner
from steamwright.covering.spans import Span, merged, missing, shared, total
from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy

CRACK_TOL_M = 2e-5
"""Half the width of a crack that is the arithmetic's and not the covering's; also how far from a joint it is watched."""
JOINT_TOL_M = 2e-3
"""How much of a joint may stay uncrossed: the ends of joints of a measured room are known no better."""


class Crossings:
    """Which pieces can cross which joint: lines a hair inside each facet, and the patches that touch them.

    Parameters
    ----------
    facts : RoomFacts
        The room.
    ground : ndarray, shape (n,)
        The patches in the (s, t) of their facets.
    facet : ndarray, shape (n,)
        The place of each patch's facet in ``facts.surfaces``.
    piece : ndarray, shape (n,)
        The number of each patch's piece.
    wide : ndarray of bool, shape (n,)
        The patches that are judged first; of the others only what lies where those leave a joint bare.
    """

    def __init__(self, facts: RoomFacts, ground: Shapes, facet: Indices, piece: Indices, wide: NDArray[np.bool_]) -> None:
        self.facts, self.ground = facts, ground
        self.judged = [i for i, j in enumerate(facts.joints)
                       if any(facts.surfaces[k].facet.covering_by is CoveredBy.PIECES for k in j.joint.facets)]
        number = {k: n for n, k in enumerate(facts.surfaces)}
        sides = [s for i in self.judged for s in facts.joints[i].sides]
        self.patch, at = same_owner(facet, np.array([number[s.facet] for s in sides], dtype=np.intp))
        self.joint, self.side = np.array(self.judged, dtype=np.intp)[at // 2], at % 2
        # of a joint and a piece in one number
        self.key = self.joint * (int(piece.max(initial=0)) + 1) + piece[self.patch]
        ends = np.array([s.line_m + CRACK_TOL_M * s.inward for s in sides]).reshape(-1, 2, 2)
        run = ends[:, 1] - ends[:, 0]
        length = np.hypot(run[:, 0], run[:, 1])
        self.origin, self.run, self.length = ends[at, 0], (run / length[:, None])[at], length[at]
        line = shapely.linestrings(ends[at]) if len(at) else np.zeros(0, dtype=object)
        both = np.isin(self.key, self.key[self.side == 0]) & np.isin(self.key, self.key[self.side == 1])
        both[both] = shapely.intersects(line[both], ground[self.patch[both]])
        self.wide = wide[self.patch]
        for name in ("wide", "patch", "joint", "side", "key", "origin", "run", "length"):
            setattr(self, name, getattr(self, name)[both])

    def bare(self, joints: Sequence[int], left: Callable[[Indices], Shapes],
             loses: Callable[[Indices, Shapes], NDArray[np.bool_]]) -> dict[int, list[Span]]:
        """Stretches of joints that no piece crosses.

        Parameters
        ----------
        joints : sequence of int
            Numbers of the joints.
        left : callable
            Tells what is left of patches by their numbers.
        loses : callable
            Tells which patches may have lost something in certain places, by their numbers and the places.

        Returns
        -------
        bare_m : dict of int to list of (float, float)
            For each joint that fails, stretches from its start. [m]

        References
        ----------
        own derivation
        """
        asked = np.isin(self.joint, np.asarray(joints, dtype=np.intp))
        row = np.flatnonzero(asked & self.wide)
        bare = self._bare(joints, left(self.patch[row]), row, np.zeros(len(row)), self.length[row])
        if not bare:
            return bare
        # of the others first those that have lost nothing where a joint is bare, then all
        asked &= np.isin(self.joint, list(bare))
        asked &= np.isin(self.key, self.key[asked & ~self.wide])
        row, low, high = self._stretches(np.flatnonzero(asked), bare)
        wide = self.wide[row]
        lost = wide.copy()
        lost[~wide] = loses(self.patch[row[~wide]], self._lines(row[~wide], low[~wide], high[~wide]))
        for among in (wide | ~lost, np.ones(len(row), dtype=bool)):
            k = np.flatnonzero(among & np.isin(self.joint[row], list(bare)))
            shapes = self.ground[self.patch[row[k]]].copy()
            shapes[lost[k]] = left(self.patch[row[k[lost[k]]]])
            still = self._bare(list(bare), shapes, row[k], low[k], high[k])
            both = {j: shared(bare[j], spans) for j, spans in still.items()}
            bare = {j: spans for j, spans in both.items() if self._matters(j, spans)}
        return bare

    def _stretches(self, row: Indices, bare: dict[int, list[Span]]) -> tuple[Indices, Floats, Floats]:
        """Every row once for each stretch of its joint."""
        spans = [bare[k] for k in self.joint[row].tolist()]
        ends = np.array([span for some in spans for span in some]).reshape(-1, 2)
        return np.repeat(row, [len(some) for some in spans]), ends[:, 0], ends[:, 1]

    def _lines(self, row: Indices, low: Floats, high: Floats) -> Shapes:
        """Stretches of joints in the facets of rows."""
        ends = self.origin[row, None] + np.stack([low, high], axis=1)[..., None] * self.run[row, None]
        return np.asarray(shapely.linestrings(ends)) if len(row) else np.zeros(0, dtype=object)

    def _matters(self, joint: int, spans: list[Span]) -> bool:
        return total(spans) > min(JOINT_TOL_M, 0.5 * self.facts.joints[joint].length_m)

    def _bare(self, joints: Sequence[int], left: Shapes, row: Indices, low: Floats, high: Floats) -> dict[int, list[Span]]:
        """Stretches of joints that what is left of some patches does not cross; each patch counts from ``low`` to ``high``."""
        row, low, high = self._inside(left, row, low, high)
        one, two = (np.flatnonzero(self.side[row] == side) for side in (0, 1))
        i, j = same_owner(self.key[row[one]], self.key[row[two]])
        low, high = np.maximum(low[one[i]], low[two[j]]), np.minimum(high[one[i]], high[two[j]])
        crossed: dict[int, list[Span]] = {}
        for k, a, b in zip(self.joint[row[one[i]]].tolist(), low.tolist(), high.tolist(), strict=True):
            if b > a:
                crossed.setdefault(k, []).append((a, b))
        gaps = {k: missing(merged(crossed.get(k, [])), self.facts.joints[k].length_m) for k in joints}
        return {k: spans for k, spans in gaps.items() if self._matters(k, spans)}

    def _inside(self, left: Shapes, row: Indices, low: Floats, high: Floats) -> tuple[Indices, Floats, Floats]:
        """Where lines run inside what is left of their patches: from every odd crossing of an edge to the next. [m]"""
        edges, which = ring_edges(left)
        row, low, high = row[which], low[which], high[which]
        rel = edges - self.origin[row, None]
        run = self.run[row, None]
        along, off = rel[..., 0] * run[..., 0] + rel[..., 1] * run[..., 1], rel[..., 1] * run[..., 0] - rel[..., 0] * run[..., 1]
        # an end on the line counts with one side, so that the crossings of a ring are even in number
        over = (off[:, 0] > 0.0) != (off[:, 1] > 0.0)
        which, along, off = which[over], along[over], off[over]
        where = along[:, 0] + (along[:, 1] - along[:, 0]) * off[:, 0] / (off[:, 0] - off[:, 1])
        order = np.lexsort((where, which))
        row, low, high = (x[over][order[::2]] for x in (row, low, high))
        low, high = np.maximum(low, where[order[::2]]), np.minimum(high, where[order[1::2]])
        inside = high > low
        return row[inside], low[inside], high[inside]
