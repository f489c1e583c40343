"""Sheets: strips of roll width over a field, turned over the joints at its edge that are to be folded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import Polygon

from steamwright.covering.clipping import Clippable
from steamwright.covering.draft import Draft, Part, quad
from steamwright.covering.fields import Field
from steamwright.covering.ground import Ground, Terrain
from steamwright.covering.legs import TOUCHES_M, Turned, legs_over, turn_over
from steamwright.covering.lengths import LengthRules, equal_lengths, lengths_by_shape
from steamwright.covering.model import UPRIGHT, Role, Strips
from steamwright.covering.pins import SeamLine, seam_tops
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import Joint, Rim

SHORTEST_STRIP_M = 0.15
FITTING_ROUNDS = 8


@dataclass(frozen=True, slots=True)
class SheetRules:
    """What every sheet keeps to. ``folds`` are (joint id, facet whose sheets turn over it); ``longest_m`` of a piece.

    No seam lies nearer than ``seam_clear_m`` to a joint that runs along it. Where a strip is cut by its shape, a further
    piece has to save ``piece_m2`` of blanks.
    """

    lap_m: float
    roll_width_m: float
    longest_m: float
    item: str
    material: str
    folds: frozenset[tuple[str, str]]
    seam_clear_m: float
    piece_m2: float


@dataclass(frozen=True, slots=True)
class Image:
    """A facet's net polygon in the plane in which strips lie along x."""

    facet: str
    motion: Motion
    lying: Clippable


def lay_strips(terrain: Terrain, field: Field, rules: SheetRules, strips: Strips,
               no_seam: tuple[tuple[float, float], ...] = (), lines: Sequence[SeamLine] = (),
               no_cut: tuple[tuple[float, float], ...] = ()) -> list[Draft]:
    """Cover a field with strips from one side to the other.

    Parameters
    ----------
    terrain : Terrain
        The room.
    field : Field
        Facets developed into one plane.
    rules : SheetRules
        Lap, roll and folds.
    strips : Strips
        Direction and start.
    no_seam : tuple of tuple of float
        Stretches across the strips, from the first facet's lower left, in which no seam may lie. [m]
    lines : sequence of SeamLine
        Where seams run because a person pinned them.
    no_cut : tuple of tuple of float
        Stretches along the strips, measured as ``no_seam``, in which no strip is cut across. [m]

    Returns
    -------
    drafts : list of Draft
        One a connected piece of strip.

    References
    ----------
    common practice, no source
    """
    turn = Motion.rotation(-np.pi / 2 if strips.direction == UPRIGHT else 0.0)
    if strips.from_high:
        turn = turn.then(Motion.rotation(np.pi))
    plane = _plane(terrain, field, rules, strips, turn, no_cut)
    images = plane.images
    x0, y0 = (min(i.lying.box_m[k] for i in images) for k in (0, 1))
    x1, y1 = (max(i.lying.box_m[k] for i in images) for k in (2, 3))
    zones = [sorted(z) for z in _turned(terrain, field, turn, no_seam, 1)] + plane.zones
    tops = [t for t in seam_tops([(i.facet, i.motion) for i in images], lines, rules.lap_m) if y0 + 2 * rules.lap_m < t < y1 - 1e-6]
    drafts: list[Draft] = []
    at, share = y0, strips.first_ratio
    while True:
        end = next((t for t in tops if t > at + 2 * rules.lap_m), y1)
        top = _next_top(at, end, rules, zones, share)
        strip: list[_Cut] = []
        for _ in range(FITTING_ROUNDS):
            strip = _strip(terrain, field, rules, plane, (x0, at, x1, top))
            over = max((c.width_m() for c in strip), default=0.0) - rules.roll_width_m
            if over <= 1e-9:
                break
            top = max(top - over - 1e-7, at + 2 * rules.lap_m)
            if end < y1:
                # what is left up to a pinned seam has to make a strip of its own
                top = max(min(top, end - SHORTEST_STRIP_M + rules.lap_m), at + 2 * rules.lap_m)
            top = _clear_of(zones, at, top, end, rules.lap_m)
        made = [c.folded(terrain) for c in strip]
        drafts += [d for d in made if at == y0 or _reaches_past(d, at + rules.lap_m)]
        if top >= y1 - 1e-9:
            return drafts
        at, share = top - rules.lap_m, strips.first_ratio if strips.all_narrow else 1.0


