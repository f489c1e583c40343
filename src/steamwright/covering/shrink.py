"""The shrink test: what is left of all pieces when their free edges move inward by half the lap."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from steamwright.covering.lying import Lying
from steamwright.covering.room_facts import ROOM_TOL_M, JointSide, RoomFacts
from steamwright.covering.segments import Indices, Shapes, same_owner
from steamwright.covering.spans import Span, merged, missing, shared, total
from steamwright.geometry.frame import Floats
from steamwright.room.model import CoveredBy

EDGE_TOL_M = 1e-5
"""Taken off the distance by which an edge moves, so that a lap of exactly what is asked for passes."""
CRACK_TOL_M = 2e-5
"""Half the width of a crack that is the arithmetic's and not the covering's; also how far from a joint it is watched."""
GAP_M2 = 1e-7
JOINT_TOL_M = 2e-3
"""How much of a joint may stay uncrossed: the ends of joints of a measured room are known no better."""
ARC_SEGMENTS = 16


class Shrink:
    """The test for one covering; what is left of a patch is worked out once for each lap and kept for the lap in hand."""

    def __init__(self, facts: RoomFacts, lying: Sequence[Lying], reach_m: float) -> None:
        self.facts, self.lying, self.reach_m = facts, lying, reach_m
        self.ground: Shapes = np.array([x.ground for x in lying], dtype=object)
        self.body: Shapes = np.array([x.body for x in lying], dtype=object)
        self.free = _in_turns(np.array([x.free for x in lying], dtype=object))
        self.piece: Indices = np.array([x.piece for x in lying], dtype=np.intp)
        self.alone = np.array([x.alone for x in lying], dtype=bool)
        self.eroded = np.array([x.body is not None for x in lying], dtype=bool)
        self.on = {k: np.array([i for i, x in enumerate(lying) if x.facet == k], dtype=np.intp) for k in facts.surfaces}
        self.covered = [k for k, s in facts.surfaces.items() if s.facet.covering_by is CoveredBy.PIECES]
        self._wanted: dict[str, BaseGeometry] = {}
        self._left: dict[float, Shapes] = {}
        self._crossing = _Crossings(self)
        self.joints = self._crossing.judged

    def left(self, which: Indices, lap_m: float) -> Shapes:
        """What is left of some patches.

        Parameters
        ----------
        which : ndarray, shape (n,)
            Their numbers.
        lap_m : float
            The lap. [m]

        Returns
        -------
        left : ndarray, shape (n,)
            Geometries in the facets' (s, t).

        Raises
        ------
        ValueError
            If the lap is larger than the one for which the pieces were read.

        References
        ----------
        own derivation
        """
        if lap_m > 2.0 * self.reach_m:
            raise ValueError(f"pieces were read for laps up to {2.0 * self.reach_m} m, not {lap_m} m")
        known = self._left.get(lap_m)
        if known is None:
            known = self._left[lap_m] = np.full(len(self.lying), None, dtype=object)
        new = which[shapely.is_missing(known[which])]
        if len(new):
            known[new] = self._shrunk(new, lap_m / 2.0 - EDGE_TOL_M)
        return np.asarray(known[which])

    def _shrunk(self, which: Indices, by_m: float) -> Shapes:
        out = self.ground[which].copy()
        if by_m <= 0.0:
            return np.asarray(out)
        k = np.flatnonzero(self.eroded[which])
        out[k] = shapely.buffer(self.body[which[k]], -by_m, quad_segs=ARC_SEGMENTS)
        k = np.flatnonzero(self.eroded[which] & ~self.alone[which])
        out[k] = shapely.intersection(out[k], self.ground[which[k]])
        for rows, lines in self.free:
            k, n = same_owner(which, rows)
            out[k] = shapely.difference(out[k], shapely.buffer(lines[n], by_m, quad_segs=ARC_SEGMENTS))
        return np.asarray(out)

    def wanted(self, facet: str) -> BaseGeometry:
        """What has to be covered of a facet: all but its pipes, a hair inside its edges.

        Parameters
        ----------
        facet : str
            Facet id.

        Returns
        -------
        wanted : BaseGeometry
            In the facet's (s, t).

        References
        ----------
        own derivation
        """
        if facet not in self._wanted:
            s = self.facts.surfaces[facet]
            ground = s.polygon.difference(shapely.union_all([c.buffer(ROOM_TOL_M) for _, c in s.pipes])) if s.pipes else s.polygon
            self._wanted[facet] = ground.buffer(-ROOM_TOL_M)
        return self._wanted[facet]

    def gap(self, facet: str, lap_m: float) -> BaseGeometry | None:
        """What the shrunk pieces leave bare of a facet that pieces cover.

        Parameters
        ----------
        facet : str
            Facet id.
        lap_m : float
            The lap. [m]

        Returns
        -------
        gap : BaseGeometry or None
            In the facet's (s, t), None where nothing is bare. [m]

        References
        ----------
        own derivation
        """
        return _opened(self.wanted(facet), self.left(self.on[facet], lap_m))

    def leg_gap(self, joint: int, side: JointSide, lap_m: float) -> BaseGeometry | None:
        """What is bare of the strip beside a joint on which pieces lap somebody else's membrane.

        Parameters
        ----------
        joint : int
            Number of the joint.
        side : JointSide
            Its side on the facet that is made tight by something else.
        lap_m : float
            The lap. [m]

        Returns
        -------
        gap : BaseGeometry or None
            In the facet's (s, t), None where nothing is bare. [m]

        References
        ----------
        own derivation
        """
        deep = lap_m / 2.0 - EDGE_TOL_M
        if deep <= ROOM_TOL_M:
            return None
        # the hair inside the facet's edges is not taken off the leg
        a, b = side.line_m
        far = (deep + ROOM_TOL_M) * side.inward
        strip = Polygon([a, b, b + far, a + far])
        want = self.facts.surfaces[side.facet].polygon.intersection(strip).buffer(-ROOM_TOL_M)
        return _opened(want, self.left(self.on[side.facet], lap_m))

    def bare(self, joints: Sequence[int], lap_m: float) -> dict[int, list[Span]]:
        """Stretches of joints that no piece crosses with what is left of it.

        Parameters
        ----------
        joints : sequence of int
            Numbers of the joints.
        lap_m : float
            The lap. [m]

        Returns
        -------
        bare_m : dict of int to list of (float, float)
            For each joint that fails, stretches from its start. [m]

        References
        ----------
        own derivation
        """
        return self._crossing.bare(joints, lap_m)

    def legs(self, joint: int) -> list[JointSide]:
        """The sides of a joint on which somebody else's membrane ends.

        Parameters
        ----------
        joint : int
            Number of the joint.

        Returns
        -------
        sides : list of JointSide
            None, one or both.

        References
        ----------
        own derivation
        """
        surfaces = self.facts.surfaces
        return [s for s in self.facts.joints[joint].sides if surfaces[s.facet].facet.covering_by is CoveredBy.OTHER]

    def joint_fails(self, joint: int, lap_m: float) -> bool:
        """Whether a joint fails for a lap, in its crossing or in its leg.

        Parameters
        ----------
        joint : int
            Number of the joint.
        lap_m : float
            The lap. [m]

        Returns
        -------
        fails : bool
            True where it does.

        References
        ----------
        own derivation
        """
        return bool(self.bare([joint], lap_m)) or any(self.leg_gap(joint, s, lap_m) is not None for s in self.legs(joint))

    def forget(self, lap_m: float) -> None:
        """Drop what is left for a lap that will not be asked for again.

        Parameters
        ----------
        lap_m : float
            The lap. [m]

        References
        ----------
        own derivation
        """
        self._left.pop(lap_m, None)


def _in_turns(free: Shapes) -> list[tuple[Indices, Shapes]]:
    """The free edges of all patches line by line: the first line of each, then the second of those that have one, and so on.

    To take the ground beside several lines away one after the other costs less than to join it first.
    """
    some = np.flatnonzero(shapely.is_geometry(free))
    lines, of = shapely.get_parts(free[some], return_index=True)
    rank = np.arange(len(of)) - np.searchsorted(of, of)
    return [(some[of[rank == r]], lines[rank == r]) for r in range(int(rank.max(initial=-1)) + 1)]


def _opened(want: BaseGeometry, left: Shapes) -> BaseGeometry | None:
    """What of an area stays bare, cracks of the arithmetic apart."""
    bare = want.difference(shapely.union_all(left)) if len(left) else want
    if bare.area <= GAP_M2:
        return None
    bare = bare.buffer(-CRACK_TOL_M)
    return bare if bare.area > GAP_M2 else None


class _Crossings:
    """Which pieces can cross which joint: lines a hair inside each facet, and the patches that touch them."""

    def __init__(self, shrink: Shrink) -> None:
        facts = shrink.facts
        self.shrink = shrink
        self.judged = [i for i, j in enumerate(facts.joints)
                       if any(facts.surfaces[k].facet.covering_by is CoveredBy.PIECES for k in j.joint.facets)]
        joint, side, patch = [], [], []
        for i in self.judged:
            a, b = (shrink.on[s.facet] for s in facts.joints[i].sides)
            both = np.intersect1d(shrink.piece[a], shrink.piece[b])
            for h, on in enumerate((a, b)):
                near = on[np.isin(shrink.piece[on], both)]
                joint += [i] * len(near)
                side += [h] * len(near)
                patch += list(near)
        self.joint, self.side, self.patch = (np.array(x, dtype=np.intp) for x in (joint, side, patch))
        ends = np.array([[s.line_m + CRACK_TOL_M * s.inward for s in j.sides] for j in facts.joints]).reshape(-1, 2, 2, 2)
        self.origin = ends[self.joint, self.side, 0]
        run = ends[self.joint, self.side, 1] - self.origin
        self.run = run / np.hypot(run[:, 0], run[:, 1])[:, None]
        lines = shapely.linestrings(ends.reshape(-1, 2, 2)).reshape(-1, 2) if len(ends) else np.empty((0, 2), dtype=object)
        self.line = lines[self.joint, self.side]
        touch = shapely.intersects(self.line, shrink.ground[self.patch])
        for name in ("joint", "side", "patch", "origin", "run", "line"):
            setattr(self, name, getattr(self, name)[touch])

    def bare(self, joints: Sequence[int], lap_m: float) -> dict[int, list[Span]]:
        """See ``Shrink.bare``."""
        asked = np.flatnonzero(np.isin(self.joint, np.asarray(joints, dtype=np.intp)))
        crossed: dict[tuple[int, int], tuple[list[Span], list[Span]]] = {}
        if len(asked):
            hits = shapely.intersection(self.line[asked], self.shrink.left(self.patch[asked], lap_m))
            for k, low, high in zip(*self._spans(hits, asked), strict=True):
                key = (int(self.joint[k]), int(self.shrink.piece[self.patch[k]]))
                crossed.setdefault(key, ([], []))[self.side[k]].append((float(low), float(high)))
        by_joint: dict[int, list[Span]] = {}
        for (j, _), (one, two) in crossed.items():
            by_joint.setdefault(j, []).extend(shared(one, two))
        out = {}
        for j in joints:
            gaps = missing(merged(by_joint.get(j, [])), self.shrink.facts.joints[j].length_m)
            if total(gaps) > min(JOINT_TOL_M, 0.5 * self.shrink.facts.joints[j].length_m):
                out[j] = gaps
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
