"""Where sheets lap in straight seams, and what becomes of the pieces when such a seam is moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.polygon import orient

from steamwright.covering.draft import GRID_M
from steamwright.covering.ground import Terrain
from steamwright.covering.model import Patch, Piece, Placing, Role, apart
from steamwright.geometry.frame import Floats, Point2

STRAIGHT_M = 1e-5
SHORTEST_M = 0.03
INSIDE_M = 1e-4
ASLANT_M = 1e-3
"""How far an edge of a leg may lie off the level, where walls are not quite square to one another."""
OVERSHOOT_M = 0.03
"""How far a leg on a sloping facet may end past the edge that it belongs to."""
OVERLAP_M2 = 1e-6
LEAST_LEFT_M = 0.02
"""A sheet is never drawn narrower than this while its seam is moved."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A straight edge of a blank: the level of ``axis`` (0 along, 1 across the blank) and on which side air is. [m]

    Where two parts are cut from one blank, ``piece`` is the part: "S7a".
    """

    piece: str
    axis: int
    level_m: float
    outward: int


@dataclass(frozen=True, slots=True)
class Stretch:
    """Where a seam lies on one facet: the edges of the sheet below and of the one over it, in (s, t), and which way is forward. [m]"""

    facet: str
    forward: Point2
    under_m: tuple[Point2, Point2]
    over_m: tuple[Point2, Point2]


@dataclass(frozen=True, slots=True)
class Seam:
    """Sheets that lap along one straight line, two or more.

    ``edges`` are all blanks' edges that move with it, each with +1 where its sheet grows when the seam moves forward.
    ``surface`` is the job file's name of its first facet, ``across`` ("s" or "t") the direction in which it moves there,
    ``from_m`` and ``to_m`` its two edges in that direction, from the facet's lower left.
    """

    id: str
    edges: tuple[tuple[Edge, int], ...]
    surface: str
    across: str
    from_m: float
    to_m: float
    lap_m: float
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """Pieces after seams were moved; ``held`` names sheets that could not follow.

    They are as wide as their roll, or what they would need lies under the other part that is cut from their blank.
    """

    pieces: tuple[Piece, ...]
    held: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Line:
    edge: Edge
    facet: str
    ends_m: Floats
    normal: Floats


def find_seams(terrain: Terrain, pieces: Sequence[Piece], widest_m: float) -> tuple[Seam, ...]:
    """Find every straight seam between sheets.

    Parameters
    ----------
    terrain : Terrain
        The room.
    pieces : sequence of Piece
        What lies in it.
    widest_m : float
        What laps by more is no seam but a sheet that lies under another one. [m]

    Returns
    -------
    seams : tuple of Seam
        In the order of the pieces; legs that are turned onto a neighbour are none.

    References
    ----------
    own derivation
    """
    sheets = apart([p for p in pieces if p.role is Role.SHEET and p.blank_m is not None])
    lines = [line for p in sheets for line in _lines(terrain, p)]
    ground = {(p.id, patch.facet): patch.polygon for p in sheets for patch in p.patches}
    place = {p.id: p.place_no for p in sheets}
    pairs = [(under, over) for under in lines for over in lines
             if under.facet == over.facet and place[under.edge.piece] < place[over.edge.piece]
             and float(under.normal @ over.normal) < -1.0 + STRAIGHT_M and 0.0 < _lap(under, over) <= widest_m
             and _abreast_m(under, over) > SHORTEST_M
             and _within(under, ground[over.edge.piece, over.facet]) and _within(over, ground[under.edge.piece, under.facet])]
    return tuple(_seam(terrain, f"seam-{k:02d}", group) for k, group in enumerate(_grouped(pairs), start=1))


def _grouped(pairs: list[tuple[_Line, _Line]]) -> list[list[tuple[_Line, _Line]]]:
    """Pairs that share an edge are one seam: it cannot move for one of them and stay for the other."""
    groups: list[list[tuple[_Line, _Line]]] = []
    for pair in pairs:
        mine = {pair[0].edge, pair[1].edge}
        joined = [g for g in groups if any(mine & {u.edge, o.edge} for u, o in g)]
        groups = [g for g in groups if g not in joined] + [[p for g in joined for p in g] + [pair]]
    return sorted(groups, key=lambda g: pairs.index(g[0]))


def _lines(terrain: Terrain, piece: Piece) -> list[_Line]:
    """The straight edges of a sheet that run along its blank's sides and end inside a facet."""
    out: list[_Line] = []
    for patch in piece.patches:
        if patch.at is None:
            continue
        border = terrain.grounds[patch.facet].polygon.boundary
        image = _image(patch, patch.at)
        ring = shapely.get_coordinates(orient(image, 1.0).exterior.simplify(STRAIGHT_M / 10))
        for a, b in pairwise(ring):
            d = b - a
            axis = 1 if abs(d[1]) < STRAIGHT_M else 0 if abs(d[0]) < STRAIGHT_M else None
            if axis is None or np.hypot(*d) < SHORTEST_M:
                continue
            ends = patch.at.to_facet(np.array([a, b]))
            if border.distance(shapely.Point(ends.mean(axis=0))) < INSIDE_M:
                continue
            outward = int(np.sign(-d[0] if axis == 1 else d[1]))
            normal = patch.at.to_facet(np.array([a, a + np.eye(2)[axis] * outward]))
            edge = Edge(piece.id, axis, round(float(a[axis]), 6), outward)
            out.append(_Line(edge, patch.facet, ends, normal[1] - normal[0]))
    return out