def _along_joints(terrain: Terrain, images: Sequence[Image], clear_m: float) -> list[list[float]]:
    """Stretches across the strips within a stated distance of joints that run along them."""
    levels = set()
    for image in images:
        for joint in terrain.grounds[image.facet].joints:
            (_, y0), (_, y1) = image.motion.points(terrain.line(image.facet, joint)).tolist()
            if abs(y1 - y0) < clear_m / 4:
                levels.add((round(min(y0, y1) - clear_m, 6), round(max(y0, y1) + clear_m, 6)))
    return [list(z) for z in sorted(levels)]


def _at_pipes(terrain: Terrain, images: Sequence[Image], lap_m: float) -> list[list[float]]:
    """Stretches across the strips that the flanges of collars take: a seam there would lie under the flange."""
    zones = []
    for image in images:
        for p, _ in terrain.grounds[image.facet].holes:
            y = float(image.motion.points([p.center_m])[0, 1])
            reach = p.diameter_m / 2 + lap_m
            zones.append([y - reach, y + reach])
    return sorted(zones)


def _next_top(at: float, end: float, rules: SheetRules, zones: list[list[float]], share: float) -> float:
    """The far side of the next strip: as far as the roll goes, but leaving no useless sliver for the last one."""
    top = min(at + rules.roll_width_m, end)
    if share < 1.0:
        top = min(max(at + share * rules.roll_width_m, at + 2.5 * rules.lap_m), end)
    if top < end and end - (top - rules.lap_m) < SHORTEST_STRIP_M:
        top = max(end - SHORTEST_STRIP_M + rules.lap_m, at + 2 * rules.lap_m)
    return _clear_of(zones, at, top, end, rules.lap_m)


def _clear_of(zones: list[list[float]], at: float, top: float, end: float, lap_m: float) -> float:
    """Draw a seam back until it lies in no forbidden zone; where that is impossible it stays and the proof still holds."""
    if top >= end - 1e-9:
        return top
    for low, high in sorted(zones, reverse=True):
        if top > low and top - lap_m < high and low > at + 2 * lap_m:
            top = low
    return top


def _reaches_past(draft: Draft, level: float) -> bool:
    """True where a strip covers more than the lap on the strip before it."""
    return any(p.image.bounds[3] > level + 1e-6 for p in draft.parts)


@dataclass(slots=True)
class _Cut:
    """A connected piece of a strip and the legs that it shall have; ``draft`` has them once it is folded."""

    draft: Draft
    legs: list[Turned]
    is_folded: bool = False
    wide_m: float | None = None

    def width_m(self) -> float:
        """Across the strip, with whole legs. [m]"""
        if self.wide_m is None:
            _, y0, _, y1 = self.draft.bounds_m()
            boxes = [t.bounds_m() for t in self.legs]
            self.wide_m = max([y1, *(b[3] for b in boxes)]) - min([y0, *(b[1] for b in boxes)])
        return self.wide_m

    def folded(self, terrain: Terrain) -> Draft:
        """The piece with its legs on, each cut back where the blank has something else."""
        if not self.is_folded:
            self.width_m()  # of the bare piece
            for turned in self.legs:
                turn_over(terrain, turned, self.draft)
            self.is_folded = True
        return self.draft


@dataclass(frozen=True, slots=True)
class _Bare:
    """A connected piece of a strip without its legs, what it runs on past rims, and the legs that it may have, by joint and facet.

    ``cuts`` are the piece with legs over some of its joints, remembered: most folds that a search changes touch few pieces.
    """

    parts: tuple[Part, ...]
    beyond: tuple[Polygon, ...]
    legs: dict[tuple[str, str], list[Turned]]
    cuts: dict[tuple[tuple[str, str], ...], _Cut]


