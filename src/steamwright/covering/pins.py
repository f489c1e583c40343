"""What a person has fixed: seams at a place, and pieces that are cut or set; the rest is laid around them.

A pinned piece keeps its shape. Of everything else only what lies beyond it is kept, and a lap round that, so that the
shrink test holds along its edges as along any seam.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from steamwright.covering.draft import Draft, Part, clip, without
from steamwright.covering.ground import Ground, Terrain
from steamwright.covering.inputs import CoveringWishes, PiecePin, PinnedPatch, SeamPin
from steamwright.covering.model import LEVEL, UPRIGHT, Placing, Role
from steamwright.covering.refit import refitted
from steamwright.errors import ClashError
from steamwright.geometry.frame import Floats
from steamwright.geometry.unfolding import Motion

HAIR_M = 2e-5
SLIT_M = 1.1e-3
MEETS_M2 = 4e-9
NOTHING_M2 = 1e-6
LEG_RATIO = 0.4
"""An edge along less of its facet than this is the edge of a leg, with which no strip need line up."""
WORTH_RATIO = 0.97
"""A piece that hardly needs less material once it is cut back stays whole: one piece more is worth more than that."""


@dataclass(frozen=True, slots=True)
class SeamLine:
    """Where the middle of a seam's lap runs on a facet; ``wish`` numbers the seam that a person asked for, None at a piece's edge."""

    facet: str
    ends_m: tuple[tuple[float, float], tuple[float, float]]
    wish: int | None = None


@dataclass(frozen=True, slots=True)
class Pinned:
    """A pinned piece: its draft, and what it covers of each facet."""

    draft: Draft
    body: dict[str, BaseGeometry]


@dataclass(frozen=True, slots=True)
class Pins:
    """All pinned pieces, and all places where a seam runs because of a person."""

    pieces: tuple[Pinned, ...] = ()
    lines: tuple[SeamLine, ...] = ()

    def line_sets(self, facets: Sequence[str]) -> list[tuple[SeamLine, ...]]:
        """For some facets, the seams that have to be there, and the same with seams along the edges of pinned pieces."""
        here = tuple(line for line in self.lines if line.facet in facets)
        wished = tuple(line for line in here if line.wish is not None)
        return [wished] if len(wished) == len(here) else [wished, here]


NO_PINS = Pins()


def read_pins(terrain: Terrain, wishes: CoveringWishes) -> Pins:
    """Put what a person has fixed into the room.

    Parameters
    ----------
    terrain : Terrain
        The room.
    wishes : CoveringWishes
        Pinned seams and pieces.

    Returns
    -------
    pins : Pins
        Empty where nothing is pinned.

    Raises
    ------
    ClashError
        If a piece lies on a facet that the room does not have, or a seam on a surface that pieces do not cover.

    References
    ----------
    own derivation
    """
    lines = [line for k, wish in enumerate(wishes.seam) for line in _seam_lines(terrain, k, wish)]
    found = tuple(_pinned(terrain, k, pin) for k, pin in enumerate(wishes.piece) if not (pin.short_m and pin.answer == "again"))
    lines += [line for p in found if p.draft.role is Role.SHEET for line in _edge_lines(p.draft, terrain)]
    return Pins(found, tuple(lines))


def grounds_on(terrain: Terrain, name: str) -> list[Ground]:
    """Find the facets that a name means: one facet by its own name, or all facets of a surface.

    Parameters
    ----------
    terrain : Terrain
        The room.
    name : str
        As a person writes it.

    Returns
    -------
    grounds : list of Ground
        Those that pieces cover; none where the name means nothing.

    References
    ----------
    own derivation
    """
    covered = [g for g in terrain.grounds.values() if g.by_pieces]
    return [g for g in covered if g.facet.name == name] or [g for g in covered if g.facet.surface == name]


def pinned_directions(terrain: Terrain, facet: str, wishes: CoveringWishes) -> tuple[str, ...]:
    """List the strip directions that pinned seams ask for on a facet.

    Parameters
    ----------
    terrain : Terrain
        The room.
    facet : str
        Id of a facet.
    wishes : CoveringWishes
        What a person chooses.

    Returns
    -------
    ways : tuple of str
        None, one, or both where the wishes contradict each other.

    References
    ----------
    own derivation
    """
    f = terrain.grounds[facet].facet
    said = {UPRIGHT if w.along_m is not None else LEVEL for w in wishes.seam if f.called(w.on)}
    return tuple(d for d in (UPRIGHT, LEVEL) if d in said)


def around(drafts: Sequence[Draft], pins: Pins, lap_m: float) -> list[Draft]:
    """Cut pieces back where pinned ones lie, and leave out what lies on pinned ones alone.

    Parameters
    ----------
    drafts : sequence of Draft
        Sheets, bands, corner pieces or collars as they would be without pins.
    pins : Pins
        What is pinned.
    lap_m : float
        Planned lap. [m]

    Returns
    -------
    drafts : list of Draft
        The given ones where nothing is pinned.

    References
    ----------
    own derivation
    """
    left = list(drafts)
    for pinned in pins.pieces:
        left = [d for draft in left for d in _around_one(draft, pinned, lap_m)]
    return left


def _around_one(draft: Draft, pinned: Pinned, lap_m: float) -> list[Draft]:
    if not any(p.facet in pinned.body for p in draft.parts):
        return [draft]
    if draft.moulded or draft.role in (Role.CORNER_PIECE, Role.COLLAR):
        same = draft.role is pinned.draft.role and all(_lies_on(p, pinned) for p in draft.parts)
        return [] if same else [draft]
    kept = [group for group in _hanging_together(_still_needed(draft, pinned, lap_m)) if not all(_lies_on(p, pinned) for p in group)]
    out = []
    for group in kept:
        beyond = [b for b in draft.beyond if any(_touch(b, p.image) for p in group)]
        out.append(Draft(draft.role, draft.item, draft.material, group, beyond))
    if sum(_blank_m2(d) for d in out) > WORTH_RATIO * _blank_m2(draft):
        return [draft]
    if out:
        out[0].torn = list(draft.torn)
    return out


def _blank_m2(draft: Draft) -> float:
    length_m, width_m = draft.size_m()
    return length_m * width_m


def _still_needed(draft: Draft, pinned: Pinned, lap_m: float) -> list[Part]:
    """What of a piece lies beyond the pinned one, and a lap round it.

    A point of the rest that is half a lap inside the piece and within half a lap of the pinned piece's edge would have
    some of the piece beyond that edge within half a lap: so it lies in what is kept, half a lap from what is cut.
    """
    beyond = []
    for part in draft.parts:
        body = pinned.body.get(part.facet)
        beyond += [part.motion.polygon(g) for g in (without(part.polygon, body) if body is not None else [part.polygon])]
    if not beyond:
        return []
    near = unary_union(beyond).buffer(lap_m + SLIT_M + HAIR_M, join_style="mitre")
    return [Part(part.facet, part.motion.inverse().polygon(g), part.motion) for part in draft.parts for g in clip(part.image, near)]


def _lies_on(part: Part, pinned: Pinned) -> bool:
    body = pinned.body.get(part.facet)
    return body is not None and bool(part.polygon.difference(body).area < NOTHING_M2)


def _touch(a: Polygon, b: Polygon) -> bool:
    """True where two shapes of one blank have an edge in common."""
    return bool(shapely.dwithin(a, b, HAIR_M)) and bool(a.buffer(HAIR_M / 10).intersection(b).area > MEETS_M2)


def _hanging_together(parts: list[Part]) -> list[list[Part]]:
    groups: list[list[Part]] = []
    for part in parts:
        near = [g for g in groups if any(_touch(q.image, part.image) for q in g)]
        groups = [g for g in groups if g not in near] + [[*(q for g in near for q in g), part]]
    return groups


def _pinned(terrain: Terrain, number: int, pin: PiecePin) -> Pinned:
    path = f"covering.piece[{number}]"
    by_name = {g.facet.name: g for g in terrain.grounds.values()}
    for k, patch in enumerate(pin.patch):
        if patch.on not in by_name:
            raise ClashError(f"piece {pin.id} lies on “{patch.on}”, which this room does not have", path=f"{path}.patch[{k}].on",
                             hint="take the pin out if the surface is gone, or name one of: " + ", ".join(sorted(by_name)))
    parts = [_part(by_name[patch.on], patch) for patch in pin.patch]
    both = [parts[:pin.second_at], parts[pin.second_at:]]
    if pin.blank_m is not None and pin.role in ("sheet", "band"):
        blank_m = pin.blank_m
        both = [refitted(terrain, some, blank_m) if some else [] for some in both]
    draft = Draft(Role(pin.role), pin.item, pin.material, moulded=pin.blank_m is None, name=pin.id, is_set=pin.state == "set",
                  parting_m=pin.parting_m)
    if pin.blank_m is not None:
        length_m, width_m = pin.blank_m
        blank = shapely.box(0.0, 0.0, length_m, width_m)
        if pin.short_m is not None:
            blank = _shortened(pin, length_m, width_m, path)
            both = [[Part(p.facet, g, p.motion) for p in some for g in without(p.polygon, p.motion.inverse().polygon(_lacking(pin)))]
                    for some in both]
        draft.beyond = [blank]
    draft.second_at = len(both[0]) if both[1] else 0
    parts = draft.parts = [p for some in both for p in some]
    body = {f: unary_union([p.polygon for p in parts if p.facet == f]).buffer(SLIT_M) for f in {p.facet for p in parts}}
    return Pinned(draft, dict(sorted(body.items())))


def _shortened(pin: PiecePin, length_m: float, width_m: float, path: str) -> Polygon:
    assert pin.short_m is not None
    if pin.short_m >= length_m:
        raise ClashError(f"piece {pin.id} is {length_m:.3f} m long and cannot be {pin.short_m:.3f} m short", path=f"{path}.short",
                         hint="say how much is missing, not how much is left")
    x0, x1 = (pin.short_m, length_m) if pin.short_at == "start" else (0.0, length_m - pin.short_m)
    return shapely.box(x0, 0.0, x1, width_m)


def _lacking(pin: PiecePin) -> Polygon:
    """What is missing of a blank, in the blank's plane, and beyond its end."""
    assert pin.blank_m is not None
    assert pin.short_m is not None
    length_m, width_m = pin.blank_m
    x0, x1 = (-1.0, pin.short_m) if pin.short_at == "start" else (length_m - pin.short_m, length_m + 1.0)
    return shapely.box(x0, -1.0, x1, width_m + 1.0)