def _image(patch: Patch, at: Placing) -> Polygon:
    polygon = patch.polygon
    return Polygon(at.to_blank(shapely.get_coordinates(polygon.exterior)),
                   [at.to_blank(shapely.get_coordinates(r)) for r in polygon.interiors])


def _lap(under: _Line, over: _Line) -> float:
    return float((under.ends_m[0] - over.ends_m[0]) @ under.normal)


def _abreast_m(under: _Line, over: _Line) -> float:
    """How far two parallel edges run side by side: of an edge that an opening breaks, each stretch has its own neighbor."""
    along = np.array([-under.normal[1], under.normal[0]])
    a, b = np.sort(under.ends_m @ along), np.sort(over.ends_m @ along)
    return float(min(a[1], b[1]) - max(a[0], b[0]))


def _within(line: _Line, ground: Polygon) -> bool:
    return bool(ground.intersection(LineString(line.ends_m)).length > SHORTEST_M)


def _seam(terrain: Terrain, name: str, pairs: list[tuple[_Line, _Line]]) -> Seam:
    under, over = pairs[0]
    facet = terrain.grounds[under.facet].facet
    k = int(np.argmax(np.abs(under.normal)))
    low = np.array(facet.outline_m).min(axis=0)
    levels = sorted(float(line.ends_m[:, k].mean() - low[k]) for line in (under, over))
    sides = {under.edge: 1 if under.normal[k] > 0 else -1}
    while any((u.edge in sides) != (o.edge in sides) for u, o in pairs):
        for u, o in pairs:
            if u.edge in sides or o.edge in sides:
                sides.setdefault(u.edge, -sides.get(o.edge, 0))
                sides.setdefault(o.edge, -sides[u.edge])
    stretches = tuple(Stretch(u.facet, _way(u.normal * sides[u.edge]), _ends(u.ends_m), _ends(o.ends_m)) for u, o in pairs)
    return Seam(name, tuple(sides.items()), facet.surface, "st"[k], levels[0], levels[1], min(_lap(u, o) for u, o in pairs), stretches)


def _way(along: Floats) -> Point2:
    s, t = along.tolist()
    return s, t


def _ends(points: Floats) -> tuple[Point2, Point2]:
    (a, b), (c, d) = points.tolist()
    return (a, b), (c, d)


