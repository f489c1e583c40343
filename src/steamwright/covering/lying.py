"""Patches as the judge sees them, and what of a piece can be judged before any lap is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from steamwright.covering.model import Patch, Piece, Placing, Role
from steamwright.covering.places import place_on
from steamwright.covering.room_facts import RoomFacts, Surface
from steamwright.covering.segments import Indices, Shapes, contacts
from steamwright.covering.spans import Span
from steamwright.geometry.frame import Floats, outlines
from steamwright.room.model import Penetration

Pipe = tuple[Penetration, Polygon]

PATCH_TOL_M = 5e-4
"""How far a patch may reach past its facet; surfaces of a measured room fit one another no better."""
HOLE_TOL_M = 1e-3
"""How much larger or smaller than its pipe a hole may be and still count as the hole of that pipe."""
RIM_TOL_M = 1.5e-4
"""How near to a rim an edge lies that lies on it."""


@dataclass(frozen=True, slots=True)
class Lying:
    """One patch in the (s, t) of its facet, and how near the free edges of its piece are.

    ``ground`` is where its material lies. ``body`` is the whole piece when every edge of it is free, unfolded on its blank,
    to which ``at`` carries the patch, or in the facet's plane where that is None; otherwise ``free`` holds the free edges,
    unfolded into the facet's plane, and where that is None there are none. ``alone``: the piece has no other patch, so that
    ``body`` is ``ground``.
    """

    piece: int
    facet: str
    ground: BaseGeometry
    body: BaseGeometry | None
    free: BaseGeometry | None
    alone: bool
    at: Placing | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """A patch that can be judged: which piece it belongs to, and its polygon less the pipes that go through."""

    piece: int
    surface: Surface
    ground: BaseGeometry
    at: Placing | None


def rows_of(facts: RoomFacts, pieces: Sequence[Piece]) -> tuple[list[Row], list[str], set[str]]:
    """Read all patches, and judge each alone: known facet, sound outline, inside its facet, nothing over a penetration.

    Parameters
    ----------
    facts : RoomFacts
        The room.
    pieces : sequence of Piece
        The covering.

    Returns
    -------
    rows : list of Row
        The patches that can be judged further.
    faults : list of str
        What is wrong with single patches.
    held : set of str
        Penetrations that the sleeve of a ready-made collar holds.

    References
    ----------
    own derivation
    """
    faults: list[str] = []
    every = [(i, p) for i, piece in enumerate(pieces) for p in piece.patches]
    known = [(i, p) for i, p in every if p.facet in facts.surfaces]
    faults += [f"piece {pieces[i].id}: lies on {p.facet}, which this room does not have" for i, p in every if p.facet not in facts.surfaces]
    faults += [f"piece {piece.id}: has no patch" for piece in pieces if not piece.patches]
    shapes = _polygons([p for _, p in known])
    sound = shapely.is_valid(shapes) & ~shapely.is_empty(shapes) if len(shapes) else np.zeros(0, bool)
    faults += [f"piece {pieces[i].id}: its outline on {facts.name(p.facet)} crosses itself"
               for (i, p), ok in zip(known, sound, strict=True) if not ok]
    known, shapes = [k for k, ok in zip(known, sound, strict=True) if ok], shapes[sound]
    faults += _leaving(facts, pieces, known, shapes)
    pipes = _pipes_near(facts, known, shapes)
    held: set[str] = set()
    rows = []
    for k, ((i, patch), shape) in enumerate(zip(known, shapes, strict=True)):
        surface, ground = facts.surfaces[patch.facet], shape
        if k in pipes:
            ground, wrong, holds = _round_pipes(surface, pipes[k], pieces[i], shape)
            faults += wrong
            held |= holds
        rows.append(Row(i, surface, ground, patch.at))
    return rows, faults, held


def _polygons(patches: list[Patch]) -> Shapes:
    """The polygons of many patches; those without holes are made in one go."""
    out = np.full(len(patches), None, dtype=object)
    plain = [k for k, p in enumerate(patches) if not p.holes_m and len(p.outline_m) > 2]
    out[plain] = outlines([patches[k].outline_m for k in plain])
    for k, p in enumerate(patches):
        if out[k] is None:
            out[k] = p.polygon if len(p.outline_m) > 2 else Polygon()
    return out


def _leaving(facts: RoomFacts, pieces: Sequence[Piece], known: list[tuple[int, Patch]], shapes: Shapes) -> list[str]:
    """Patches that reach past their facet."""
    names = list(dict.fromkeys(p.facet for _, p in known))
    room = shapely.buffer(np.array([facts.surfaces[k].polygon for k in names], dtype=object), PATCH_TOL_M, join_style="mitre")
    shapely.prepare(room)
    at = np.array([names.index(p.facet) for _, p in known], dtype=np.intp)
    out = []
    outside = np.flatnonzero(~shapely.covers(room[at], shapes))
    for k in outside[np.argsort(at[outside], kind="stable")].tolist():
        beyond = shapes[k].difference(room[at[k]])
        if beyond.area > 1e-6:
            s, t = beyond.representative_point().coords[0]
            surface = facts.surfaces[known[k][1].facet].facet
            out.append(f"piece {pieces[known[k][0]].id}: leaves its surface near {place_on(surface, (s, t))}")
    return out


def _pipes_near(facts: RoomFacts, known: list[tuple[int, Patch]], shapes: Shapes) -> dict[int, list[Pipe]]:
    """The pipes that come into the box of each patch."""
    boxes = shapely.bounds(shapes).tolist()
    near: dict[int, list[Pipe]] = {}
    for k, (_, patch) in enumerate(known):
        for pipe, circle in facts.surfaces[patch.facet].pipes:
            s0, t0, s1, t1 = boxes[k]
            (s, t), r = pipe.center_m, pipe.diameter_m / 2.0
            if s0 <= s + r and s1 >= s - r and t0 <= t + r and t1 >= t - r:
                near.setdefault(k, []).append((pipe, circle))
    return near


def _round_pipes(surface: Surface, pipes: list[Pipe], piece: Piece, shape: Polygon) -> tuple[BaseGeometry, list[str], set[str]]:
    """Take the pipes out of a patch; a ready-made collar round a pipe has no free edge there, so its hole is closed instead."""
    faults, held, sleeves = [], set(), []
    ground: BaseGeometry = shape
    collar = piece.role is Role.COLLAR and piece.blank_m is None
    for pipe, circle in pipes:
        core = circle.buffer(-min(HOLE_TOL_M, pipe.diameter_m / 8))
        if shape.intersects(core) and shape.intersection(core).area > 1e-8:
            faults.append(f"piece {piece.id}: covers {pipe_words(surface, pipe)}; cut a hole")
        if collar and Polygon(shape.exterior).covers(circle):
            held.add(pipe.id)
            sleeves.append(circle.buffer(HOLE_TOL_M))
        elif shape.intersects(circle):
            ground = ground.difference(circle)
    if sleeves and isinstance(ground, Polygon):
        sleeve = shapely.union_all(sleeves)
        ground = Polygon(ground.exterior, [r for r in ground.interiors if not sleeve.covers(r)])
    return ground, faults, held


def pipe_words(surface: Surface, pipe: Penetration) -> str:
    """Name a penetration and where it is.

    Parameters
    ----------
    surface : Surface
        The surface that it goes through.
    pipe : Penetration
        The penetration.

    Returns
    -------
    words : str
        Kind, name and place.

    References
    ----------
    own derivation
    """
    return f"the {pipe.kind.replace('_', ' ')} \"{pipe.name}\" at {place_on(surface.facet, pipe.center_m)}"


def rim_stretches(rows: Sequence[Row], edges_m: Floats, owner: Indices) -> tuple[Floats, Indices]:
    """Where the edges of patches lie on rims.

    Parameters
    ----------
    rows : sequence of Row
        The patches.
    edges_m : ndarray, shape (n, 2, 2)
        Their edges in the facets' (s, t). [m]
    owner : ndarray, shape (n,)
        The row of every edge.

    Returns
    -------
    stretches_m : ndarray, shape (k, 2, 2)
        Start and end of every stretch. [m]
    row : ndarray, shape (k,)
        The row of every stretch.

    References
    ----------
    own derivation
    """
    lines = [(k, rim) for k, row in enumerate(rows) for rim in row.surface.rims]
    rims, at = np.array([x for _, x in lines]).reshape(-1, 2, 2), np.array([k for k, _ in lines], dtype=np.intp)
    spans = contacts(rims, at, edges_m, owner, RIM_TOL_M)
    found = [(k, span) for k, some in enumerate(spans) for span in some]
    return stretches(rims[[k for k, _ in found]], [span for _, span in found]), at[[k for k, _ in found]]


def stretches(lines_m: Floats, spans_m: Sequence[Span]) -> Floats:
    """Cut a stretch out of each line.

    Parameters
    ----------
    lines_m : ndarray, shape (n, 2, 2)
        Start and end of the lines. [m]
    spans_m : sequence of (float, float)
        From where to where along each line. [m]

    Returns
    -------
    stretches_m : ndarray, shape (n, 2, 2)
        Start and end of the stretches. [m]

    References
    ----------
    own derivation
    """
    run = lines_m[:, 1] - lines_m[:, 0]
    d = run / np.hypot(run[:, 0], run[:, 1])[:, None]
    return np.asarray(lines_m[:, :1] + np.array(spans_m).reshape(-1, 2)[..., None] * d[:, None])