@dataclass(frozen=True, slots=True)
class _Plane:
    """The plane of a field in which its strips lie along x, whatever folds it has, and the strips that were laid there before.

    ``zones`` are stretches across the strips that seams stay clear of, ``barred`` such along them, None where strips are not
    cut by their shape.
    """

    images: list[Image]
    zones: list[list[float]]
    barred: list[tuple[float, float]] | None
    strips: dict[tuple[float, float, float], list[_Bare]]


def _plane(terrain: Terrain, field: Field, rules: SheetRules, strips: Strips, turn: Motion,
           no_cut: tuple[tuple[float, float], ...]) -> _Plane:
    """Turn the images of a field, remembered: a search lays the same strips again and again under other folds."""
    key = "plane", field.facets[0], field.inner, strips.direction, strips.from_high, strips.by_shape
    found = terrain.memory.get(key)
    if not isinstance(found, _Plane):
        images = [Image(f, m, Clippable.of(m.polygon(terrain.grounds[f].net))) for f, m in ((f, m.then(turn)) for f, m in field.parts)]
        zones = _along_joints(terrain, images, rules.seam_clear_m) + _at_pipes(terrain, images, rules.lap_m)
        barred = [(min(z), max(z)) for z in _turned(terrain, field, turn, no_cut, 0)] + _barred_along(terrain, images, rules)
        found = _Plane(images, zones, barred if strips.by_shape else None, {})
        terrain.memory[key] = found
    return found


def _turned(terrain: Terrain, field: Field, turn: Motion, stretches: tuple[tuple[float, float], ...], axis: int) -> list[list[float]]:
    """Stretches from the first facet's lower left, along one axis of the plane in which strips lie."""
    s0, t0, _, _ = terrain.grounds[field.parts[0][0]].polygon.bounds
    return [turn.points([(s0 + a, t0 + a), (s0 + b, t0 + b)])[:, axis].tolist() for a, b in stretches]


def _strip(terrain: Terrain, field: Field, rules: SheetRules, plane: _Plane, window: tuple[float, float, float, float]) -> list[_Cut]:
    """The connected pieces of one strip, with their legs and what runs on past rims."""
    key = window[1], window[3], rules.longest_m
    if key not in plane.strips:
        plane.strips[key] = _bare(terrain, field, rules, plane, window)
    return [_with_legs(terrain, field, rules, bare) for bare in plane.strips[key]]


def _with_legs(terrain: Terrain, field: Field, rules: SheetRules, bare: _Bare) -> _Cut:
    """A connected piece of a strip with the legs that the folds ask for."""
    legs: list[Turned] = []
    turning = []
    for part in bare.parts:
        for joint in terrain.grounds[part.facet].joints:
            over = joint.id, part.facet
            if joint.id in field.inner or over not in rules.folds:
                continue
            if over not in bare.legs:
                bare.legs[over] = [t for p in bare.parts if p.facet == part.facet for t in legs_over(terrain, p, joint)]
            mine = [t for t in bare.legs[over] if t.here is part]
            turning += [over] * bool(mine)
            legs += mine
    key = tuple(turning)
    if key not in bare.cuts:
        bare.cuts[key] = _Cut(Draft(Role.SHEET, rules.item, rules.material, list(bare.parts), list(bare.beyond)), legs)
    return bare.cuts[key]


