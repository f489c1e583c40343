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
        bare = self._bare(joints, row, left(self.patch[row]))
        if not bare:
            return bare
        # of the others first those that have lost nothing where joints are bare, then all
        lost = self.wide | ~asked
        row = np.flatnonzero(asked & ~self.wide & np.isin(self.joint, list(bare)))
        lost[row] = loses(self.patch[row], self._places(row, bare))
        for among in (asked & (self.wide | ~lost), asked):
            row = np.flatnonzero(among & np.isin(self.joint, list(bare)))
            shapes = self.ground[self.patch[row]].copy()
            shapes[lost[row]] = left(self.patch[row[lost[row]]])
            still = self._bare(list(bare), row, shapes)
            both = {k: shared(bare[k], spans) for k, spans in still.items()}
            bare = {k: spans for k, spans in both.items() if self._matters(k, spans)}
        return bare

    def _places(self, row: Indices, bare: dict[int, list[Span]]) -> Shapes:
        """Stretches of the joint of each row, in its facet."""
        joint = self.joint[row].tolist()
        at = np.repeat(np.arange(len(row)), [len(bare[k]) for k in joint])
        spans = np.array([span for k in joint for span in bare[k]]).reshape(-1, 2)
        if not len(spans):
            return np.zeros(0, dtype=object)
        ends = self.origin[row[at], None] + spans[..., None] * self.run[row[at], None]
        return np.asarray(shapely.multilinestrings(shapely.linestrings(ends), indices=at))

    def _matters(self, joint: int, spans: list[Span]) -> bool:
        return total(spans) > min(JOINT_TOL_M, 0.5 * self.facts.joints[joint].length_m)

    def _bare(self, joints: Sequence[int], row: Indices, left: Shapes) -> dict[int, list[Span]]:
        """Stretches of joints that what is left of some patches does not cross."""
        row, low, high = self._spans(row, left)
        one, two = (np.flatnonzero(self.side[row] == side) for side in (0, 1))
        i, j = same_owner(self.key[row[one]], self.key[row[two]])
        low, high = np.maximum(low[one[i]], low[two[j]]), np.minimum(high[one[i]], high[two[j]])
        crossed: dict[int, list[Span]] = {}
        for k, a, b in zip(self.joint[row[one[i]]].tolist(), low.tolist(), high.tolist(), strict=True):
            if b > a:
                crossed.setdefault(k, []).append((a, b))
        gaps = {k: missing(merged(crossed.get(k, [])), self.facts.joints[k].length_m) for k in joints}
        return {k: spans for k, spans in gaps.items() if self._matters(k, spans)}

    def _spans(self, row: Indices, left: Shapes) -> tuple[Indices, Floats, Floats]:
        """Where lines run inside what is left of their patches: from every odd crossing of an edge to the next. [m]"""
        edges, owner = ring_edges(left)
        row = row[owner]
        rel = edges - self.origin[row, None]
        run = self.run[row, None]
        along, off = rel[..., 0] * run[..., 0] + rel[..., 1] * run[..., 1], rel[..., 1] * run[..., 0] - rel[..., 0] * run[..., 1]
        # an end on the line counts with one side, so that the crossings of a ring are even in number
        over = (off[:, 0] > 0.0) != (off[:, 1] > 0.0)
        row, along, off = row[over], along[over], off[over]
        where = along[:, 0] + (along[:, 1] - along[:, 0]) * off[:, 0] / (off[:, 0] - off[:, 1])
        order = np.lexsort((where, row))
        row, ends = row[order[::2]], np.clip(where[order], 0.0, self.length[row[order]]).reshape(-1, 2)
        inside = ends[:, 1] > ends[:, 0]
        return row[inside], ends[inside, 0], ends[inside, 1]
