"""Where along the joints of a room one and the same piece lies on both facets with what is left of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely

from steamwright.covering.room_facts import RoomFacts
from steamwright.covering.segments import Indices, Shapes, same_owner
from steamwright.covering.spans import Span, merged, missing, total
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
    """

    def __init__(self, facts: RoomFacts, ground: Shapes, facet: Indices, piece: Indices) -> None:
        self.facts = facts
        self.judged = [i for i, j in enumerate(facts.joints)
                       if any(facts.surfaces[k].facet.covering_by is CoveredBy.PIECES for k in j.joint.facets)]
        number = {k: n for n, k in enumerate(facts.surfaces)}
        sides = [s for i in self.judged for s in facts.joints[i].sides]
        self.patch, at = same_owner(facet, np.array([number[s.facet] for s in sides], dtype=np.intp))
        self.joint, self.side = np.array(self.judged, dtype=np.intp)[at // 2], at % 2
        # of a joint and a piece in one number
        self.key = self.joint * (int(piece.max(initial=0)) + 1) + piece[self.patch]
        ends = np.array([s.line_m + CRACK_TOL_M * s.inward for s in sides]).reshape(-1, 2, 2)
        lines = shapely.linestrings(ends) if len(ends) else np.zeros(0, dtype=object)
        run = ends[:, 1] - ends[:, 0]
        self.origin, self.run, self.line = ends[at, 0], (run / np.hypot(run[:, 0], run[:, 1])[:, None])[at], lines[at]
        both = np.isin(self.key, self.key[self.side == 0]) & np.isin(self.key, self.key[self.side == 1])
        both[both] = shapely.intersects(self.line[both], ground[self.patch[both]])
        for name in ("patch", "joint", "side", "key", "origin", "run", "line"):
            setattr(self, name, getattr(self, name)[both])

    def bare(self, joints: Sequence[int], left: Callable[[Indices], Shapes]) -> dict[int, list[Span]]:
        """Stretches of joints that no piece crosses.

        Parameters
        ----------
        joints : sequence of int
            Numbers of the joints.
        left : callable
            Tells what is left of patches by their numbers.

        Returns
        -------
        bare_m : dict of int to list of (float, float)
            For each joint that fails, stretches from its start. [m]

        References
        ----------
        own derivation
        """
        asked = np.flatnonzero(np.isin(self.joint, np.asarray(joints, dtype=np.intp)))
        row, low, high = self._spans(shapely.intersection(self.line[asked], left(self.patch[asked])), asked)
        one, two = (np.flatnonzero(self.side[row] == side) for side in (0, 1))
        i, j = same_owner(self.key[row[one]], self.key[row[two]])
        low, high = np.maximum(low[one[i]], low[two[j]]), np.minimum(high[one[i]], high[two[j]])
        crossed: dict[int, list[Span]] = {}
        for k, a, b in zip(self.joint[row[one[i]]].tolist(), low.tolist(), high.tolist(), strict=True):
            if b > a:
                crossed.setdefault(k, []).append((a, b))
        out = {}
        for k in joints:
            length = self.facts.joints[k].length_m
            gaps = missing(merged(crossed.get(k, [])), length)
            if total(gaps) > min(JOINT_TOL_M, 0.5 * length):
                out[k] = gaps
        return out

    def _spans(self, hits: Shapes, asked: Indices) -> tuple[Indices, Floats, Floats]:
        """From what is left along each line to stretches from the joint's start."""
        parts, owner = shapely.get_parts(hits, return_index=True)
        points, part = shapely.get_coordinates(parts, return_index=True)
        if not len(points):
            return np.zeros(0, np.intp), np.zeros(0), np.zeros(0)
        row = asked[owner[part]]
        along = np.einsum("ni,ni->n", points - self.origin[row], self.run[row])
        first = np.flatnonzero(np.diff(part, prepend=-1))
        return row[first], np.minimum.reduceat(along, first), np.maximum.reduceat(along, first)
