"""Sheets: strips of roll width over each facet, turned over the joints that a person wants folded."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely import Polygon, box, unary_union

from steamwright.covering.draft import Draft, Part, polygons, touching
from steamwright.covering.ground import Ground, Terrain
from steamwright.covering.model import Role
from steamwright.geometry.unfolding import Motion
from steamwright.room.model import Joint

UPRIGHT, LEVEL = "upright", "level"
SHORTEST_STRIP_M = 0.15
FOLD_GAP_M = 1e-3


@dataclass(frozen=True, slots=True)
class SheetRules:
    """What every sheet keeps to. ``folds`` are (joint id, facet whose sheets turn over it)."""

    lap_m: float
    roll_width_m: float
    roll_length_m: float
    item: str
    material: str
    folds: frozenset[tuple[str, str]]
    leg_m: float


def lay(terrain: Terrain, ground: Ground, rules: SheetRules, directions: tuple[str, ...],
        no_seam: tuple[tuple[float, float], ...]) -> list[Draft]:
    """Cover one facet with strips: the cheapest of the allowed directions and of both starting sides.

    Parameters
    ----------
    terrain : Terrain
        The room.
    ground : Ground
        The facet.
    rules : SheetRules
        Lap, roll and folds.
    directions : tuple of str
        "upright" (along ``v``), "level" (along ``u``), or both.
    no_seam : tuple of tuple of float
        Stretches across the strips in which no seam may lie. [m]

    Returns
    -------
    drafts : list of Draft
        One a connected piece of strip.

    References
    ----------
    common practice, no source
    """
    best: tuple[tuple[float, ...], list[Draft]] | None = None
    for direction in directions:
        for from_high in (False, True):
            drafts = _strips(terrain, ground, rules, direction, from_high, no_seam)
            sizes = [d.size_m() for d in drafts]
            cost = (round(sum(a * b for a, b in sizes) + 0.02 * len(sizes), 6), len(sizes), direction != UPRIGHT)
            if best is None or cost < best[0]:
                best = cost, drafts
    assert best is not None
    return best[1]


def _strips(terrain: Terrain, ground: Ground, rules: SheetRules, direction: str, from_high: bool,
            no_seam: tuple[tuple[float, float], ...]) -> list[Draft]:
    """Strips from one side to the other, each as wide as roll and folds allow."""
    turn = Motion.rotation(-np.pi / 2 if direction == UPRIGHT else 0.0)
    if from_high:
        turn = turn.then(Motion.rotation(np.pi))
    outline = turn.polygon(ground.net)
    x0, y0, x1, y1 = outline.bounds
    s0, t0, _, _ = ground.polygon.bounds
    zones = [sorted(float(v) for v in turn.points([(s0 + a, t0 + a), (s0 + b, t0 + b)])[:, 1]) for a, b in no_seam]
    drafts: list[Draft] = []
    at = y0
    while True:
        top = min(at + rules.roll_width_m, y1)
        if top < y1 and y1 - (top - rules.lap_m) < SHORTEST_STRIP_M:
            top = max(y1 - SHORTEST_STRIP_M + rules.lap_m, at + 2 * rules.lap_m)
        top = _clear_of(zones, at, top, y1, rules.lap_m)
        made = _strip(terrain, ground, rules, turn, outline, (x0, at, x1, top))
        over = max((d.size_m()[1] for d in made), default=0.0) - rules.roll_width_m
        if over > 1e-9:
            top = _clear_of(zones, at, max(top - over, at + 2 * rules.lap_m), y1, rules.lap_m)
            made = _strip(terrain, ground, rules, turn, outline, (x0, at, x1, top))
        drafts += [d for d in made if at == y0 or _reaches_past(d, turn, at + rules.lap_m)]
        if top >= y1 - 1e-9:
            return drafts
        at = top - rules.lap_m


def _clear_of(zones: list[list[float]], at: float, top: float, end: float, lap_m: float) -> float:
    """Draw a seam back until it lies in no forbidden zone; where that is impossible it stays and the proof still holds."""
    if top >= end - 1e-9:
        return top
    for low, high in sorted(zones, reverse=True):
        if top > low and top - lap_m < high and low > at + 2 * lap_m:
            top = low
    return top


def _reaches_past(draft: Draft, turn: Motion, level: float) -> bool:
    """True where a strip covers more than the lap on the strip before it."""
    first = draft.parts[0]
    return bool(turn.polygon(first.polygon).bounds[3] > level + 1e-6)


def _strip(terrain: Terrain, ground: Ground, rules: SheetRules, turn: Motion, outline: Polygon,
           window: tuple[float, float, float, float]) -> list[Draft]:
    """The connected pieces of one strip, with their folds and what runs on past rims."""
    drafts = []
    back = turn.inverse()
    for part in polygons(outline.intersection(box(*window))):
        draft = Draft(Role.SHEET, rules.item, rules.material, [Part(ground.facet.id, back.polygon(part), turn)])
        for joint in ground.joints:
            if (joint.id, ground.facet.id) in rules.folds:
                _turn_over(terrain, ground, joint, rules, draft)
        add_reach(terrain, ground, draft)
        drafts.append(draft)
    return drafts


def _turn_over(terrain: Terrain, ground: Ground, joint: Joint, rules: SheetRules, draft: Draft) -> None:
    """Let a strip run on over a joint onto the neighbour by the length of a leg."""
    here = draft.parts[0]
    a, b = terrain.line(ground.facet.id, joint)
    length = float(np.hypot(*(b - a)))
    d = (b - a) / length
    n = np.array([-d[1], d[0]])
    probe = Polygon([a + 1e-5 * n, b + 1e-5 * n, b + 3e-5 * n, a + 3e-5 * n])
    spans = [(np.array(p.exterior.coords) - a) @ d for p in _any_polygons(here.polygon.intersection(probe))]
    there = terrain.grounds[terrain.far_side(joint, ground.facet.id)]
    unfolding = terrain.motion(joint, there.facet.id, ground.facet.id)
    taken = unary_union([p.motion.polygon(p.polygon) for p in draft.parts[1:]]).buffer(FOLD_GAP_M) if len(draft.parts) > 1 else None
    for span in spans:
        t0, t1 = max(0.0, float(span.min())), min(length, float(span.max()))
        if t1 - t0 < 2e-3:
            continue
        leg = Polygon([a + t0 * d, a + t0 * d - rules.leg_m * n, a + t1 * d - rules.leg_m * n, a + t1 * d])
        to_here = unfolding.then(here.motion)
        ends = unfolding.inverse().points([a + t0 * d, a + t1 * d])
        patch = unfolding.inverse().polygon(leg).intersection(there.net)
        if taken is not None:
            patch = patch.difference(to_here.inverse().polygon(taken))
        draft.parts += [Part(there.facet.id, p, to_here) for p in touching(patch, ends[0], ends[1])]


def _any_polygons(geometry: object) -> list[Polygon]:
    if isinstance(geometry, Polygon):
        return [] if geometry.is_empty else [geometry]
    return [p for g in getattr(geometry, "geoms", ()) for p in _any_polygons(g)]


def add_reach(terrain: Terrain, ground: Ground, draft: Draft) -> None:
    """Add the material that runs on past a rim, so that the blank is long enough to end as the rim says.

    Parameters
    ----------
    terrain : Terrain
        The room.
    ground : Ground
        The facet with the rims.
    draft : Draft
        Its first part lies on the facet; ``beyond`` grows.

    References
    ----------
    own derivation
    """
    for part in draft.parts:
        if part.facet != ground.facet.id:
            continue
        for rim in ground.rims:
            if rim.reach_m <= 0.0:
                continue
            a, b = terrain.line(ground.facet.id, rim)
            d = (b - a) / np.hypot(*(b - a))
            n = np.array([-d[1], d[0]])
            probe = Polygon([a + 1e-5 * n, b + 1e-5 * n, b + 3e-5 * n, a + 3e-5 * n])
            for touch in _any_polygons(part.polygon.intersection(probe)):
                t = (np.array(touch.exterior.coords) - a) @ d
                if t.max() - t.min() > 1e-3:
                    out = Polygon([a + t.min() * d, a + t.min() * d - rim.reach_m * n, a + t.max() * d - rim.reach_m * n, a + t.max() * d])
                    draft.beyond.append(part.motion.polygon(out))
