"""The pieces of which every edge is free, drawn in whole and carried back onto their facets."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from steamwright.covering.lying import Lying
from steamwright.covering.owned import moved
from steamwright.covering.segments import Indices, Shapes

ARC_SEGMENTS = 16


class Bodies:
    """Each piece once, and how its patches lie on it.

    Parameters
    ----------
    lying : sequence of Lying
        All patches; those whose piece has no body are never asked for.
    """

    def __init__(self, lying: Sequence[Lying]) -> None:
        _, first, self.of = np.unique([x.piece for x in lying], return_index=True, return_inverse=True)
        self.body: Shapes = np.array([lying[k].body for k in first], dtype=object)
        turn = np.array([x.at.matrix() if x.at is not None else np.eye(2) for x in lying]).reshape(-1, 2, 2)
        shift = np.array([(x.at.x_m, x.at.y_m) if x.at is not None else (0.0, 0.0) for x in lying]).reshape(-1, 2)
        # from the blank back to the facet
        self.turn = turn.transpose(0, 2, 1)
        self.shift = -np.einsum("nij,nj->ni", self.turn, shift)

    def drawn_in(self, which: Indices, by_m: float) -> Shapes:
        """Move all edges of bodies inward.

        Parameters
        ----------
        which : ndarray, shape (n,)
            Numbers of patches.
        by_m : float
            How far. [m]

        Returns
        -------
        inner : ndarray, shape (n,)
            The body of each, in the plane of its facet.

        References
        ----------
        own derivation
        """
        asked, of = np.unique(self.of[which], return_inverse=True)
        inner = shapely.buffer(self.body[asked], -by_m, quad_segs=ARC_SEGMENTS)
        return moved(inner[of], self.turn[which], self.shift[which])