def _bare(terrain: Terrain, field: Field, rules: SheetRules, plane: _Plane, window: tuple[float, float, float, float]) -> list[_Bare]:
    """The connected pieces of one strip, none longer than a crew can embed."""
    across = LengthRules(rules.lap_m, rules.longest_m - 2 * rules.lap_m, rules.seam_clear_m, rules.piece_m2)
    lengths = equal_lengths(window[0], window[2], across) if plane.barred is None else \
        lengths_by_shape([i.lying.shape for i in plane.images], window, across, plane.barred)
    out = []
    for x0, x1 in lengths:
        found = [Part(i.facet, g, i.motion) for i in plane.images for g in _clipped(terrain, i, (x0, window[1], x1, window[3]))]
        for group in _connected(terrain, field, found):
            draft = Draft(Role.SHEET, rules.item, rules.material, group)
            for part in group:
                add_reach(terrain, terrain.grounds[part.facet], part, draft)
            out.append(_Bare(tuple(group), tuple(draft.beyond), {}, {}))
    return out


def _barred_along(terrain: Terrain, images: Sequence[Image], rules: SheetRules) -> list[tuple[float, float]]:
    """Stretches along the strips in which no cut across may lie: beside joints and under the flanges of collars."""
    square = Motion.rotation(np.pi / 2)
    turned = [replace(i, motion=i.motion.then(square)) for i in images]
    return [(-high, -low) for low, high in (*_along_joints(terrain, turned, rules.seam_clear_m), *_at_pipes(terrain, turned, rules.lap_m))]


def _clipped(terrain: Terrain, image: Image, frame: tuple[float, float, float, float]) -> list[Polygon]:
    """The part of a facet's image inside the strip, carried back to the facet."""
    x0, y0, x1, y1 = image.lying.box_m
    u0, v0, u1, v1 = frame
    if u0 <= x0 and v0 <= y0 and x1 <= u1 and y1 <= v1:
        return [terrain.grounds[image.facet].net]
    back = image.motion.inverse()
    return [back.polygon(g) for g in image.lying.inside(((u0, v0), (u1, v0), (u1, v1), (u0, v1)))]


def _connected(terrain: Terrain, field: Field, parts: list[Part]) -> list[list[Part]]:
    """Group parts that hang together over a fold of the field."""
    group = list(range(len(parts)))

    def find(k: int) -> int:
        while group[k] != k:
            k = group[k]
        return k

    for joint_id in sorted(field.inner):
        joint = terrain.joints[joint_id]
        first, second = joint.facets
        for i, p in enumerate(parts):
            for k, q in enumerate(parts):
                if p.facet == first and q.facet == second and _share(terrain, joint, p, q):
                    group[max(find(i), find(k))] = min(find(i), find(k))
    roots = sorted({find(k) for k in range(len(parts))})
    return [[p for k, p in enumerate(parts) if find(k) == r] for r in roots]


def _share(terrain: Terrain, joint: Joint, p: Part, q: Part) -> bool:
    """True where two parts meet on a joint over more than a touch."""
    a, b = terrain.line(p.facet, joint)
    c, d = terrain.line(q.facet, joint)
    mine = p.spans(a, b)
    length = float(np.hypot(*(b - a)))
    theirs = [(length - t1, length - t0) for t0, t1 in q.spans(c, d)]
    return any(min(a1, b1) - max(a0, b0) > TOUCHES_M for a0, a1 in mine for b0, b1 in theirs)


def add_reach(terrain: Terrain, ground: Ground, part: Part, draft: Draft) -> None:
    """Add the material that runs on past a rim, so that the blank is long enough to end as the rim says.

    Parameters
    ----------
    terrain : Terrain
        The room.
    ground : Ground
        The facet with the rims.
    part : Part
        A part of the draft on that facet.
    draft : Draft
        Its ``beyond`` grows.

    References
    ----------
    own derivation
    """
    rims: list[Rim] = ground.rims
    for rim in rims:
        if rim.reach_m <= 0.0:
            continue
        a, b = terrain.line(ground.facet.id, rim)
        d = (b - a) / np.hypot(*(b - a))
        n = np.array([-d[1], d[0]])
        for t0, t1 in part.spans(a, b):
            out = quad(a + t0 * d, a + t0 * d - rim.reach_m * n, a + t1 * d - rim.reach_m * n, a + t1 * d)
            draft.beyond.append(part.motion.polygon(out))
