"""Plane shapes of many owners at once: united, put together, taken apart, moved."""

from __future__ import annotations

import numpy as np
import shapely

from steamwright.covering.segments import Indices, Shapes
from steamwright.geometry.frame import Floats


def united(shapes: Shapes, owner: Indices, count: int) -> Shapes:
    """Unite the shapes of each owner.

    Parameters
    ----------
    shapes : ndarray, shape (n,)
        Geometries.
    owner : ndarray, shape (n,)
        Their owners, below ``count``.
    count : int
        The number of owners.

    Returns
    -------
    whole : ndarray, shape (count,)
        A geometry for each owner, empty for those without shapes.

    References
    ----------
    own derivation
    """
    order = np.argsort(owner, kind="stable")
    shapes, owner = shapes[order], owner[order]
    place = np.arange(len(owner)) - np.searchsorted(owner, owner)
    table = np.full((count, int(place.max(initial=0)) + 1), None, dtype=object)
    table[owner, place] = shapes
    return np.asarray(shapely.union_all(table, axis=1))


def gathered(areas: Shapes, owner: Indices, count: int) -> Shapes:
    """Put the areas of each owner together, which lie apart from one another.

    Parameters
    ----------
    areas : ndarray, shape (n,)
        Polygons or multipolygons.
    owner : ndarray, shape (n,)
        Their owners, below ``count``.
    count : int
        The number of owners.

    Returns
    -------
    whole : ndarray, shape (count,)
        A multipolygon for each owner, empty for those without areas.

    References
    ----------
    own derivation
    """
    parts, which = shapely.get_parts(areas, return_index=True)
    who, dense = np.unique(owner[which], return_inverse=True)
    out = np.full(count, shapely.MultiPolygon(), dtype=object)
    if len(parts):
        order = np.argsort(dense, kind="stable")
        out[who] = shapely.multipolygons(parts[order], indices=dense[order])
    return out


def in_turns(lines: Shapes) -> list[tuple[Indices, Shapes]]:
    """Take lines apart: the first line of each entry, then the second of those that have one, and so on.

    To take the ground beside several lines away one after the other costs less than to join it first.

    Parameters
    ----------
    lines : ndarray, shape (n,)
        Lines of one part or several; None for those without.

    Returns
    -------
    turns : list of (ndarray, ndarray)
        Which entries have a line in this turn, and the lines.

    References
    ----------
    own derivation
    """
    some = np.flatnonzero(shapely.is_geometry(lines))
    parts, of = shapely.get_parts(lines[some], return_index=True)
    rank = np.arange(len(of)) - np.searchsorted(of, of)
    return [(some[of[rank == r]], parts[rank == r]) for r in range(int(rank.max(initial=-1)) + 1)]


def moved(shapes: Shapes, turn: Floats, shift_m: Floats) -> Shapes:
    """Move every shape by its own motion.

    Parameters
    ----------
    shapes : ndarray, shape (n,)
        Geometries.
    turn : ndarray, shape (n, 2, 2)
        What turns or flips each of them.
    shift_m : ndarray, shape (n, 2)
        How far each is shifted after that. [m]

    Returns
    -------
    moved : ndarray, shape (n,)
        The same geometries elsewhere.

    References
    ----------
    own derivation
    """
    points, which = shapely.get_coordinates(shapes, return_index=True)
    there = np.einsum("nij,nj->ni", turn[which], points) + shift_m[which]
    return np.asarray(shapely.set_coordinates(shapes.copy(), there))