def _part(ground: Ground, patch: PinnedPatch) -> Part:
    motion = Motion.identity()
    if patch.at is not None:
        at = Placing(patch.at.x_m, patch.at.y_m, patch.at.angle_deg, patch.at.flipped)
        motion = Motion(at.matrix(), np.array([at.x_m, at.y_m]))
    return Part(ground.facet.id, Polygon(patch.outline_m, patch.holes_m), motion)


def _seam_lines(terrain: Terrain, number: int, wish: SeamPin) -> list[SeamLine]:
    path = f"covering.seam[{number}]"
    grounds = grounds_on(terrain, wish.on)
    if not grounds:
        raise ClashError(f"no sheets lie on “{wish.on}”, so no seam can be pinned there", path=f"{path}.on",
                         hint="name one of: " + ", ".join(sorted({g.facet.surface for g in terrain.grounds.values() if g.by_pieces})))
    lines = []
    for g in grounds:
        s0, t0, s1, t1 = g.polygon.bounds
        if wish.along_m is not None:
            s0 = s1 = s0 + wish.along_m
        else:
            t0 = t1 = t0 + (wish.up_m or 0.0)
        lines.append(SeamLine(g.facet.id, ((s0, t0), (s1, t1)), number))
    return lines


def _edge_lines(draft: Draft, terrain: Terrain) -> list[SeamLine]:
    """Where neighbours may lap a pinned sheet: half a lap inside the sides of its patches, those of mere legs left out."""
    lines = []
    for part in draft.parts:
        x0, y0, x1, y1 = part.image.bounds
        half = terrain.lap_m / 2
        s0, t0, s1, t1 = terrain.grounds[part.facet].polygon.bounds
        whole = np.array([s1 - s0, t1 - t0])
        back = part.motion.inverse()
        for a, b in (((x0, y0 + half), (x1, y0 + half)), ((x0, y1 - half), (x1, y1 - half)),
                     ((x0 + half, y0), (x0 + half, y1)), ((x1 - half, y0), (x1 - half, y1))):
            ends = back.points([a, b])
            run = np.abs(ends[1] - ends[0])
            if run[run.argmax()] < LEG_RATIO * whole[run.argmax()]:
                continue
            lines.append(SeamLine(part.facet, (tuple(ends[0].tolist()), tuple(ends[1].tolist()))))
    return lines


