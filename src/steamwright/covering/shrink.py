"""The shrink test: what is left of all pieces when their free edges move inward by half the lap."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from steamwright.covering.bodies import ARC_SEGMENTS, Bodies
from steamwright.covering.crossings import CRACK_TOL_M, Crossings
from steamwright.covering.lying import Lying
from steamwright.covering.owned import gathered, in_turns, united
from steamwright.covering.room_facts import ROOM_TOL_M, JointSide, RoomFacts
from steamwright.covering.segments import Indices, Shapes, same_owner
from steamwright.covering.spans import Span
from steamwright.room.model import CoveredBy

EDGE_TOL_M = 1e-5
"""Taken off the distance by which an edge moves, so that a lap of exactly what is asked for passes."""
GAP_M2 = 1e-7
WIDE_M2 = 0.03
"""Patches larger than this are judged first; of the others only what lies where those leave something bare."""


class Shrink:
    """The test for one covering; what is left of a patch is worked out once for each lap and kept for the lap in hand."""

    def __init__(self, facts: RoomFacts, lying: Sequence[Lying], reach_m: float) -> None:
        self.facts, self.lying, self.reach_m = facts, lying, reach_m
        self.ground: Shapes = np.array([x.ground for x in lying], dtype=object)
        self.bodies = Bodies(lying)
        self.free: Shapes = np.array([x.free for x in lying], dtype=object)
        self.turns = in_turns(self.free)
        self.piece: Indices = np.array([x.piece for x in lying], dtype=np.intp)
        self.alone = np.array([x.alone for x in lying], dtype=bool)
        self.eroded = np.array([x.body is not None for x in lying], dtype=bool)
        number = {k: n for n, k in enumerate(facts.surfaces)}
        facet: Indices = np.array([number[x.facet] for x in lying], dtype=np.intp)
        self.wide = self.eroded | (shapely.area(self.ground) > WIDE_M2)
        self.on = {k: np.flatnonzero(facet == n) for k, n in number.items()}
        self.covered = [k for k, s in facts.surfaces.items() if s.facet.covering_by is CoveredBy.PIECES]
        self.wanted = _wanted(facts, self.covered)
        self._left: dict[float, Shapes] = {}
        self._gaps: dict[tuple[str, float], BaseGeometry | None] = {}
        self._crossing = Crossings(facts, self.ground, facet, self.piece, self.wide)
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

    def left_at(self, which: Indices, where: Shapes, lap_m: float) -> Shapes:
        """What is left of some patches in certain places; elsewhere it may be more than what is left.

        Parameters
        ----------
        which : ndarray, shape (n,)
            Their numbers.
        where : ndarray, shape (n,)
            The place for each in its facet's (s, t).
        lap_m : float
            The lap. [m]

        Returns
        -------
        left : ndarray, shape (n,)
            Geometries in the facets' (s, t).

        References
        ----------
        own derivation
        """
        out = self.ground[which].copy()
        loses = self.loses(which, where, lap_m)
        out[loses] = self.left(which[loses], lap_m)
        return np.asarray(out)

    def loses(self, which: Indices, where: Shapes, lap_m: float) -> NDArray[np.bool_]:
        """Which patches may have lost something in certain places.

        Parameters
        ----------
        which : ndarray, shape (n,)
            Their numbers.
        where : ndarray, shape (n,)
            The place for each in its facet's (s, t).
        lap_m : float
            The lap. [m]

        Returns
        -------
        loses : ndarray of bool, shape (n,)
            False where all free edges are farther than half the lap from the place.

        References
        ----------
        own derivation
        """
        return np.asarray(self.eroded[which] | shapely.dwithin(self.free[which], where, lap_m / 2.0))

    def _shrunk(self, which: Indices, by_m: float) -> Shapes:
        out = self.ground[which].copy()
        if by_m <= 0.0:
            return np.asarray(out)
        k = np.flatnonzero(self.eroded[which])
        out[k] = self.bodies.drawn_in(which[k], by_m)
        k = np.flatnonzero(self.eroded[which] & ~self.alone[which])
        out[k] = shapely.intersection(out[k], self.ground[which[k]])
        place = np.full(len(self.lying), -1)
        place[which] = np.arange(len(which))
        for rows, lines in self.turns:
            k = place[rows]
            asked = k >= 0
            if asked.any():
                k = k[asked]
                out[k] = shapely.difference(out[k], shapely.buffer(lines[asked], by_m, quad_segs=ARC_SEGMENTS))
        return np.asarray(out)

    def bare_of(self, facets: Sequence[str], lap_m: float) -> Shapes:
        """What the shrunk pieces leave bare of facets that pieces cover, cracks of the arithmetic among it.

        Parameters
        ----------
        facets : sequence of str
            Facet ids.
        lap_m : float
            The lap. [m]

        Returns
        -------
        bare : ndarray, shape (n,)
            Geometries in the facets' (s, t), most of them empty.

        References
        ----------
        own derivation
        """
        bare = self.wanted[[self.covered.index(k) for k in facets]]
        wide, at = self._on(facets, self.wide)
        bare = shapely.difference(bare, united(self.left(wide, lap_m), at, len(facets)))
        parts, of = shapely.get_parts(bare, return_index=True)
        more, at = self._on(facets, ~self.wide)
        part, k = same_owner(of, at)
        loses = self.loses(more[k], parts[part], lap_m)
        for judged in (~loses, loses):
            meets = judged.copy()
            meets[judged] = shapely.intersects(self.ground[more[k[judged]]], parts[part[judged]])
            patch, of_part = more[k[meets]], part[meets]
            left = self.ground[patch] if judged is not loses else self.left(patch, lap_m)
            parts = shapely.difference(parts, united(left, of_part, len(parts)))
        return gathered(parts, of, len(facets))

    def _on(self, facets: Sequence[str], among: NDArray[np.bool_]) -> tuple[Indices, Indices]:
        """Those of certain patches that lie on facets, and the place of each one's facet among these."""
        on = [x[among[x]] for x in (self.on[k] for k in facets)]
        return np.concatenate([*on, np.zeros(0, dtype=np.intp)]), np.repeat(np.arange(len(on)), [len(x) for x in on])

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
        if (facet, lap_m) not in self._gaps:
            self._gaps[facet, lap_m] = opened(self.bare_of([facet], lap_m))[0]
        return self._gaps[facet, lap_m]

    def rest(self, facet: str, bare: BaseGeometry, lap_m: float) -> BaseGeometry | None:
        """What stays bare at a lesser lap of what is bare at a larger one.

        Parameters
        ----------
        facet : str
            Facet id.
        bare : BaseGeometry
            What is bare of it at the larger lap.
        lap_m : float
            The lesser lap. [m]

        Returns
        -------
        gap : BaseGeometry or None
            In the facet's (s, t), None where nothing is bare. [m]

        References
        ----------
        own derivation
        """
        near = self.on[facet][shapely.intersects(self.ground[self.on[facet]], bare)]
        return opened(shapely.difference([bare], shapely.union_all(self.left_at(near, np.full(len(near), bare), lap_m))))[0]

    def leg_gaps(self, sides: Sequence[JointSide], lap_m: float) -> list[BaseGeometry | None]:
        """What is bare of the strips beside joints on which pieces lap somebody else's membrane.

        Parameters
        ----------
        sides : sequence of JointSide
            The sides of joints on facets that are made tight by something else.
        lap_m : float
            The lap. [m]

        Returns
        -------
        gaps : list of BaseGeometry or None
            In the facets' (s, t), None where nothing is bare. [m]

        References
        ----------
        own derivation
        """
        deep = lap_m / 2.0 - EDGE_TOL_M
        if deep <= ROOM_TOL_M or not sides:
            return [None] * len(sides)
        lines, inward = np.array([s.line_m for s in sides]), np.array([s.inward for s in sides])
        # the hair inside the facet's edges is not taken off the leg
        far = lines + (deep + ROOM_TOL_M) * inward[:, None]
        strips = shapely.polygons(np.concatenate([lines, far[:, ::-1]], axis=1))
        shapes = [self.facts.surfaces[s.facet].polygon for s in sides]
        want = shapely.buffer(shapely.intersection(shapes, strips), -ROOM_TOL_M, quad_segs=ARC_SEGMENTS)
        on = [self.on[s.facet] for s in sides]
        near = [x[shapely.intersects(self.ground[x], strip)] for x, strip in zip(on, strips, strict=True)]
        at = np.repeat(np.arange(len(near)), [len(x) for x in near])
        return opened(shapely.difference(want, united(self.left_at(np.concatenate(near), want[at], lap_m), at, len(near))))

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
        return self._crossing.bare(joints, lambda which: self.left(which, lap_m),
                                   lambda which, where: self.loses(which, where, lap_m))

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

    def failing(self, joints: Sequence[int], lap_m: float) -> list[int]:
        """Those of some joints that fail for a lap, in their crossing or in a leg.

        Parameters
        ----------
        joints : sequence of int
            Numbers of the joints.
        lap_m : float
            The lap. [m]

        Returns
        -------
        failing : list of int
            Numbers of those that do.

        References
        ----------
        own derivation
        """
        bare = self.bare(joints, lap_m)
        legs = [(j, side) for j in joints for side in self.legs(j)]
        short = {j for (j, _), gap in zip(legs, self.leg_gaps([side for _, side in legs], lap_m), strict=True) if gap is not None}
        return [j for j in joints if j in bare or j in short]

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


def _wanted(facts: RoomFacts, facets: Sequence[str]) -> Shapes:
    """What has to be covered of facets: all but their pipes, a hair inside their edges."""
    surfaces = [facts.surfaces[k] for k in facets]
    ground = [s.polygon.difference(shapely.union_all([c.buffer(ROOM_TOL_M) for _, c in s.pipes])) if s.pipes else s.polygon
              for s in surfaces]
    return np.asarray(shapely.buffer(np.array(ground, dtype=object), -ROOM_TOL_M, quad_segs=ARC_SEGMENTS))


def opened(bare: Shapes) -> list[BaseGeometry | None]:
    """What of bare areas is no crack of the arithmetic.

    Parameters
    ----------
    bare : ndarray, shape (n,)
        The areas.

    Returns
    -------
    gaps : list of BaseGeometry or None
        None where nothing is left.

    References
    ----------
    own derivation
    """
    out: list[BaseGeometry | None] = [None] * len(bare)
    large = np.flatnonzero(shapely.area(bare) > GAP_M2)
    for k, gap in zip(large.tolist(), shapely.buffer(bare[large], -CRACK_TOL_M, quad_segs=ARC_SEGMENTS), strict=True):
        out[k] = gap if gap.area > GAP_M2 else None
    return out
