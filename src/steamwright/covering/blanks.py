"""Pieces that are cut from a blank: whether the blank is honest, and the piece unfolded into the plane of each of its facets."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from steamwright.covering.lying import PATCH_TOL_M, RIM_TOL_M, Lying, Row, rim_stretches
from steamwright.covering.model import Piece
from steamwright.covering.owned import moved, united
from steamwright.covering.places import place_on
from steamwright.covering.segments import Indices, Shapes, chains, edges_of, near_parts, pared, points_at, same_owner, within_reach
from steamwright.geometry.frame import Floats

TOUCH_M = 1e-4
"""Two images nearer than this touch on the blank, and have to touch in the room."""
CRACK_M = 5e-6
"""Half of the gap between two images that are still one material."""
BLANK_TOL_M = 5e-5


class Folding:
    """The blanks of many patches at once: ``blank = turn · facet + shift`` for every row."""

    def __init__(self, rows: Sequence[Row]) -> None:
        placings = [row.at for row in rows if row.at is not None]
        self.rows = rows
        self.turn = np.array([p.matrix() for p in placings]).reshape(-1, 2, 2)
        self.shift = np.array([[p.x_m, p.y_m] for p in placings]).reshape(-1, 2)
        self.images: Shapes = moved(np.array([r.ground for r in rows], dtype=object), self.turn, self.shift)
        frames = [r.surface.facet.frame for r in rows]
        axes = np.array([[f.u, f.v] for f in frames]).reshape(-1, 2, 3).transpose(0, 2, 1)
        # room = lift · blank + root
        self.lift = axes @ self.turn.transpose(0, 2, 1)
        self.root = np.array([f.origin_m for f in frames]).reshape(-1, 3) - np.einsum("nij,nj->ni", self.lift, self.shift)

    def in_room(self, rows: Indices, points_m: Floats) -> Floats:
        """Carry points from the blanks of rows into the room; shape (n, 3). [m]"""
        return np.asarray(np.einsum("nij,nj->ni", self.lift[rows], points_m) + self.root[rows])


def read_blanks(pieces: Sequence[Piece], groups: dict[int, list[Row]], reach_m: float) -> tuple[list[Lying], list[str]]:
    """Judge the blanks, and unfold every piece into the plane of each of its facets.

    Parameters
    ----------
    pieces : sequence of Piece
        The covering.
    groups : dict of int to list of Row
        The patches of each piece that has a blank; all of them have their place on it.
    reach_m : float
        Half of the largest lap that will be asked for: free edges farther off than this do not matter to a patch. [m]

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
    return _unfolded(folding, spans, reach_m), faults


def _unfolded(folding: Folding, spans: dict[int, tuple[int, int]], reach_m: float) -> list[Lying]:
    """The whole of each piece, or its free edges where some are not, in the plane of every patch."""
    rows = folding.rows
    ends = list(spans.values())
    group = np.repeat(np.arange(len(ends)), [b - a for a, b in ends])
    body = _bodies(folding.images, ends)
    rimmed = [k for k, row in enumerate(rows) if row.surface.rims]
    edges, owner = edges_of(np.array([rows[k].ground for k in rimmed], dtype=object))
    on_rim, at = rim_stretches([rows[k] for k in rimmed], edges, owner)
    row = np.array(rimmed, dtype=np.intp)[at]
    on_rim = np.einsum("nij,nkj->nki", folding.turn[row], on_rim) + folding.shift[row][:, None]
    held = np.unique(group[row])
    edges, owner = edges_of(body[held])
    free, owner = pared(on_rim, group[row], edges, held[owner], RIM_TOL_M)
    # every patch of such a piece sees the free edges that it can reach, in its own plane
    which, on = same_owner(owner, group)
    ground = np.array([r.ground for r in rows], dtype=object)
    seen = np.einsum("nji,nkj->nki", folding.turn[on], free[which] - folding.shift[on][:, None])
    lines = chains(*within_reach(seen, on, ground, reach_m), len(rows))
    body[held] = None
    alone = np.array([b - a == 1 for a, b in ends])[group]
    return [Lying(r.piece, r.surface.facet.id, r.ground, body[g], lines[k], bool(alone[k]), r.at)
            for k, (r, g) in enumerate(zip(rows, group.tolist(), strict=True))]


def _bodies(images: Shapes, ends: list[tuple[int, int]]) -> Shapes:
    """Each piece whole: its images joined over cracks that are the arithmetic's alone."""
    group = np.repeat(np.arange(len(ends)), [b - a for a, b in ends])
    several = np.array([b - a > 1 for a, b in ends])
    out = images[[a for a, _ in ends]]
    joined = several[group]
    grown = shapely.buffer(images[joined], CRACK_M, join_style="mitre")
    out[several] = united(grown, (np.cumsum(several) - 1)[group[joined]], int(several.sum()))
    return np.asarray(out)


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
    # on the grid: a plain overlay takes images that meet along a fold to overlap here and there
    area = shapely.area(shapely.intersection(folding.images[i], folding.images[j], grid_size=1e-9))
    return [f"piece {pieces[folding.rows[p].piece].id}: on the blank, what lies on {folding.rows[p].surface.facet.name} and what lies on "
            f"{folding.rows[q].surface.facet.name} overlap by {m2 * 1e4:.2f} cm²" for p, q, m2 in zip(i, j, area, strict=True) if m2 > 1e-7]


def _false_folds(pieces: Sequence[Piece], folding: Folding, spans: dict[int, tuple[int, int]]) -> list[str]:
    """Edges that two images share on the blank, and that do not coincide in the room."""
    folded = [k for a, b in spans.values() if b - a > 1 for k in range(a, b)]
    if not folded:
        return []
    edges, owner = edges_of(folding.images[folded])
    row = np.asarray(folded, dtype=np.intp)[owner]
    i, j = _edge_pairs(edges, row, shapely.bounds(folding.images), *_touching(folding, spans))
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


def _touching(folding: Folding, spans: dict[int, tuple[int, int]]) -> tuple[Indices, Indices]:
    """Pairs of images on one blank whose boxes touch."""
    boxes = shapely.bounds(folding.images)
    pairs = np.array([(i, j) for a, b in spans.values() for i in range(a, b) for j in range(i + 1, b)], dtype=np.intp).reshape(-1, 2)
    one, two = boxes[pairs[:, 0]], boxes[pairs[:, 1]]
    near = ((one[:, :2] <= two[:, 2:] + TOUCH_M) & (two[:, :2] <= one[:, 2:] + TOUCH_M)).all(axis=1)
    return pairs[near, 0], pairs[near, 1]


def _edge_pairs(edges: Floats, row: Indices, boxes: Floats, one: Indices, two: Indices) -> tuple[Indices, Indices]:
    """Pairs of edges, one of each image of a pair, whose boxes touch."""
    low, high = edges.min(axis=1) - TOUCH_M, edges.max(axis=1)

    def near(image: Indices, other: Indices) -> tuple[Indices, Indices]:
        edge, pair = same_owner(row, image)
        box = boxes[other[pair]]
        meets = ((low[edge] <= box[:, 2:]) & (high[edge] >= box[:, :2] - TOUCH_M)).all(axis=1)
        return edge[meets], pair[meets]
    i, of = near(one, two)
    j, against = near(two, one)
    a, b = same_owner(of, against)
    i, j = i[a], j[b]
    touch = ((low[i] <= high[j]) & (low[j] <= high[i])).all(axis=1)
    return i[touch], j[touch]