def seam_tops(images: Sequence[tuple[str, Motion]], lines: Sequence[SeamLine], lap_m: float) -> list[float]:
    """Far sides of the strips that end in pinned seams, where strips lie level in the plane of the images.

    Parameters
    ----------
    images : sequence of (str, Motion)
        Facets of a field, how each is carried there, and what it looks like there.
    lines : sequence of SeamLine
        Where seams run.
    lap_m : float
        Planned lap. [m]

    Returns
    -------
    tops_m : list of float
        In order, those a hair apart taken as one. [m]

    References
    ----------
    own derivation
    """
    found = [level_m(motion, line) for facet, motion in images for line in lines if line.facet == facet]
    levels = [level + lap_m / 2 for level in found if level is not None]
    tops: list[float] = []
    for level in sorted(levels):
        if not tops or level - tops[-1] > SLIT_M:
            tops.append(level)
    return tops


def level_m(motion: Motion, line: SeamLine) -> float | None:
    """Where a seam lies across the strips, if it runs along them.

    Parameters
    ----------
    motion : Motion
        From its facet to the plane in which strips lie level.
    line : SeamLine
        The seam.

    Returns
    -------
    level_m : float or None
        None where it runs across them. [m]

    References
    ----------
    own derivation
    """
    ends: Floats = motion.points(line.ends_m)
    along = LineString(ends).length
    return float(ends[0, 1]) if abs(float(ends[1, 1] - ends[0, 1])) < 1e-6 + 1e-3 * along else None