def move_seam(terrain: Terrain, pieces: Sequence[Piece], seam: Seam, by_m: float, roll_width_m: float, longest_m: float) -> Moved:
    """Move a seam: the sheet on one side is cut wider, the one on the other side narrower.

    A sheet cannot be cut wider than its roll, nor over the cut that parts it from another one; what it cannot follow is taken
    from the lap.

    Parameters
    ----------
    terrain : Terrain
        The room.
    pieces : sequence of Piece
        What lies in it.
    seam : Seam
        The seam as it lies now.
    by_m : float
        How far, along growing s or t of its first facet. [m]
    roll_width_m : float
        Width of the roll. [m]
    longest_m : float
        The longest piece. [m]

    Returns
    -------
    moved : Moved
        All pieces, those at the seam changed.

    References
    ----------
    own derivation
    """
    by_id = {p.id: p for p in pieces}
    parts = {f"{p.id}{letter}": (p.id, k) for p in pieces if p.second_at for k, letter in enumerate("ab")}
    held: list[str] = []
    parted: dict[str, list[tuple[int, Edge, float]]] = {}
    for edge, sign in seam.edges:
        name, part = parts.get(edge.piece, (edge.piece, 0))
        piece = by_id[name]
        if piece.blank_m is None:
            continue
        size_m = piece.blank_m[edge.axis]
        room_m = (roll_width_m if edge.axis == 1 else longest_m) - size_m
        grow_m = max(sign * by_m, LEAST_LEFT_M - size_m)
        if abs(grow_m) < STRAIGHT_M:
            continue
        if grow_m > room_m + STRAIGHT_M:
            held.append(piece.id)
            grow_m = max(room_m, 0.0)
        if piece.second_at:
            parted.setdefault(name, []).append((part, edge, grow_m))
        else:
            by_id[name] = _grown(terrain, piece, edge, grow_m)
    for name, grows in parted.items():
        made = _grown_parts(terrain, by_id[name], grows)
        by_id[name] = made or by_id[name]
        held += [name] if made is None else []
    return Moved(tuple(by_id[p.id] for p in pieces), tuple(dict.fromkeys(held)))


def _grown_parts(terrain: Terrain, piece: Piece, grows: Sequence[tuple[int, Edge, float]]) -> Piece | None:
    """A blank of two parts with edges of them moved, each (part, edge, how far); None where a part would lie on the other or vanish.

    The blank is not cut narrower: the other part may need all of it.
    """
    assert piece.blank_m is not None
    members = list(piece.members())
    for part, edge, by_m in grows:
        members[part] = tuple(_with_edge_moved(terrain, members[part], edge, by_m))
    if [len(m) for m in members] != [len(m) for m in piece.members()]:
        return None
    first, second = (shapely.union_all([_image(q, q.at) for q in m if q.at is not None], grid_size=GRID_M) for m in members)
    if first.intersection(second).area > OVERLAP_M2:
        return None
    patches = (*members[0], *members[1])
    low, high = _boxed(patches)
    start = np.minimum(low, 0.0)
    length, width = (np.maximum(high, piece.blank_m) - start).tolist()
    x, y = (-start).tolist()
    return replace(piece, patches=_home(patches), blank_m=(length, width), cut=None,
                   parting_m=tuple((s + x, t + y) for s, t in piece.parting_m))


def _grown(terrain: Terrain, piece: Piece, edge: Edge, by_m: float) -> Piece:
    """A sheet with one edge moved outward (or inward, below zero); the blank grows with it."""
    shift = by_m if edge.outward < 0 else 0.0
    patches = [replace(q, at=q.at and replace(q.at, x_m=q.at.x_m + shift * (edge.axis == 0), y_m=q.at.y_m + shift * (edge.axis == 1)))
               for q in _with_edge_moved(terrain, piece.patches, edge, by_m)]
    if not patches:
        return piece
    return replace(piece, patches=_home(patches), blank_m=_blank(piece, patches, edge, by_m), cut=None)


def _with_edge_moved(terrain: Terrain, before: Sequence[Patch], edge: Edge, by_m: float) -> list[Patch]:
    """Patches with one edge moved outward (or inward, below zero), still as they lay on their blank; what vanishes is left out."""
    along = np.eye(2)[edge.axis] * edge.outward
    patches = []
    for patch in before:
        if patch.at is None:
            patches.append(patch)
            continue
        shape = _stretched(_image(patch, patch.at), edge, along, by_m)
        back = patch.at.to_facet
        lying = Polygon(back(shapely.get_coordinates(shape.exterior)), [back(shapely.get_coordinates(r)) for r in shape.interiors])
        if by_m > 0.0:
            lying = _largest(lying.intersection(terrain.grounds[patch.facet].net, grid_size=GRID_M))
        if not lying.is_empty:
            patches += Patch.of([(patch.facet, lying, patch.at)])
    return patches


