"""How many layers lie on one another: counted by overlaying the patches of each facet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from steamwright.covering.model import LayerCount, Piece
from steamwright.covering.segments import Indices, Shapes, same_owner
from steamwright.geometry.frame import Floats, Point2
from steamwright.room.model import Solid

SLIVER_M = 5e-4
"""Half the width of an overlap that is no layer to anyone's hand."""
APART_M = 1000.0
"""Facets are laid side by side on one sheet, this far apart, so that one search serves all."""


@dataclass(frozen=True, slots=True)
class ThickPlace:
    """A place where more layers lie on one another than a bed of mortar takes well; in the facet's (s, t). [m]"""

    facet: str
    layers: int
    at_m: Point2
    area_m2: float


def side_by_side(shapes: Shapes, facet: Indices) -> Shapes:
    """Lay the shapes of all facets on one common sheet.

    Parameters
    ----------
    shapes : ndarray, shape (n,)
        Geometries in the (s, t) of their facets.
    facet : ndarray, shape (n,)
        Number of the facet of each (count).

    Returns
    -------
    apart : ndarray, shape (n,)
        Those of one facet lie as they did, those of different facets apart.

    References
    ----------
    own derivation
    """
    points, which = shapely.get_coordinates(shapes, return_index=True)
    points[:, 0] += facet[which] * APART_M
    return np.asarray(shapely.set_coordinates(shapes.copy(), points))


def deepest_layers(solid: Solid, pieces: Sequence[Piece]) -> tuple[LayerCount, ...]:
    """Count the most layers at one point of each facet.

    Parameters
    ----------
    solid : Solid
        The room.
    pieces : sequence of Piece
        The covering.

    Returns
    -------
    counts : tuple of LayerCount
        One for each facet on which patches lie, in the room's order.

    References
    ----------
    own derivation
    """
    overlay = _Overlay(solid, pieces)
    out: list[LayerCount] = []
    for k in np.unique(overlay.facet[overlay.heaps[0][:, 0]]).tolist():
        for heaps in reversed(overlay.heaps):
            if (shape := overlay.largest(heaps[overlay.facet[heaps[:, 0]] == k])) is not None:
                out.append(LayerCount(solid.facets[k].id, heaps.shape[1], _inside(shape, k)))
                break
    return tuple(out)


def thick_places(solid: Solid, pieces: Sequence[Piece], more_than: int = 3) -> tuple[ThickPlace, ...]:
    """Find the places where many layers lie on one another.

    Parameters
    ----------
    solid : Solid
        The room.
    pieces : sequence of Piece
        The covering.
    more_than : int
        The number of layers that is still well.

    Returns
    -------
    places : tuple of ThickPlace
        Connected places with more layers than that, each with its deepest count, in the room's order.

    References
    ----------
    own derivation
    """
    overlay = _Overlay(solid, pieces)
    found = [overlay.shapes(heaps) for heaps in overlay.heaps[more_than:]]
    if not found:
        return ()
    out = []
    for k in np.unique(found[0][1]).tolist():
        for place in shapely.get_parts(shapely.union_all(found[0][0][found[0][1] == k])):
            layers, deepest = more_than + 1, place
            for more, (shapes, facet) in enumerate(found[1:], start=1):
                here = shapes[(facet == k) & shapely.intersects(shapes, place)]
                if len(here):
                    layers, deepest = more_than + 1 + more, here[0]
            out.append(ThickPlace(solid.facets[k].id, layers, _inside(deepest, k), float(place.area)))
    return tuple(out)


def _inside(shape: shapely.Geometry, facet: int) -> Point2:
    """A point of a shape on the common sheet, back in its facet's (s, t). [m]"""
    at = shape.representative_point()
    return round(at.x - facet * APART_M, 7), round(at.y, 7)


class _Overlay:
    """The patches of all facets on the common sheet, and heaps of them: those that may have ground in common, by their number.

    ``heaps[n]`` holds the numbers of ``n + 1`` patches in every row, ascending. That they share ground is known only when
    they are laid over one another, which takes long: boxes, and whether each two of them meet, leave few to be tried.
    """

    def __init__(self, solid: Solid, pieces: Sequence[Piece]) -> None:
        number = {f.id: k for k, f in enumerate(solid.facets)}
        patches = [(number[p.facet], p.polygon) for piece in pieces for p in piece.patches]
        self.facet = np.array([k for k, _ in patches], dtype=np.intp)
        ground = side_by_side(np.array([g for _, g in patches], dtype=object), self.facet)
        # a patch thinned by a sliver's half-width overlaps another only where that overlap is worth the name
        self.thin = shapely.buffer(ground, -SLIVER_M, join_style="mitre")
        self.boxes = shapely.bounds(self.thin)
        self.known: dict[tuple[int, ...], shapely.Geometry] = {(k,): shape for k, shape in enumerate(self.thin)}
        one, two = shapely.STRtree(self.thin).query(self.thin, predicate="intersects")
        self.pairs = np.stack([one, two], axis=1)[one < two]
        self.meet = np.zeros((len(patches), len(patches)), dtype=bool)
        self.meet[self.pairs[:, 0], self.pairs[:, 1]] = True
        self.heaps = [np.flatnonzero(~shapely.is_empty(self.thin))[:, None]]
        while len(more := self._higher(self.heaps[-1])):
            self.heaps.append(more)

    def _higher(self, heaps: Indices) -> Indices:
        """Every heap with one patch more that meets all of it."""
        pair, heap = same_owner(self.pairs[:, 0], heaps[:, -1])
        higher = np.concatenate([heaps[heap], self.pairs[pair, 1:]], axis=1)
        higher = higher[self.meet[higher[:, :-1], higher[:, -1:]].all(axis=1)]
        return np.asarray(higher[self._box_m2(higher) > SLIVER_M**2])

    def _box_m2(self, heaps: Indices) -> Floats:
        """The ground that the boxes of a heap have in common."""
        boxes = self.boxes[heaps]
        return np.asarray(np.clip(boxes[..., 2:].min(axis=1) - boxes[..., :2].max(axis=1), 0.0, None).prod(axis=1))

    def _shape(self, heap: tuple[int, ...]) -> shapely.Geometry:
        """The ground that all of a heap share."""
        if heap not in self.known:
            self.known[heap] = self._shape(heap[:-1]).intersection(self.thin[heap[-1]])
        return self.known[heap]

    def shapes(self, heaps: Indices) -> tuple[Shapes, Indices]:
        """The ground that the patches of each heap share, where it is worth the name, and its facets."""
        shapes = np.array([self._shape(tuple(heap)) for heap in heaps.tolist()], dtype=object)
        real = shapely.area(shapes) > SLIVER_M**2
        return shapes[real], self.facet[heaps[real, 0]]

    def largest(self, heaps: Indices) -> shapely.Geometry | None:
        """The largest ground that the patches of one of some heaps share; of equal ones that of the first."""
        most, best = SLIVER_M**2, None
        first = len(heaps)
        box_m2 = self._box_m2(heaps)
        for k in np.argsort(-box_m2, kind="stable").tolist():
            if box_m2[k] < most * (1.0 - 1e-9):
                break
            shape = self._shape(tuple(heaps[k].tolist()))
            if (shape.area, -k) > (most, -first):
                most, first, best = shape.area, k, shape
        return best
