"""Pieces that are cut from a blank: whether the blank is honest, and the piece unfolded into the plane of each of its facets."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from steamwright.covering.lying import PATCH_TOL_M, RIM_TOL_M, Lying, Row, rim_stretches
from steamwright.covering.model import Piece
from steamwright.covering.places import place_on
from steamwright.covering.segments import chains, near_parts, points_at, ring_array_segments, ring_segments, without
from steamwright.geometry.frame import Floats

TOUCH_M = 1e-4
"""Two images nearer than this touch on the blank, and have to touch in the room."""
CRACK_M = 5e-6
"""Half of the gap between two images that are still one material."""
BLANK_TOL_M = 5e-5

Shapes = NDArray[np.object_]


class Folding:
    """The blanks of many patches at once: ``blank = turn · facet + shift`` for every row."""

    def __init__(self, rows: Sequence[Row]) -> None:
        placings = [row.at for row in rows if row.at is not None]
        self.rows = rows
        self.turn = np.array([p.matrix() for p in placings]).reshape(-1, 2, 2)
        self.shift = np.array([[p.x_m, p.y_m] for p in placings]).reshape(-1, 2)
        self.images: Shapes = _moved(np.array([r.ground for r in rows], dtype=object), self.turn, self.shift)
        frames = [r.surface.facet.frame for r in rows]
        axes = np.array([[f.u, f.v] for f in frames]).reshape(-1, 2, 3).transpose(0, 2, 1)
        # room = lift · blank + root
        self.lift = axes @ self.turn.transpose(0, 2, 1)
        self.root = np.array([f.origin_m for f in frames]).reshape(-1, 3) - np.einsum("nij,nj->ni", self.lift, self.shift)

    def back(self, shapes: Shapes, rows: NDArray[np.intp]) -> Shapes:
        """Carry shapes from the blanks to the facets of rows."""
        inverse = self.turn[rows].transpose(0, 2, 1)
        return _moved(shapes, inverse, -np.einsum("nij,nj->ni", inverse, self.shift[rows]))

    def in_room(self, rows: NDArray[np.intp], points_m: Floats) -> Floats:
        """Carry points from the blanks of rows into the room; shape (n, 3). [m]"""
        return np.asarray(np.einsum("nij,nj->ni", self.lift[rows], points_m) + self.root[rows])


def _moved(shapes: Shapes, turn: Floats, shift: Floats) -> Shapes:
    """Move every shape by its own motion."""
    points, which = shapely.get_coordinates(shapes, return_index=True)
    there = np.einsum("nij,nj->ni", turn[which], points) + shift[which]
    return np.asarray(shapely.set_coordinates(shapes.copy(), there))


def read_blanks(pieces: Sequence[Piece], groups: dict[int, list[Row]]) -> tuple[list[Lying], list[str]]:
    """Judge the blanks, and unfold every piece into the plane of each of its facets.

    Parameters
    ----------
    pieces : sequence of Piece
        The covering.
    groups : dict of int to list of Row
        The patches of each piece that has a blank; all of them have their place on it.

    Returns
    -------
    lying : list of Lying
        The patches with their free edges.
    faults : list of str
        Blanks that are too small, images that overlap, folds that are none.

    References
    ----------
    own derivation
    """
    if not groups:
        return [], []
    rows = [row for group in groups.values() for row in group]
    folding = Folding(rows)
    starts = np.cumsum([0, *(len(g) for g in groups.values())])
    spans = {piece: (int(a), int(b)) for piece, a, b in zip(groups, starts[:-1], starts[1:], strict=True)}
    faults = _small_blanks(pieces, folding, spans)
    faults += _overlaps(pieces, folding, spans)
    faults += _false_folds(pieces, folding, spans)
    return _unfolded(folding, spans), faults


def _unfolded(folding: Folding, spans: dict[int, tuple[int, int]]) -> list[Lying]:
    """The whole of each piece, or its free edges where some are not, in the plane of every patch."""
    grown = shapely.buffer(folding.images, CRACK_M, join_style="mitre")
    whole = np.empty(len(folding.rows), dtype=object)
    lines = np.empty(len(folding.rows), dtype=object)
    for a, b in spans.values():
        body = shapely.union_all(grown[a:b]) if b - a > 1 else folding.images[a]
        held = [(k, line) for k in range(a, b) for line in rim_stretches(folding.rows[k])]
        whole[a:b] = body
        if held:
            free = ring_segments(body)
            for k, line in held:
                free = without(free, line @ folding.turn[k].T + folding.shift[k], RIM_TOL_M)
            whole[a:b], lines[a:b] = None, chains(free)
    for shapes in (whole, lines):
        some = np.flatnonzero(shapely.is_geometry(shapes))
        if len(some):
            shapes[some] = folding.back(shapes[some], some)
    alone = {k for a, b in spans.values() if b - a == 1 for k in (a,)}
    return [Lying(row.piece, row.surface.facet.id, row.ground, whole[k], lines[k], k in alone) for k, row in enumerate(folding.rows)]


def _small_blanks(pieces: Sequence[Piece], folding: Folding, spans: dict[int, tuple[int, int]]) -> list[str]:
    """Images that reach past their blank."""
    boxes = shapely.bounds(folding.images)
    out = []
    for piece, (a, b) in spans.items():
        length, width = pieces[piece].blank_m or (0.0, 0.0)
        low, high = boxes[a:b, :2].min(axis=0), boxes[a:b, 2:].max(axis=0)
        past = max(float(-low.min()), float(high[0] - length), float(high[1] - width))
        if past > BLANK_TOL_M:
            out.append(f"piece {pieces[piece].id}: its blank of {length:.4f} m × {width:.4f} m is too small by {past * 1000:.1f} mm")
    return out


def _overlaps(pieces: Sequence[Piece], folding: Folding, spans: dict[int, tuple[int, int]]) -> list[str]:
    """Images that lie on one another on the blank."""
    boxes = shapely.bounds(folding.images)
    pairs = np.array([(i, j) for a, b in spans.values() for i in range(a, b) for j in range(i + 1, b)], dtype=np.intp).reshape(-1, 2)
    i, j = pairs[:, 0], pairs[:, 1]
    over = np.minimum(boxes[i, 2:], boxes[j, 2:]) - np.maximum(boxes[i, :2], boxes[j, :2])
    near = (over > CRACK_M).all(axis=1)
    i, j = i[near], j[near]
    area = shapely.area(shapely.intersection(folding.images[i], folding.images[j]))
    return [f"piece {pieces[folding.rows[p].piece].id}: on the blank, what lies on {folding.rows[p].surface.facet.name} and what lies on "
            f"{folding.rows[q].surface.facet.name} overlap by {m2 * 1e4:.2f} cm²" for p, q, m2 in zip(i, j, area, strict=True) if m2 > 1e-7]


def _false_folds(pieces: Sequence[Piece], folding: Folding, spans: dict[int, tuple[int, int]]) -> list[str]:
    """Edges that two images share on the blank, and that do not coincide in the room."""
    folded = [k for a, b in spans.values() if b - a > 1 for k in range(a, b)]
    if not folded:
        return []
    rings, owner = shapely.get_rings(folding.images[folded], return_index=True)
    edges, ring = ring_array_segments(rings)
    row = np.asarray(folded, dtype=np.intp)[owner[ring]]
    long = np.hypot(*(edges[:, 1] - edges[:, 0]).T) > 1e-9
    edges, row = edges[long], row[long]
    i, j = _edge_pairs(edges, row, np.array([r.piece for r in folding.rows])[row])
    first, last = near_parts(edges[i], edges[j], TOUCH_M)
    length = np.hypot(*(edges[j, 1] - edges[j, 0]).T)
    hit = (last - first) * length > 10 * TOUCH_M
    i, j, first, last = i[hit], j[hit], first[hit], last[hit]
    out: dict[tuple[int, int], str] = {}
    for share in (first, last):
        points = points_at(edges[j], share)
        gap = np.linalg.norm(folding.in_room(row[i], points) - folding.in_room(row[j], points), axis=1)
        for k in np.flatnonzero(gap > PATCH_TOL_M):
            p, q = int(row[i[k]]), int(row[j[k]])
            s, t = folding.turn[p].T @ (points[k] - folding.shift[p])
            out.setdefault((p, q), (
                f"piece {pieces[folding.rows[p].piece].id}: no fold between {folding.rows[p].surface.facet.name} and "
                f"{folding.rows[q].surface.facet.name}: one edge on the blank, {gap[k] * 1000:.1f} mm apart in the room, "
                f"near {place_on(folding.rows[p].surface.facet, (s, t))}"))
    return [out[k] for k in sorted(out)]


def _edge_pairs(edges: Floats, row: NDArray[np.intp], piece: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of edges of different patches of one piece whose boxes touch."""
    cuts = np.flatnonzero(np.diff(piece)) + 1
    first, second = [], []
    for a, b in zip([0, *cuts], [*cuts, len(piece)], strict=True):
        n = b - a
        first.append(a + np.repeat(np.arange(n), n))
        second.append(a + np.tile(np.arange(n), n))
    i, j = np.concatenate(first), np.concatenate(second)
    apart = row[i] < row[j]
    i, j = i[apart], j[apart]
    low, high = edges.min(axis=1), edges.max(axis=1)
    near = ((low[i] <= high[j] + TOUCH_M) & (low[j] <= high[i] + TOUCH_M)).all(axis=1)
    return i[near], j[near]