def _boxed(patches: Sequence[Patch]) -> Floats:
    """Where the images lie: lower left and upper right; shape (2, 2). [m]"""
    boxes = np.array([_image(p, p.at).bounds for p in patches if p.at is not None])
    return np.array([boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)])


def _blank(piece: Piece, patches: Sequence[Patch], edge: Edge, by_m: float) -> Point2 | None:
    """The blank grows by as much as its images, or with the edge where it holds more than its images."""
    if piece.blank_m is None or not patches:
        return piece.blank_m
    low, high = _boxed(patches)
    grown = np.array(piece.blank_m)
    grown[edge.axis] += by_m
    length, width = np.maximum(high - np.minimum(low, 0.0), grown).tolist()
    return length, width


def _home(patches: Sequence[Patch]) -> tuple[Patch, ...]:
    """Patches moved on their blank so that none lies before its start."""
    if not patches:
        return ()
    x, y = (-np.minimum(_boxed(patches)[0], 0.0)).tolist()
    return tuple(replace(p, at=p.at and replace(p.at, x_m=p.at.x_m + x, y_m=p.at.y_m + y)) for p in patches)


def _stretched(image: Polygon, edge: Edge, along: Floats, by_m: float) -> Polygon:
    """The image on the blank with every edge at this level moved; sides run on as they run."""
    ends = (shapely.get_coordinates(image.exterior) @ along).tolist()
    level, tip = edge.level_m * edge.outward, max(ends)
    ends_here = -STRAIGHT_M < tip - level < OVERSHOOT_M
    if by_m <= 0.0:
        far = (tip if ends_here else level) + by_m
        if far <= min(ends):
            return Polygon()
        return _largest(image.difference(_beyond(image, edge, far * edge.outward)))
    added = _added(image, edge, along, by_m)
    if not added and ends_here:
        added = [_swept(image, along * by_m)]
    return _largest(shapely.union_all([image, *added], grid_size=GRID_M)) if added else image


def _beyond(image: Polygon, edge: Edge, level_m: float) -> Polygon:
    """A box over all of an image that lies past a level."""
    low, high = np.array(image.bounds).reshape(2, 2) + np.array([[-1.0, -1.0], [1.0, 1.0]])
    (low if edge.outward > 0 else high)[edge.axis] = level_m
    return shapely.box(*low, *high)


def _added(image: Polygon, edge: Edge, along: Floats, by_m: float) -> list[Polygon]:
    """What is added at every side that lies on the edge."""
    outline = shapely.get_coordinates(orient(image, 1.0).exterior.simplify(STRAIGHT_M / 10))[:-1]
    added = []
    for k in range(len(outline)):
        before, a, b, after = (outline[(k + i) % len(outline)] for i in (-1, 0, 1, 2))
        if max(abs(a[edge.axis] - edge.level_m), abs(b[edge.axis] - edge.level_m)) > ASLANT_M:
            continue
        if int(np.sign(-(b - a)[0] if edge.axis == 1 else (b - a)[1])) == edge.outward:
            added.append(Polygon([a, b, b + _run_on(b - after, along, by_m), a + _run_on(a - before, along, by_m)]))
    return added


def _swept(image: Polygon, by: Floats) -> Polygon:
    """All that an image passes over when it is pushed along."""
    ring = shapely.get_coordinates(image.exterior)
    sides = [Polygon([a, b, b + by, a + by]) for a, b in pairwise(ring)]
    return shapely.union_all([image, *(s.buffer(0.0) for s in sides)], grid_size=GRID_M)


def _run_on(side: Floats, along: Floats, by_m: float) -> Floats:
    """How an end of the edge moves: along its side where that runs outward, else straight."""
    rise = float(side @ along)
    steep = rise > 0.3 * float(np.hypot(*side))
    run: Floats = (side / rise if steep else along) * by_m
    return run


def _largest(shape: shapely.Geometry) -> Polygon:
    found = [g for g in getattr(shape, "geoms", (shape,)) if isinstance(g, Polygon) and not g.is_empty]
    return max(found, key=lambda g: g.area) if found else Polygon()
