"""How many layers lie on one another: counted by overlaying the patches of each facet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from steamwright.covering.model import LayerCount, Piece
from steamwright.geometry.frame import Point2
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


@dataclass(frozen=True, slots=True)
class _Depth:
    """All stretches of ground where ``layers`` certain patches overlap: their shapes on the common sheet and their facets."""

    layers: int
    shapes: NDArray[np.object_]
    facet: NDArray[np.intp]


def side_by_side(shapes: NDArray[np.object_], facet: NDArray[np.intp]) -> NDArray[np.object_]:
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
    most: dict[int, LayerCount] = {}
    for depth in _depths(solid, pieces):
        for k in np.unique(depth.facet):
            shapes = depth.shapes[depth.facet == k]
            most[int(k)] = LayerCount(solid.facets[k].id, depth.layers, _inside(shapes[np.argmax(shapely.area(shapes))], int(k)))
    return tuple(most[k] for k in sorted(most))


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
    depths = [d for d in _depths(solid, pieces) if d.layers > more_than]
    if not depths:
        return ()
    out = []
    for k in np.unique(depths[0].facet):
        shapes = depths[0].shapes[depths[0].facet == k]
        for place in shapely.get_parts(shapely.union_all(shapes)):
            layers, deepest = depths[0].layers, place
            for d in depths[1:]:
                here = d.shapes[(d.facet == k) & shapely.intersects(d.shapes, place)]
                if len(here):
                    layers, deepest = d.layers, here[0]
            out.append(ThickPlace(solid.facets[k].id, layers, _inside(deepest, int(k)), float(place.area)))
    return tuple(out)


def _inside(shape: shapely.Geometry, facet: int) -> Point2:
    """A point of a shape on the common sheet, back in its facet's (s, t). [m]"""
    at = shape.representative_point()
    return round(at.x - facet * APART_M, 7), round(at.y, 7)


def _depths(solid: Solid, pieces: Sequence[Piece]) -> list[_Depth]:
    """Overlaps of one patch, two, three and so on, each of them wider than a sliver."""
    number = {f.id: k for k, f in enumerate(solid.facets)}
    patches = [(number[p.facet], p.polygon) for piece in pieces for p in piece.patches]
    if not patches:
        return []
    facet = np.array([k for k, _ in patches], dtype=np.intp)
    ground = np.array([g for _, g in patches], dtype=object)
    ground = side_by_side(ground, facet)
    # a patch thinned by a sliver's half-width overlaps another only where that overlap is worth the name
    thin = shapely.buffer(ground, -SLIVER_M, join_style="mitre")
    tree = shapely.STRtree(thin)
    last = np.flatnonzero(~shapely.is_empty(thin))
    shapes = thin[last]
    out: list[_Depth] = []
    while len(shapes):
        out.append(_Depth(len(out) + 1, shapes, facet[last]))
        a, b = tree.query(shapes)
        later = b > last[a]
        a, b = a[later], b[later]
        met = shapely.intersection(shapes[a], thin[b])
        real = shapely.area(met) > SLIVER_M**2
        shapes, last = met[real], b[real]
    return out
